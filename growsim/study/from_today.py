"""The room with today as its first day: what the plan and the calendar say keeps its dates."""

from __future__ import annotations

import datetime as dt

from growsim.spec.calendar import Calendar
from growsim.spec.demand import Sowing
from growsim.spec.equipment import PlannedOutage
from growsim.spec.plan import ShelfLot
from growsim.spec.scenario import Scenario


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
    return line.model_copy(update={"first_week": weeks_to_wait, "from_date": from_date})


def _outage(outage: PlannedOutage, days_later: int) -> PlannedOutage | None:
    """None where it lies in the past."""
    day = outage.start_day - days_later
    return outage.model_copy(update={"start_day": day}) if day >= 0 else None
