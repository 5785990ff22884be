"""A value held over time: slots in use, people at work. Written at the change itself, after it."""

from __future__ import annotations

from bisect import bisect_right
from itertools import accumulate, pairwise
from operator import mul, sub


class Level:
    """A step function of time, starting at 0. Times are minutes and must not run backwards."""

    __slots__ = ("minutes", "value", "values")

    def __init__(self, begin_minute: int) -> None:
        self.minutes: list[int] = [begin_minute]
        self.values: list[float] = [0.0]
        self.value = 0.0

    def add(self, minute: int, change: float) -> None:
        """Raise (or lower) the value from this minute on. Raises ValueError if time runs backwards."""
        self.value += change
        last = self.minutes[-1]
        if minute == last:
            self.values[-1] = self.value
        elif minute > last:
            self.minutes.append(minute)
            self.values.append(self.value)
        else:
            raise ValueError(f"the log book cannot go back from minute {last} to {minute}")

    def means(self, begin_minute: int, step_minutes: int, steps: int) -> list[float]:
        """Time-weighted mean in each of `steps` half-open windows of `step_minutes` from begin_minute on."""
        times, values = self.minutes, self.values
        filled = list(accumulate(map(mul, values, map(sub, times[1:], times)), initial=0.0))  # area up to each change
        end = begin_minute + step_minutes * steps
        areas: list[float] = []
        for edge in range(begin_minute, end + 1, step_minutes):
            last = bisect_right(times, edge) - 1
            areas.append(filled[last] + values[last] * (edge - times[last]) if last >= 0 else 0.0)
        return [(later - area) / step_minutes for area, later in pairwise(areas)]
