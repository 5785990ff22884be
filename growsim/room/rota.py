"""When people are there: by when work is due, and when somebody able next looks in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from growsim.scenario.calendar import Calendar, day_of, minute_of
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.obstacles import CLOSED, LEAD_BUSY, NO_LEAD, NO_SHIFT, PEOPLE_BUSY, joined

if TYPE_CHECKING:
    from growsim.scenario.people import Crew

LOOK_AHEAD_DAYS: Final = 366
LOOK_IN_AHEAD_DAYS: Final = 366


class Rota:
    """The week's shifts and walk-throughs, by month and weekday; closed days have none."""

    def __init__(self, crew: Crew, calendar: Calendar) -> None:
        self._calendar = calendar
        self._days_allowed = crew.days_allowed
        self._due: dict[bool, dict[int, tuple[int, int, int]]] = {False: {}, True: {}}
        # minutes into the day, by month and weekday; -1 for no shift
        self._last_end: dict[bool, list[list[int]]] = {lead: [[-1] * 7 for _ in range(12)] for lead in (False, True)}
        self._looks: list[list[list[int]]] = [[[] for _ in range(7)] for _ in range(12)]
        for month in range(12):
            self._fill(crew, month)

    def _fill(self, crew: Crew, month: int) -> None:
        any_end, lead_end = self._last_end[False][month], self._last_end[True][month]
        looks = self._looks[month]
        for shift in crew.shifts:
            if not shift.is_held(month):
                continue
            weekday, end = WEEKDAYS.index(shift.weekday), minute_of(0, shift.start_hour + shift.hours)
            any_end[weekday] = max(any_end[weekday], end)
            if shift.lead:
                lead_end[weekday] = max(lead_end[weekday], end)
                looks[weekday].append(minute_of(0, shift.start_hour))
        for walk_through in crew.walk_throughs:
            for name in walk_through.weekdays:
                looks[WEEKDAYS.index(name)].append(minute_of(0, walk_through.hour))
        for minutes in looks:
            minutes.sort()

    def _end(self, day: int, needs_lead: bool) -> int:
        """Minutes into the day at which its last shift is over; -1 where there is none."""
        if self._calendar.is_closed(day):
            return -1
        return self._end_if_open(day, needs_lead)

    def _end_if_open(self, day: int, needs_lead: bool) -> int:
        return self._last_end[needs_lead][self._calendar.month(day)][self._calendar.weekday(day)]

    def has_shift(self, day: int) -> bool:
        """Whether there is a shift that day."""
        return self._end(day, False) >= 0

    def in_the_way(self, begin: int, end: int, needs_lead: bool) -> str:
        """Why work that may begin from one minute on was not done by another: the obstacle, or several joined. Where
        shifts were held that could have done it they had other work."""
        held = held_without_lead = closed = False
        for day in range(day_of(begin), day_of(end) + 1):
            if self._ends_between(begin, end, day, needs_lead):
                closed = closed or self._calendar.is_closed(day)
                held = held or not self._calendar.is_closed(day)
            elif needs_lead and self._ends_between(begin, end, day, False):
                held_without_lead = held_without_lead or not self._calendar.is_closed(day)
        if held:
            why = LEAD_BUSY if needs_lead else PEOPLE_BUSY
        elif closed:
            return CLOSED.key
        else:
            why = NO_LEAD if held_without_lead else NO_SHIFT
        return joined(CLOSED.key, why.key) if closed else why.key

    def _ends_between(self, begin: int, end: int, day: int, needs_lead: bool) -> bool:
        """Whether that weekday's last shift ends between two minutes; closed days have it too."""
        over = self._end_if_open(day, needs_lead)
        return over >= 0 and begin < day * 1440 + over <= end

    def due_minute(self, now: int, needs_lead: bool) -> int:
        """End of the day of the next shift not yet over (plus the open days allowed): work posted now is due then."""
        today = now // 1440
        known = self._due[needs_lead].get(today)
        if known is None:
            known = self._due[needs_lead][today] = self._due_on(today, needs_lead)
        over_at, due_today, due_later = known
        return due_today if now < over_at else due_later

    def _due_on(self, today: int, needs_lead: bool) -> tuple[int, int, int]:
        """(minute the day's last shift is over, due before that, due after it)."""
        over_at = today * 1440 + max(0, self._end(today, needs_lead))
        return over_at, self._end_of_allowed(today), self._due_after(over_at, needs_lead)

    def _end_of_allowed(self, day: int) -> int:
        for _ in range(self._days_allowed):
            day = self._calendar.next_open(day + 1)
        return (day + 1) * 1440

    def _due_after(self, now: int, needs_lead: bool) -> int:
        today = day_of(now)
        for day in range(today, today + LOOK_AHEAD_DAYS):
            end = self._end(day, needs_lead)
            if end >= 0 and day * 1440 + end > now:
                return self._end_of_allowed(day)
        return (today + LOOK_AHEAD_DAYS) * 1440

    def next_look(self, minute: int) -> int | None:
        """First minute from `minute` on at which somebody able is there (a lead's shift, a walk-through); None if
        nobody ever is."""
        day = day_of(minute)
        for ahead in range(day, day + LOOK_IN_AHEAD_DAYS):
            if self._calendar.is_closed(ahead):
                continue
            for minute_in_day in self._looks[self._calendar.month(ahead)][self._calendar.weekday(ahead)]:
                look = ahead * 1440 + minute_in_day
                if look >= minute:
                    return look
        return None
