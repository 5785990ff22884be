"""Germination: how long seed takes, how much of it germinates, and how many cells of a sheet are filled."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise


def days_to_emerge(temperature_c: float, temperatures_c: Sequence[float], days: Sequence[float]) -> float:
    """Days from sowing to germination at `temperature_c`, by straight lines between the tabled points.

    Beyond the table the end values are held: a warm room must not stop a rehearsal. The table is the planner's own, or
    Harrington & Minges 1954, *Vegetable Seed Germination* (days to emergence by soil temperature).
    Raises ValueError where the table is empty, uneven or not rising.
    """
    return _between(temperature_c, temperatures_c, days)


def minutes_to_emerge(
    passed: int, degree_minutes: float, ahead_c: float, temperatures_c: Sequence[float], days: Sequence[float]
) -> int:
    """Minutes from sowing to germination, at least 1, of seed that had `degree_minutes` (°C min) in the minutes passed.

    With air at `ahead_c` from now on: up once the days are over that the table gives for the mean temperature of all
    that time. A spell off the table's straight lines is averaged so too (assumption). Raises as `days_to_emerge`.
    """

    def needed(minutes: int) -> int:
        mean_c = (degree_minutes + ahead_c * (minutes - passed)) / minutes
        return max(1, round(1440 * days_to_emerge(mean_c, temperatures_c, days)))

    low = max(1, passed)
    first = needed(low)
    if passed == 0 or first <= low:
        return max(low, first)
    high = max(1, round(1440 * max(days)))
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if needed(middle) <= middle else (middle + 1, high)
    return low


def relative_emergence(temperature_c: float, temperatures_c: Sequence[float], fractions: Sequence[float]) -> float:
    """Share that germinates at `temperature_c` relative to the best temperature (0..1); straight lines, ends held.

    Source of such tables: Harrington & Minges 1954, as above. Raises ValueError as `days_to_emerge`.
    """
    return _between(temperature_c, temperatures_c, fractions)


def seedlings_per_cell(germination_fraction: float, seeds_per_cell: int) -> tuple[float, ...]:
    """Chances of 0, 1, ... n seedlings in a cell of n seeds (binomial distribution)."""
    _check_seeds(germination_fraction, seeds_per_cell)
    p, n = germination_fraction, seeds_per_cell
    return tuple(math.comb(n, k) * p**k * (1.0 - p) ** (n - k) for k in range(n + 1))


def _check_seeds(germination_fraction: float, seeds_per_cell: int) -> None:
    if not 0.0 <= germination_fraction <= 1.0:
        raise ValueError(f"the share of seed that germinates must lie from 0 to 1, not {germination_fraction:g}")
    if seeds_per_cell < 0:
        raise ValueError(f"seeds per cell cannot be {seeds_per_cell}")


def _between(at: float, points: Sequence[float], values: Sequence[float]) -> float:
    """Value at `at` on the straight lines through (points, values); the first and last value beyond them."""
    _check_table(tuple(points), len(values))
    if at <= points[0]:
        return float(values[0])
    if at >= points[-1]:
        return float(values[-1])
    i = bisect_right(points, at) - 1
    share = (at - points[i]) / (points[i + 1] - points[i])
    return values[i] + share * (values[i + 1] - values[i])


@lru_cache(maxsize=256)
def _check_table(points: tuple[float, ...], values: int) -> None:
    if not points or len(points) != values:
        raise ValueError("a table needs as many values as temperatures, and at least one")
    if any(later <= earlier for earlier, later in pairwise(points)):
        raise ValueError("the temperatures of a table must rise")
