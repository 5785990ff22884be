"""Looking ahead to the first flood that would find a reservoir too low, as seldom as can be.

Nobody counts what plants drink from flood to flood. After each change the reservoir asks: could the level be too low
within the next days if every plant drank as one of the thirstiest age does? Mostly it could not, and that costs one
sum. Only where it could is the level worked out plant by plant, and the first flood in danger found and planned.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from growsim.scenario.calendar import Order

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.room.clock import Clock
    from growsim.room.part import Part
    from growsim.room.racks import RackHere
    from growsim.room.solution import Solution
    from growsim.scenario.equipment import Reservoir

DAYS_AHEAD: Final = 4
PACE_ALLOWED: Final = 1.5  # against the set-points: racks that grow or drink no faster need no new look
_FAR: Final = 2**62


class FloodTimer:
    """When the timer floods; every minute where the pump runs all the time."""

    def __init__(self, spec: Reservoir) -> None:
        self.every_minutes = max(1, round(spec.flood_every_hours * 60))
        self._first_minute = round(spec.first_flood_hour * 60)

    def next_flood(self, minute: int) -> int:
        """First flood at or after this minute."""
        return self._first_minute + -(-(minute - self._first_minute) // self.every_minutes) * self.every_minutes

    def floods(self, begin_minute: int, end_minute: int) -> int:
        """Floods in [begin, end)."""
        return (self.next_flood(end_minute) - self.next_flood(begin_minute)) // self.every_minutes


class LookAhead:
    """The next look of one reservoir that is topped up by hand. is_needed: asked before a look is taken.
    in_danger: called where the very next flood would find it too low.

    spare_ml: what is surely left above the lowest level at `_until`, the last flood looked at, if all racks keep to a
    pace of `_up_to_pace` and nobody comes.
    """

    def __init__(
        self,
        solution: Solution,
        racks: list[RackHere],
        timer: FloodTimer,
        lowest_ml: float,
        clock: Clock,
        is_needed: Callable[[], bool],
        in_danger: Callable[[], None],
    ) -> None:
        self._solution, self._racks, self._timer, self._lowest_ml, self._clock = (
            solution,
            racks,
            timer,
            lowest_ml,
            clock,
        )
        self._is_needed, self._in_danger = is_needed, in_danger
        self._spare_ml = 0.0
        self._until = -_FAR
        self._up_to_pace = 0.0
        self._due = _FAR  # the next look that matters
        self._planned = _FAR  # the next look in the calendar: never later, and then put off

    def level_at(self, minute: int) -> float:
        """Level (mL) at a minute to come or now, if nothing changes until then."""
        solution = self._solution
        return solution.level_ml - solution.drunk_ml - math.fsum([rack.drunk_ml(minute) for rack in self._racks])

    def just_read(self) -> None:
        """All plants have settled: the level is known."""
        solution, until = self._solution, self._last_flood()
        most_ml_a_day = fastest = 0.0
        for rack in self._racks:
            pace = rack.pace
            fastest = pace if pace > fastest else fastest
            for part in rack.parts:
                most_ml_a_day += part.plants * part.curve.thirstiest_ml
        spare_ml = solution.level_ml - solution.drunk_ml - self._lowest_ml - self._most_ml(most_ml_a_day, until)
        if fastest <= PACE_ALLOWED and spare_ml >= 0.0:
            self._spare_ml, self._until, self._up_to_pace = spare_ml, until, PACE_ALLOWED
            self._look_at(until)
        else:
            self.look_closely()

    def somebody_came(self, part: Part) -> None:
        """The look planned stands if the newcomer cannot drink what is left above the lowest level until then."""
        now, until = self._clock.now, self._until
        if until > now and self._spare_ml > 0.0:
            if part.stand.rack.pace <= self._up_to_pace:
                self._spare_ml -= self._most_ml(part.plants * part.curve.thirstiest_ml, until)
            else:
                self._spare_ml -= part.drunk_ml(until, *part.stand.rack.clocks(until))
            if self._spare_ml >= 0.0:
                return
        self.look_closely()

    def they_drink_otherwise(self, pace: float) -> None:
        """Plants are of another age, or grow and drink at another pace: what holds at any age may hold still."""
        if not 0.0 < pace <= self._up_to_pace or self._until <= self._clock.now:
            self.look_closely()

    def look_closely(self) -> None:
        """Work out the levels to come; plan the first flood that would find it too low, or another look days on."""
        now, every = self._clock.now, self._timer.every_minutes
        last = self._last_flood()
        self._spare_ml = self.level_at(last) - self._lowest_ml
        self._until, self._up_to_pace = last, 0.0
        if self._spare_ml >= 0.0:
            self._look_at(last)
            return
        low, high = 0, (last - self._timer.next_flood(now)) // every
        first = last - high * every
        while low < high:
            middle = (low + high) // 2
            if self.level_at(first + middle * every) < self._lowest_ml:
                high = middle
            else:
                low = middle + 1
        if first + low * every > now:
            self._look_at(first + low * every)
        else:
            self._in_danger()

    def _last_flood(self) -> int:
        return self._timer.next_flood(self._clock.now + DAYS_AHEAD * 1440)

    def _most_ml(self, most_ml_a_day: float, until: int) -> float:
        """More than this is not drunk until then at the pace allowed; a day is added for the hours of light in it."""
        return most_ml_a_day * PACE_ALLOWED * ((until - self._clock.now) / 1440.0 + 1.0)

    def _look_at(self, minute: int) -> None:
        self._due = minute
        if minute < self._planned:
            self._planned = minute
            self._clock.at(minute, Order.AIR, self._look)

    def _look(self, _: Any) -> None:
        now = self._clock.now
        if now != self._planned:  # a sooner look was planned after this one
            return
        self._planned = _FAR
        if now < self._due:
            self._look_at(self._due)
        elif self._is_needed():
            self.look_closely()
