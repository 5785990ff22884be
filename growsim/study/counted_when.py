"""Whether a count of the shelves can be of the day it is taken for, and what of it was lost by then.

In a count from weeks ago that is taken for this morning's, plants past their last day are lost as the first minute
begins, and what was sown and cut since is not in it.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from growsim.ledger.events import Lost
from growsim.run.prepare import Prepared
from growsim.run.replicate import trace_on_paper
from growsim.spec.demand import Sowing
from growsim.spec.people import WEEKDAYS
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario
from growsim.spec.shelves import Today

WEEK_DAYS = 7
ON_THE_SHELVES = "on the shelves/"  # as the room calls lots that stand there already
TOO_OLD = ("overgrown", "no_room")  # past the last day to be cut, or to be moved


@dataclass(frozen=True)
class GivenUp:
    """Plants of the count that are past their last day when it begins. to_move: not to be cut, but to be moved."""

    lot: str
    crop: str
    stage: str
    plants: int
    to_move: bool


def days_without_sowing(today: Today, scenario: Scenario, date: dt.date) -> int:
    """Days since the newest sowing in the count, where that doubts its day; else 0.

    It does where more than a week went by and the plan would have sown in it (or there is no plan to ask).
    """
    newest = min((lot.days_since_sowing for lot in today.lots), default=0)
    if newest <= WEEK_DAYS:
        return 0
    between = [date - dt.timedelta(days=ago) for ago in range(1, newest)]
    is_sown = not scenario.sowing or any(_days_due(line, between) >= line.every_weeks for line in scenario.sowing)
    return newest if is_sown else 0


def _days_due(line: Sowing, days: list[dt.date]) -> int:
    """On how many of the days a line would be sown if it were sown every week."""
    return sum(WEEKDAYS[day.weekday()] == line.weekday and line.is_in_season(day) for day in days)


def given_up(prepared: Prepared, plan: RunPlan) -> tuple[GivenUp, ...]:
    """What of the counted shelves is lost on the first day for its age, with luck switched off: lot by lot.

    prepared: the room with the day of the count as day 0.
    """
    if not plan.shelves:
        return ()
    book = trace_on_paper(prepared, replace(plan, days=1))
    found: dict[tuple[str, str, str, bool], int] = {}
    for lost in book.of(Lost):
        if lost.cause in TOO_OLD and lost.lot.startswith(ON_THE_SHELVES) and lost.minute == 0:
            key = (lost.lot.removeprefix(ON_THE_SHELVES), lost.crop, lost.stage, not _is_last(prepared, lost))
            found[key] = found.get(key, 0) + lost.plants
    return tuple(GivenUp(lot, crop, stage, plants, to_move) for (lot, crop, stage, to_move), plants in found.items())


def _is_last(prepared: Prepared, lost: Lost) -> bool:
    crop = next(crop for crop in prepared.scenario.crops if crop.name == lost.crop)
    return lost.stage == crop.stages_in_order()[-1].name
