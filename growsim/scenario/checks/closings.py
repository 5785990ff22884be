"""Cross-checks of closed days: whether they count, what they do to the end of a rehearsal, and what sown before them
is lost in them."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Collection, Iterator

from growsim.scenario.calendar import Calendar
from growsim.scenario.crop import Crop
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.regions import REGIONS

MANY_DAYS = 7  # closed in a row: a week without sowing leaves a gap that is seen
_LONGEST_CLOSING = 92  # a summer; days farther apart are two holidays
_HOLIDAYS = {(1, 1), *(day for region in REGIONS for day in region.holidays)}
SOWN_AT_THE_LATEST = 6  # days after the day of the plan, as in the rehearsed room


def closings(scenario: Scenario) -> list[tuple[dt.date, dt.date]]:
    """First and last day of every time the room is closed, however short."""
    return in_a_row(scenario.room.closed_days)


def in_a_row(days: Collection[dt.date]) -> list[tuple[dt.date, dt.date]]:
    """First and last of the days that follow each other."""
    found: list[tuple[dt.date, dt.date]] = []
    for day in sorted(set(days)):
        if found and found[-1][1] == day - dt.timedelta(days=1):
            found[-1] = (found[-1][0], day)
        else:
            found.append((day, day))
    return found


def counted(scenario: Scenario) -> tuple[dt.date, dt.date]:
    """First and last day of the rehearsal."""
    start = scenario.room.start_date
    return start, start + dt.timedelta(days=scenario.rehearsal.days - 1)


def without_effect(scenario: Scenario) -> dict[str, list[tuple[dt.date, dt.date]]]:
    """Key of closed days -> first and last of those that lie outside the rehearsal, of the room and of partners."""
    start, last = counted(scenario)
    first = start - dt.timedelta(days=scenario.rehearsal.warm_up_days)
    of_partners = ((f"partners.{each.name}.closed_days", each.closed_days) for each in scenario.partners)
    every = (("room.closed_days", scenario.room.closed_days), *of_partners)
    found = {key: in_a_row([day for day in days if not first <= day <= last]) for key, days in every}
    return {key: outside for key, outside in found.items() if outside}


def closed_days_count(scenario: Scenario) -> Iterator[Finding]:
    """Warning: closed days outside the rehearsal have no effect."""
    start, last = counted(scenario)
    for key, outside in without_effect(scenario).items():
        told = ", ".join(f"{one}" if one == end else f"{one} to {end}" for one, end in outside[:4])
        more = ", ..." if len(outside) > 4 else ""
        yield (
            key,
            f"{told}{more}: outside the rehearsal ({start} to {last}), so without effect",
            "give the days of those months, or leave them out",
        )


def two_days_are_no_time(scenario: Scenario) -> Iterator[Finding]:
    """Warning: two single days some weeks apart, which may be meant as the first and the last of a closing. Public
    holidays are single days."""
    of_partners = ((f"partners.{each.name}.closed_days", each.closed_days) for each in scenario.partners)
    for key, days in (("room.closed_days", scenario.room.closed_days), *of_partners):
        if len(days) != 2 or all((day.month, day.day) in _HOLIDAYS for day in days):
            continue
        first, last = sorted(days)
        if MANY_DAYS <= (last - first).days <= _LONGEST_CLOSING:
            yield (
                key,
                f"closed on {first} and on {last}, and open on all {(last - first).days - 1} days between",
                f'if they are meant too, write "{first} to {last}"',
            )


def something_is_off(scenario: Scenario) -> Iterator[Finding]:
    """Warning: what is to be off while closed never is, for no closing is so long."""
    room = scenario.room
    if room.off_while_closed and not any(_is_off(scenario, *closing) for closing in closings(scenario)):
        yield (
            "room.off_while_closed",
            f"the room is never closed for {room.off_from_days} days in a row, so nothing is ever off",
            "give fewer days (off_from_days), or leave it out",
        )


def _is_off(scenario: Scenario, first: dt.date, last: dt.date) -> bool:
    """Whether something is off in these closed days."""
    return bool(scenario.room.off_while_closed) and (last - first).days + 1 >= scenario.room.off_from_days


def closed_days_told_to_the_end(scenario: Scenario) -> Iterator[Finding]:
    """Warning: after many closed days the harvest is thin for weeks; those weeks lie beyond the rehearsal."""
    start, days = scenario.room.start_date, scenario.rehearsal.days
    end = start + dt.timedelta(days=days)
    longest = max((crop.typical_days for crop in scenario.crops), default=0.0)
    for first, last in closings(scenario):
        in_a_row = (last - first).days + 1
        if in_a_row >= MANY_DAYS and start <= first < end and (end - last).days < longest:
            yield (
                "room.closed_days",
                f"closed for {in_a_row} days from {first} on: nothing is sown then, and the thin weeks that follow "
                f"come after the last counted day ({end - dt.timedelta(days=1)})",
                "begin the year at another time (start_date), so that they are counted",
            )


def nothing_is_sown_in_vain(scenario: Scenario) -> Iterator[Finding]:
    """Warning: what the plan sows before many closed days would want moving or harvesting while nobody comes."""
    crops = {crop.name: crop for crop in scenario.crops}
    start = scenario.room.start_date
    calendar = Calendar(start, scenario.room.closed_days)
    for first, last in closings(scenario):
        if (last - first).days + 1 < MANY_DAYS:
            continue
        for name in dict.fromkeys(line.crop for line in scenario.sowing):
            again = dt.date.min
            for begin, end in lost_sowings(scenario, calendar, crops[name], first, last):
                if begin < again or end < start or not _is_sown(scenario, calendar, name, max(begin, start), end):
                    continue
                again = sown_again(scenario, calendar, crops[name], (first, last), end)
                last_day = _with_a_shift(scenario, calendar, begin - dt.timedelta(days=1), -1)
                until = f"for the last time by {last_day} and again " if last_day >= start else ""
                yield (
                    "room.closed_days",
                    f"closed from {first} to {last}: {name} sown from {max(begin, start)} on would have to be moved or "
                    "harvested while nobody comes, and is lost",
                    f"sow it {until}from {again} on, or let somebody come in between",
                )


def lost_in_closings(scenario: Scenario, crop: Crop) -> frozenset[dt.date]:
    """Days on which a sowing of the crop is lost in some time the room is closed, however short, all steps on their
    days."""
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    return frozenset(
        begin + dt.timedelta(days=number)
        for first, last in closings(scenario)
        for begin, end in lost_sowings(scenario, calendar, crop, first, last)
        for number in range((end - begin).days + 1)
    )


def lost_sowings(
    scenario: Scenario, calendar: Calendar, crop: Crop, first: dt.date, last: dt.date
) -> list[tuple[dt.date, dt.date]]:
    """From which day to which a sowing is lost in the days closed from `first` to `last`, all steps on their days."""
    begin = calendar.day_of(first) - math.ceil(crop.typical_days + crop.overgrown_after_days)
    lost = [
        day
        for day in range(begin, calendar.day_of(last) + 1)
        if _is_lost(scenario, calendar, crop, day, range(calendar.day_of(first), calendar.day_of(last) + 1))
    ]
    found: list[tuple[int, int]] = []
    for day in lost:
        if found and found[-1][1] == day - 1:
            found[-1] = (found[-1][0], day)
        else:
            found.append((day, day))
    return [(calendar.date(begin), calendar.date(end)) for begin, end in found]


def sown_again(
    scenario: Scenario, calendar: Calendar, crop: Crop, closing: tuple[dt.date, dt.date], lost_until: dt.date
) -> dt.date:
    """First day with a shift after lost ones whose sowing is harvested: neither lost in the closing nor missed by every
    harvest day (nobody is told to sow on such a day), else the first after the closing."""
    first, last = (calendar.day_of(day) for day in closing)
    closed = range(first, last + 1)
    for day in range(calendar.day_of(lost_until) + 1, first):
        date = calendar.date(day)
        if (
            date == _with_a_shift(scenario, calendar, date, 1)
            and _is_met(scenario, crop, day, calendar)
            and not _is_lost(scenario, calendar, crop, day, closed)
        ):
            return date
    return _with_a_shift(scenario, calendar, calendar.date(last + 1), 1)


def _with_a_shift(scenario: Scenario, calendar: Calendar, date: dt.date, step: int) -> dt.date:
    """The nearest open day with a shift, from that date on (step 1) or back (-1); the date where a year has none."""
    weekdays = {shift.weekday for shift in scenario.crew.shifts}
    days = (date + dt.timedelta(days=step * number) for number in range(366))
    open_days = (day for day in days if not calendar.is_closed(calendar.day_of(day)))
    return next((day for day in open_days if WEEKDAYS[day.weekday()] in weekdays), date)


def _is_met(scenario: Scenario, crop: Crop, day: int, calendar: Calendar) -> bool:
    """Whether a harvest day, closed or not, meets what was sown that day, all steps on their days."""
    days = range(day + math.ceil(crop.typical_days), day + math.ceil(crop.typical_days + crop.overgrown_after_days))
    return any(WEEKDAYS[calendar.weekday(each)] in scenario.harvest.weekdays for each in days)


def _is_lost(scenario: Scenario, calendar: Calendar, crop: Crop, day: int, closed: range) -> bool:
    """Whether some step of a sowing on that day finds the room closed as long as it can wait."""
    harvest_days = frozenset(WEEKDAYS.index(weekday) for weekday in scenario.harvest.weekdays)
    if all(each in closed for each in range(day, day + SOWN_AT_THE_LATEST)):
        return True
    due = float(day)
    for number, stage in enumerate(crop.stages_in_order()):
        if number and all(each in closed for each in range(int(due), int(due + stage.latest_days) + 1)):
            return True
        due += stage.days
    dark = (
        set(closed) if "lights" in scenario.room.off_while_closed and len(closed) >= scenario.room.off_from_days else ()
    )
    ripe = range(_in_light(day, due, dark), _in_light(day, due + crop.overgrown_after_days, dark))
    is_harvested = any(calendar.makes_up_for(each, harvest_days) for each in ripe)
    would_be = any(calendar.weekday(each) in harvest_days for each in ripe)  # else no closing is to blame
    return would_be and not is_harvested and any(each in closed for each in ripe)


def _in_light(day: int, until: float, dark: Collection[int]) -> int:
    """First day on which what was sown that day has had its days, of which dark ones do not count."""
    left, now = math.ceil(until) - day, day
    while left > 0:
        left -= now not in dark
        now += 1
    return now


def _is_sown(scenario: Scenario, calendar: Calendar, crop: str, begin: dt.date, end: dt.date) -> bool:
    """Whether the plan sows the crop on an open day between two dates."""
    for number in range((end - begin).days + 1):
        date = begin + dt.timedelta(days=number)
        if not calendar.is_closed(calendar.day_of(date)) and any(
            line.crop == crop and line.weekday == WEEKDAYS[date.weekday()] and line.is_in_season(date)
            for line in scenario.sowing
        ):
            return True
    return False
