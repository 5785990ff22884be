"""Dates and minutes. Minute 0 is midnight at the start of the first counted day; the warm-up has negative minutes.

Order of the day: what happens first when several things share a minute (a prototype showed that it moves results).
Lower numbers first; within a number, first planned first served.

 1. OPENING    power and machines go down or come back; outages begin and end
 2. AIR        temperature, CO2 and light follow
 3. FLOOD      reservoirs flood or miss a flood
 4. FINISHED   a finished piece of work takes effect: plants are moved, slots freed and given to those waiting
 5. WAKE       lots look at themselves, the oldest first: up? due to move? ripe?
 6. CALENDAR   sowings, top-ups and renewals fall due; failures are noticed
 7. COOLER     partners collect, the surplus is handed out
 8. LEAVE      a shift ends; whoever is in the middle of a piece leaves the rest on the board
 9. ARRIVE     a shift begins
10. CHOOSE     free people take their next piece of work
11. READ       meters are read
"""

from __future__ import annotations

import datetime as dt
from enum import IntEnum

from growsim.units import MINUTES_PER_DAY, MINUTES_PER_HOUR
from growsim.vocabulary.days import WEEKDAYS


class Order(IntEnum):
    """The order of the day; see the module's text."""

    OPENING = 1
    AIR = 2
    FLOOD = 3
    FINISHED = 4
    WAKE = 5
    CALENDAR = 6
    COOLER = 7
    LEAVE = 8
    ARRIVE = 9
    CHOOSE = 10
    READ = 11


class Calendar:
    """Days counted from the first counted day (day 0), with weekday, month and closed days."""

    def __init__(self, start_date: dt.date, closed_days: tuple[dt.date, ...] = ()) -> None:
        self.start_date = start_date
        self._first_ordinal, self._first_weekday = start_date.toordinal(), start_date.weekday()
        self._closed = frozenset((day - start_date).days for day in closed_days)
        self._months: dict[int, int] = {}

    def date(self, day: int) -> dt.date:
        """Date of a day. Raises ValueError beyond the year 9999."""
        return dt.date.fromordinal(self._first_ordinal + day)

    def day_of(self, date: dt.date) -> int:
        """Day number of a date."""
        return (date - self.start_date).days

    def weekday(self, day: int) -> int:
        """0 for Monday to 6 for Sunday."""
        return (self._first_weekday + day) % 7

    def month(self, day: int) -> int:
        """0 for January to 11 for December."""
        month = self._months.get(day)
        if month is None:
            month = self._months[day] = self.date(day).month - 1
        return month

    def is_closed(self, day: int) -> bool:
        """Whether nobody comes in that day."""
        return day in self._closed

    def next_open(self, day: int) -> int:
        """The day itself, or the first after it that is not closed."""
        while day in self._closed:
            day += 1
        return day

    def closings(self, at_least: int = 1) -> list[tuple[int, int]]:
        """(first closed day, first open day after it) of every time the room is closed for so many days or more."""
        firsts = sorted(day for day in self._closed if day - 1 not in self._closed)
        found = [(first, self.next_open(first)) for first in firsts]
        return [(first, opens) for first, opens in found if opens - first >= at_least]

    def makes_up_for(self, day: int, weekdays: frozenset[int]) -> bool:
        """Whether something is due that is due on these weekdays, and after closed days on the first open day."""
        if day in self._closed:
            return False
        while self.weekday(day) not in weekdays:
            day -= 1
            if day not in self._closed:
                return False
        return True

    def first_on(self, weekday: str, from_day: int) -> int:
        """First day with this weekday, from_day itself included."""
        return from_day + (WEEKDAYS.index(weekday) - self.weekday(from_day)) % 7


def minute_of(day: int, hour: float) -> int:
    """Minute at that hour of that day."""
    return day * MINUTES_PER_DAY + round(hour * MINUTES_PER_HOUR)


def day_of(minute: int) -> int:
    """Day a minute belongs to (floor, so that the warm-up counts right)."""
    return minute // MINUTES_PER_DAY
