"""What went worst: sowings that were skipped, greens that spoil in the cooler, weeks in which partners get next to
nothing. Said first, to the planner and to a funder.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from growsim.ledger.outcome import Outcome
from growsim.ledger.tallies import SKIPPED
from growsim.report import summaries
from growsim.report.crop_words import unit_of
from growsim.report.words import a_period, counted, listed, mass, number, percent, short_date, upper_first
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS

SKIPPED_SHARE = 0.02  # of the cells that fall due: fewer are told in the tables alone
SPOILED_SHARE = 0.02  # of what is packed
NEXT_TO_NOTHING = 0.1  # of what partners ordered in that week
MOSTLY = 0.5  # of the years: such a week is told with its date
CLOSING_BEFORE_DAYS = 42  # how long a closing is felt: about a crop's time from seed to harvest


@dataclass(frozen=True)
class EmptyWeeks:
    """Weeks in which partners get next to nothing. mean: of a rehearsal. spells: (first day, last day) of weeks so in
    most years. after_closing: whether one of them lies in or soon after a closing."""

    mean: float
    spells: tuple[tuple[dt.date, dt.date], ...]
    after_closing: bool


def worst(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> list[str]:
    """A sentence or two for each of the three that there was; [] where all went well. More crops that are skipped come
    last: a page that has room for two sentences then tells two of the three."""
    skipped = _skipped(outcomes, scenario, days)
    said = [*skipped[:1], _spoiled(outcomes), _empty(outcomes, scenario, days), *skipped[1:]]
    return [each for each in said if each]


def cells_skipped(outcomes: Sequence[Outcome]) -> dict[str, float]:
    """Crop -> cells that were to be sown and were not, mean over replications."""
    found: dict[str, float] = {}
    for outcome in outcomes:
        for (crop, what, _), cells in outcome.held_up.items():
            if what == SKIPPED:
                found[crop] = found.get(crop, 0.0) + cells / len(outcomes)
    return found


def _skipped(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> list[str]:
    """Crops that are never sown by themselves, the others together."""
    skipped, fates = cells_skipped(outcomes), summaries.fate_means(outcomes)
    crops = {crop.name: crop for crop in scenario.crops}
    never, seldom = [], []
    for name, cells in sorted(skipped.items(), key=lambda pair: -pair[1]):
        sown = math.fsum(fates.get(name, {}).values()) / crops[name].seeds_counted
        many = counted(cells, unit_of(crops[name], "cell"))
        if not sown:
            never.append(f"{upper_first(name)}: never sown, all {many} {a_period(days)} are skipped.")
        elif cells / (sown + cells) >= SKIPPED_SHARE:
            seldom.append(f"{many} of {name} ({percent(cells / (sown + cells))} of what was due)")
    return [*never, *([f"Skipped {a_period(days)}: {listed(seldom)}."] if seldom else [])]


def _spoiled(outcomes: Sequence[Outcome]) -> str:
    packed, wasted = (
        math.fsum(outcome.measures.get(key, 0.0) for outcome in outcomes) / max(1, len(outcomes))
        for key in ("kg_packed_per_week", "kg_wasted_per_week")
    )
    if packed <= 0 or wasted / packed < SPOILED_SHARE:
        return ""
    return f"In the cooler {mass(wasted)} a week grow too old: {percent(wasted / packed)} of what is packed."


def kept_too_long(scenario: Scenario) -> str:
    """That greens of some harvest day wait longer to be given away than they keep; "" where none do."""
    harvest = scenario.harvest
    for weekday in harvest.weekdays:
        days = (WEEKDAYS.index(harvest.surplus_weekday) - WEEKDAYS.index(weekday)) % 7
        crops = [crop.name for crop in scenario.crops if crop.shelf_life_days < days]
        if crops:
            last = NAME_OF_WEEKDAY[harvest.surplus_weekday]
            return (
                f"What is harvested on {NAME_OF_WEEKDAY[weekday]}s and not collected waits {days} days, until {last}, "
                f"to be given away; {listed(crops)} {'keeps' if len(crops) == 1 else 'keep'} less long."
            )
    return ""


def empty_weeks(outcomes: Sequence[Outcome], scenario: Scenario) -> EmptyWeeks:
    """Weeks in which partners ordered something and got less than a tenth of it."""
    ordered, given = summaries.matrix(outcomes, "kg_ordered"), summaries.matrix(outcomes, "kg_to_partners")
    if not ordered.size:
        return EmptyWeeks(0.0, (), after_closing=False)
    is_empty = (ordered > 0) & (given < NEXT_TO_NOTHING * ordered)
    starts = summaries.week_starts(scenario, is_empty.shape[1])
    mostly = [starts[week] for week in np.flatnonzero(is_empty.mean(axis=0) > MOSTLY)]
    spells: list[tuple[dt.date, dt.date]] = []
    for start in mostly:
        if spells and start == spells[-1][1] + dt.timedelta(days=1):
            spells[-1] = (spells[-1][0], start + dt.timedelta(days=6))
        else:
            spells.append((start, start + dt.timedelta(days=6)))
    closed = scenario.room.closed_days
    felt = dt.timedelta(days=CLOSING_BEFORE_DAYS)
    after = any(first - felt <= day <= last for first, last in spells for day in closed)
    return EmptyWeeks(float(is_empty.sum(axis=1).mean()), tuple(spells), after_closing=after)


def _empty(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> str:
    found = empty_weeks(outcomes, scenario)
    if found.mean < 0.5:
        return ""
    weeks = "fewer than 1 week" if found.mean < 0.95 else f"{number(found.mean, 1)} weeks"
    words = f"In {weeks} {a_period(days)} partners get next to nothing of what they order"
    if not found.spells:
        return f"{words}."
    first, last = max(found.spells, key=lambda spell: spell[1] - spell[0])
    when = "in or after a closing" if found.after_closing else "most years"
    return f"{words}. The longest such time, {when}, is {short_date(first)} to {short_date(last)}."
