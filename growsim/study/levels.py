"""Three levels of a promise: safe, likely, possible.

Each is an order statistic of n rehearsals, the r-th smallest with r the whole part of q (n + 1). If the year to come
is one more draw of the same kind, it reaches at least the r-th smallest of n with probability 1 - r / (n + 1), whatever
the distribution: never less than the rate stated (exchangeability; David and Nagaraja, Order Statistics, 3rd ed. 2003,
section 7.3 on prediction, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

SAFE, LIKELY, POSSIBLE = 0.9, 0.5, 0.1
"""Share of years that give at least the level."""

FEWEST = 9
"""With fewer rehearsals even the smallest of them is not safe."""


@dataclass(frozen=True)
class Levels:
    """Amounts reached in 90, 50 and 10 of 100 years, in the unit of what they were made from."""

    safe: float
    likely: float
    possible: float


def levels_of(values: Sequence[float]) -> Levels:
    """The levels of rehearsed values. Raises ValueError for fewer than nine."""
    n = len(values)
    if n < FEWEST:
        raise ValueError(f"{n} rehearsals cannot say what nine in ten give")
    ranked = sorted(values)

    def reached_by(share: float) -> float:
        rank = math.floor((1.0 - share) * (n + 1) + 1e-9)
        return ranked[max(rank, 1) - 1]

    return Levels(reached_by(SAFE), reached_by(LIKELY), reached_by(POSSIBLE))
