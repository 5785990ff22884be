"""Sowing the same every week by arithmetic: the plan that is made without rehearsal.

For each crop, with every figure as the room file states it (a range or distribution by its mean):

    cells a week = greens ordered a week / kilograms a cell gives
    kilograms a cell gives = share of cells with a plant × share of plants left after every move × typical mass
                             × (1 + regrowth share × later harvests) × (1 − trimmed share)

rounded up to the next eighth of a tray and sown on one day of the week, the same all year: the first from Monday on
with a shift that may sow. Ordered a week is what the fullest month asks for; an order for any crop is shared out as
the orders that name one (evenly where none does). No regard to hands, shelves, closed days, or how long greens wait.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from growsim.run.prepare import Prepared
from growsim.scenario import on_paper
from growsim.scenario.calendar import Calendar
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import kg_ordered_in
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.sow.plan import MOST_CELLS, Cells, Frame, cells_a_step, lost_by_crop, sowing_dates
from growsim.study.sow.timing import Line, harvest_on_paper, kg_per_cell
from growsim.vocabulary.days import WEEKDAYS, Weekday


def cells_a_week(scenario: Scenario) -> dict[str, float]:
    """Cells of each crop that somebody orders, before rounding. Left out: a crop of which a cell gives nothing."""
    temperature_c = scenario.climate.air_temperature_c
    crops, found = on_paper.crops_by_name(scenario), {}
    for crop, kg in kg_a_week(scenario).items():
        cell_gives_kg = on_paper.kg_of_plants(crops[crop], on_paper.plants_harvested(crops[crop], 1.0, temperature_c))
        if cell_gives_kg > 0:
            found[crop] = kg / cell_gives_kg
    return found


def kg_a_week(scenario: Scenario) -> dict[str, float]:
    """Kilograms of each crop that the orders of the fullest month ask for in a week; only crops that are asked for."""
    named = {crop.name: _fullest_month_kg(scenario, crop.name) for crop in scenario.crops}
    for_any, total = _fullest_month_kg(scenario, ANY_CROP), math.fsum(named.values())
    kg = {crop: own + for_any * (own / total if total > 0 else 1.0 / len(named)) for crop, own in named.items()}
    return {crop: each for crop, each in kg.items() if each > 0}


def _fullest_month_kg(scenario: Scenario, crop: str) -> float:
    months = range(1, 13)
    return max(math.fsum(kg_ordered_in(partner, crop, month) for partner in scenario.partners) for month in months)


def sowing_days(scenario: Scenario) -> tuple[Weekday, ...]:
    """Days of the week, from Monday on, with a shift at which somebody may sow."""
    needs_lead = any(task.name == "sow" and task.needs_lead for task in scenario.crew.tasks)
    able = {shift.weekday for shift in scenario.crew.shifts if shift.lead or not needs_lead}
    return tuple(day for day in WEEKDAYS if day in able)


def by_arithmetic(prepared: Prepared, run: RunPlan, lines: Sequence[Line]) -> tuple[Frame, Cells]:
    """The plan, alike all year. lines: as measured; one that is missing (for no order in time) is as on paper."""
    scenario, weekly = prepared.scenario, cells_a_week(prepared.scenario)
    day = sowing_days(scenario)[0]
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    lost = lost_by_crop(scenario, weekly)
    full = tuple(tuple((each, 1.0) for each in sowing_dates(calendar, run, day, lost[crop])) for crop in weekly)
    known = {(line.crop, line.weekday): line for line in lines}
    own = tuple(known.get((crop, day)) or _line_on_paper(prepared, crop, day) for crop in weekly)
    steps = tuple(cells_a_step(scenario, crop) for crop in weekly)
    frame = Frame(scenario, own, steps, full)
    return frame, shared_out(frame, weekly, (day,))


def _line_on_paper(prepared: Prepared, name: str, day: Weekday) -> Line:
    crop = on_paper.crops_by_name(prepared.scenario)[name]
    cut, grams = harvest_on_paper(prepared, crop, day)
    return Line(name, day, cut, (), kg_per_cell(prepared.scenario, crop, grams))


def shared_out(frame: Frame, weekly: Mapping[str, float], days: Sequence[Weekday]) -> Cells:
    """So many cells a week of each crop, evenly on those of these days that the frame has, each in whole steps."""
    on_days = [line.crop for line in frame.lines if line.weekday in days]
    return tuple(
        min(MOST_CELLS, step * math.ceil(weekly.get(line.crop, 0.0) / on_days.count(line.crop) / step - 1e-9))
        if line.weekday in days
        else 0
        for line, step in zip(frame.lines, frame.steps, strict=True)
    )
