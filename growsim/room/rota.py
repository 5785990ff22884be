"""When people are there: by when work is due, and when somebody able next looks in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from growsim.spec.calendar import Calendar, day_of, minute_of
from growsim.spec.people import WEEKDAYS

if TYPE_CHECKING:
    from growsim.spec.people import Crew

LOOK_AHEAD_DAYS: Final = 60
LOOK_IN_AHEAD_DAYS: Final = 366


class Rota:
    """The week's shifts and look-ins, by weekday; closed days have none."""

    def __init__(self, crew: Crew, calendar: Calendar) -> None:
        self._calendar = calendar
        self._days_allowed = crew.days_allowed
        self._due: dict[bool, dict[int, tuple[int, int, int]]] = {False: {}, True: {}}
        self._last_end: dict[bool, list[int]] = {False: [-1] * 7, True: [-1] * 7}  # minutes into the day, by weekday
        self._looks: list[list[int]] = [[] for _ in range(7)]
        for shift in crew.shifts:
            weekday, end = WEEKDAYS.index(shift.weekday), minute_of(0, shift.start_hour + shift.hours)
            self._last_end[False][weekday] = max(self._last_end[False][weekday], end)
            if shift.lead:
                self._last_end[True][weekday] = max(self._last_end[True][weekday], end)
                self._looks[weekday].append(minute_of(0, shift.start_hour))
        for visit in crew.visits:
            for name in visit.weekdays:
                self._looks[WEEKDAYS.index(name)].append(minute_of(0, visit.hour))
        for minutes in self._looks:
            minutes.sort()

    def has_shift(self, day: int) -> bool:
        """Whether there is a shift that day."""
        return self._last_end[False][self._calendar.weekday(day)] >= 0 and not self._calendar.is_closed(day)

    def due_minute(self, now: int, needs_lead: bool) -> int:
        """End of the day of the next shift not yet over (plus the days allowed): work posted now is due then."""
        today = now // 1440
        known = self._due[needs_lead].get(today)
        if known is None:
            known = self._due[needs_lead][today] = self._due_on(today, needs_lead)
        over_at, due_today, due_later = known
        return due_today if now < over_at else due_later

    def _due_on(self, today: int, needs_lead: bool) -> tuple[int, int, int]:
        """(minute the day's last shift is over, due before that, due after it)."""
        end = self._last_end[needs_lead][self._calendar.weekday(today)]
        over_at = today * 1440 + (0 if end < 0 or self._calendar.is_closed(today) else end)
        return over_at, (today + 1 + self._days_allowed) * 1440, self._due_after(over_at, needs_lead)

    def _due_after(self, now: int, needs_lead: bool) -> int:
        today, calendar, last_end = day_of(now), self._calendar, self._last_end[needs_lead]
        for day in range(today, today + LOOK_AHEAD_DAYS):
            end = last_end[calendar.weekday(day)]
            if end >= 0 and day * 1440 + end > now and not calendar.is_closed(day):
                return (day + 1 + self._days_allowed) * 1440
        return (today + LOOK_AHEAD_DAYS) * 1440

    def next_look(self, minute: int) -> int | None:
        """First minute from `minute` on at which somebody able is there (a lead's shift, a visit); None if nobody
        ever is."""
        day = day_of(minute)
        for ahead in range(day, day + LOOK_IN_AHEAD_DAYS):
            if self._calendar.is_closed(ahead):
                continue
            for minute_in_day in self._looks[self._calendar.weekday(ahead)]:
                look = ahead * 1440 + minute_in_day
                if look >= minute:
                    return look
        return None
