"""The room with today as its first day: what the plan and the calendar say keeps its dates. And whether a count of the
shelves can be of the day it is taken for, and what of it was lost by then.

In a count from weeks ago that is taken for this morning's, plants past their last day are lost as the first minute
begins, and what was sown and harvested since is not in it.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from growsim.ledger.events import Lost
from growsim.run.prepare import Prepared
from growsim.run.replicate import trace_on_paper
from growsim.scenario.calendar import Calendar
from growsim.scenario.demand import Sowing
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.plan import RunPlan, ShelfLot
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import Today
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.losses import LOSSES

WEEK_DAYS = 7
ON_THE_SHELVES = "on the shelves/"  # as the room calls lots that stand there already
TOO_OLD = tuple(loss.key for loss in LOSSES if loss.limit == "waiting")


def room_today(scenario: Scenario, today: dt.date, standing: tuple[ShelfLot, ...] = ()) -> Scenario:
    """The room with `today` as day 0.

    Closed days and dated sowings have their dates anyway. Sowings every so many weeks stay in step with the room
    file's own start date, and planned outages keep their day. standing: what stands on the shelves; of a crop that
    was sown today already, what the plan sows today is taken as done.
    """
    done_today = {lot.crop for lot in standing if lot.days_since_sowing == 0}
    sowing = tuple(_sowing(line, scenario.room.start_date, today, line.crop in done_today) for line in scenario.sowing)
    outages = (_outage(outage, (today - scenario.room.start_date).days) for outage in scenario.outages)
    return scenario.model_copy(
        update={
            "room": scenario.room.model_copy(update={"start_date": today}),
            "sowing": sowing,
            "outages": tuple(outage for outage in outages if outage is not None),
        }
    )


def _sowing(line: Sowing, began: dt.date, today: dt.date, is_done_today: bool) -> Sowing:
    calendar = Calendar(began)
    first = calendar.first_on(line.weekday, 0) + 7 * line.first_week
    next_day = calendar.first_on(line.weekday, calendar.day_of(today))
    weeks_to_wait = (first - next_day) // 7 if line.first_week and next_day < first else 0
    weeks_to_wait += -((next_day - first) // 7 + weeks_to_wait) % line.every_weeks
    from_date = line.from_date
    if is_done_today and weeks_to_wait == 0 and calendar.date(next_day) == today:
        tomorrow = today + dt.timedelta(days=1)
        from_date = tomorrow if from_date is None else max(from_date, tomorrow)
    elif line.first_week and next_day < first:  # it has not begun: none of it was due before
        begins = calendar.date(first)
        from_date = begins if from_date is None else max(from_date, begins)
    return line.model_copy(update={"first_week": weeks_to_wait, "from_date": from_date})


def _outage(outage: PlannedOutage, days_later: int) -> PlannedOutage | None:
    """None where it lies in the past."""
    day = outage.start_day - days_later
    return outage.model_copy(update={"start_day": day}) if day >= 0 else None


@dataclass(frozen=True)
class GivenUp:
    """Plants of the count that are past their last day when it begins. to_move: not to be harvested, but to be
    moved.
    """

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
