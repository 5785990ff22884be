"""growsim's own sowing plan as a table: what is sown on which day because of what is promised."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from itertools import pairwise

from growsim.report.words import short_date
from growsim.scenario import on_paper
from growsim.scenario.checks.promises import ordered_kg_per_week
from growsim.scenario.crop import Crop
from growsim.scenario.demand import Sowing
from growsim.scenario.promised_plan import follows_promises
from growsim.scenario.scenario import Scenario
from growsim.units import mass_text
from growsim.vocabulary.days import NAME_OF_WEEKDAY

HEADS = ("crop", "sown on", "how much", "gives a week")
SAID = "What is sown, as far as the shelves hold it: what the promises ask, and a tenth to spare (growsim's own plan)."
OWN = "For a plan of your own write [[sowing]] lines, or let `growsim sow` find one."
_DAY = dt.timedelta(days=1)


def plan_rows(scenario: Scenario) -> list[tuple[str, ...]]:
    """A row for each crop under HEADS, and one for all; [] where the plan is the planner's."""
    if not follows_promises(scenario):
        return []
    rows, given = [], []
    for crop in scenario.crops:
        lines = [line for line in scenario.sowing if line.crop == crop.name]
        if lines:
            given.append(_kg(scenario, crop, lines[0]))
            rows.append(
                (crop.name, _day(lines, scenario.room.start_date), _many(crop, lines[0].cells), mass_text(given[-1]))
            )
    promised = math.fsum(ordered_kg_per_week(scenario).values())
    return [*rows, ("in all", "", f"{mass_text(promised)} promised", mass_text(math.fsum(given)))]


def plan_lines(scenario: Scenario) -> list[str]:
    """The table for a terminal, with what is said of it; [] where there is none."""
    rows = plan_rows(scenario)
    if not rows:
        return []
    table = [HEADS, *rows]
    widths = [max(len(row[column]) for row in table) for column in range(len(HEADS))]
    told = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in table]
    return [SAID, *(f"  {line}" for line in told), OWN]


def _kg(scenario: Scenario, crop: Crop, line: Sowing) -> float:
    cut = on_paper.plants_harvested(crop, line.cells, scenario.climate.air_temperature_c)
    return on_paper.kg_of_plants(crop, cut) / line.every_weeks


def _many(crop: Crop, cells: int) -> str:
    return f"{cells} {crop.sown_unit}{'' if cells == 1 else 's'}"


def _day(lines: Sequence[Sowing], begin: dt.date) -> str:
    """The weekday, and from when to when nothing is sown for a long closing, as far as that is to come."""
    gaps = [
        f"{short_date(before.until_date + _DAY)} to {short_date(after.from_date - _DAY)}"
        for before, after in pairwise(lines)
        if before.until_date and after.from_date and after.from_date > begin
    ]
    often = f", every {lines[0].every_weeks} weeks" if lines[0].every_weeks > 1 else ""
    return f"{NAME_OF_WEEKDAY[lines[0].weekday]}{often}{''.join(f', not {gap}' for gap in gaps)}"
