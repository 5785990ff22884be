"""When plants were moved and by whom looked at: days with a shift, and how late this room moves its plants.

A move that nobody wrote down was made at some time, promptly or not. The moves of the same record that were written
down say how promptly: they wait for the same hands and the same full shelves.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Mapping, Sequence

from growsim.scenario.calendar import Calendar
from growsim.scenario.crop import Crop
from growsim.scenario.record.record import PlantingRow
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

WORK_BEGINS_AFTER_HOURS = 0.5  # of the shift: about when seeds are sown, plants moved or harvested
NOON = 12.0
FARTHEST_SHIFTS = 40  # a move later than so many days with a shift is a slip of the pen
PROMPT: Mapping[int, float] = {late: 0.5 ** (late + 1) for late in range(7)}
"""Chances of a move by days with a shift after it is due, where a record tells of none: each shift does half of what is
left. Counts as one record."""

Delays = Mapping[int, float]


class WorkDays:
    """The days of a room: with a shift, and for harvest."""

    def __init__(self, scenario: Scenario) -> None:
        self._calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        self._hours: dict[int, float] = {}
        for shift in scenario.crew.shifts:
            weekday = WEEKDAYS.index(shift.weekday)
            self._hours[weekday] = min(shift.start_hour, self._hours.get(weekday, shift.start_hour))
        self._cutting = frozenset(WEEKDAYS.index(day) for day in scenario.harvest.weekdays)

    def at_work(self, day: dt.date) -> dt.datetime:
        """About when work is done that day: soon after its first shift begins, or at noon."""
        hour = self._hours.get(day.weekday())
        return dt.datetime.combine(day, dt.time()) + dt.timedelta(
            hours=NOON if hour is None else hour + WORK_BEGINS_AFTER_HOURS
        )

    def has_shift(self, day: dt.date) -> bool:
        """Whether a shift is held that day."""
        return day.weekday() in self._hours and not self._calendar.is_closed(self._calendar.day_of(day))

    def next_shift(self, day: dt.date) -> dt.date:
        """The first day from this one on with a shift; the day itself where a week brings none."""
        week = (day + dt.timedelta(days=later) for later in range(7))
        return next((later for later in week if self.has_shift(later)), day)

    def shifts_late(self, due: dt.date, day: dt.date) -> int:
        """Days with a shift from the first one after `due` until `day`: 0 for that one, negative for sooner."""
        on_time = self.next_shift(due)
        one, two, sign = (on_time, day, 1) if day >= on_time else (day, on_time, -1)
        return sign * sum(self.has_shift(one + dt.timedelta(days=k)) for k in range(1, (two - one).days + 1))

    def day_of_delay(self, due: dt.date, late: int) -> dt.date:
        """The day so many days with a shift after (before) the first one from `due` on."""
        day, step = self.next_shift(due), dt.timedelta(days=1 if late > 0 else -1)
        left = abs(late) if self._hours else 0
        for _ in range(14 * left):
            if not left:
                break
            day += step
            left -= self.has_shift(day)
        return day

    def harvest_days(self, cut: dt.date, count: int) -> list[dt.date]:
        """The last `count` harvest days up to the harvest day, the latest first."""
        days: list[dt.date] = []
        day = cut
        while len(days) < count and (cut - day).days < 120:
            if day.weekday() in self._cutting:
                days.append(day)
            day -= dt.timedelta(days=1)
        return days


def due_days(sown: dt.date, crop: Crop) -> list[dt.date]:
    """When each move of a sowing falls due."""
    days, planned = [], 0.0
    for stage in crop.stages_in_order()[:-1]:
        planned += stage.days
        days.append(sown + dt.timedelta(days=round(planned)))
    return days


def delays_of(trays: Sequence[PlantingRow], scenario: Scenario, work: WorkDays) -> Delays:
    """How late moves were made, by all that are written down: chance of each number of days with a shift after the
    first one from the planned day on (sooner: negative)."""
    crops = {crop.name: crop for crop in scenario.crops}
    counts: Counter[int] = Counter()
    for row in trays:
        if row.harvest_number == 1:
            for due, moved in zip(
                due_days(row.sown, crops[row.crop]), (row.transplanted, row.transplanted_again), strict=False
            ):
                if moved is not None and abs(late := work.shifts_late(due, moved)) <= FARTHEST_SHIFTS:
                    counts[late] += 1
    total = sum(counts.values()) + 1
    return {
        late: (counts[late] + PROMPT.get(late, 0.0) / math.fsum(PROMPT.values())) / total
        for late in sorted({*counts, *PROMPT})
    }
