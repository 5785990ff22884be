"""A value held over time: slots in use, people at work. Written at the change itself, after it."""

from __future__ import annotations


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
        areas = [0.0] * steps
        end = begin_minute + step_minutes * steps
        times = self.minutes
        for value, since, until in zip(self.values, times, [*times[1:], end], strict=True):
            if value == 0.0 or until <= begin_minute or since >= end:
                continue
            start, stop = max(since, begin_minute), min(until, end)
            while start < stop:
                step = (start - begin_minute) // step_minutes
                edge = min(stop, begin_minute + (step + 1) * step_minutes)
                areas[step] += value * (edge - start)
                start = edge
        return [area / step_minutes for area in areas]
