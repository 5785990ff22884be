"""Is a sign-up good enough? Rehearsed year by year until that is decided, with a stated chance of being wrong.

Fully sequential test of each figure against its goal: the feasibility check of Andradóttir & Kim (Naval Research
Logistics 57, 2010) and of Batur & Kim (several goals; ACM TOMACS 20(3), 2010), with the triangular limits of Kim &
Nelson (ACM TOMACS 11(3), 2001, c = 1); all three from memory. With variance s² of the first n0 years and half the
zone e, after r years the sum of (value - goal - c) is watched, c being the center of the zone:

    accepted as soon as the sum is at least    max(0, k (n0 - 1) s²/e - e r/2),
    rejected as soon as it is at most          minus that,          k = ((2b)^(-2/(n0 - 1)) - 1) / 2.

A sign-up whose true mean is at or below goal + c - e is accepted with chance b at most; one at or above goal + c + e
is rejected with chance b at most; between the two either may happen. What is far from the goal takes n0 years, what
is close takes many. The bound holds whatever e is, as long as it depends on s² only (s² is independent of the mean):
where the zone asked for would take more than `at_most` years it is widened until it does not.

The center lies half the zone asked for above the goal, and a zone that has to be wider widens to both sides. That is
for a search; a proof keeps to the goal itself (`crew_proof_rule`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

Verdict = Literal["accepted", "rejected"]


@dataclass(frozen=True)
class Rule:
    """How a sign-up is judged. zone: in fractions. error: chance of a wrong verdict on one figure (b above).

    first, step, at_most: years before the first look, between looks, and in all.
    """

    zone: float
    error: float
    first: int
    step: int
    at_most: int

    def __post_init__(self) -> None:
        if not (self.zone > 0 and 0 < self.error < 0.5 and self.first >= 2 and self.step >= 1):
            raise ValueError(f"no test can be made of {self}")

    @property
    def spread(self) -> float:
        """k (n0 - 1) of the module's text: (n0 - 1) ((2b)^(-2/(n0 - 1)) - 1) / 2."""
        free = self.first - 1
        return float(free * ((2.0 * self.error) ** (-2.0 / free) - 1.0) / 2.0)

    def half_zone(self, variance: float) -> float:
        """e: half the zone asked for, or as much wider as `at_most` years need (the limits meet at 2 k s² / e²)."""
        return max(self.zone / 2.0, math.sqrt(2.0 * self.spread * variance / self.at_most))

    @property
    def center(self) -> float:
        """c: how far above the goal the zone has its middle."""
        return self.zone / 2.0


@dataclass
class Watch:
    """One figure of one sign-up: how far each rehearsed year lies above its goal, and the verdict once there is one."""

    rule: Rule
    above: list[float] = field(default_factory=list)
    verdict: Verdict | None = None
    half_zone: float | None = None
    _variance: float = 0.0

    def look(self) -> Verdict | None:
        """Judge by all the years so far; a verdict once given stays."""
        n, first = len(self.above), self.rule.first
        if self.verdict is not None or n < first:
            return self.verdict
        if self.half_zone is None:
            self._variance = variance_of(self.above[:first])
            self.half_zone = self.rule.half_zone(self._variance)
        e = self.half_zone
        limit = max(0.0, self.rule.spread * self._variance / e - e * n / 2.0)
        total = math.fsum(self.above) - n * self.rule.center
        if abs(total) >= limit:
            self.verdict = "accepted" if total >= 0 else "rejected"
        return self.verdict

    @property
    def mean(self) -> float:
        """Mean distance above the goal so far; zero before the first year."""
        return math.fsum(self.above) / len(self.above) if self.above else 0.0


class Trial:
    """One sign-up in one season: accepted once every figure is, rejected as soon as one is.

    seen: replication -> figure -> how far that year lies above its goal.
    """

    def __init__(self, rule: Rule) -> None:
        self._rule = rule
        self.seen: dict[int, Mapping[str, float]] = {}
        self.watches: dict[str, Watch] = {}

    @property
    def years(self) -> int:
        """Years seen so far."""
        return len(self.seen)

    @property
    def verdict(self) -> Verdict | None:
        """None while undecided."""
        verdicts = [watch.verdict for watch in self.watches.values()]
        if "rejected" in verdicts:
            return "rejected"
        if self.years >= self._rule.first and all(verdict == "accepted" for verdict in verdicts):
            return "accepted"  # also where there is no figure to meet
        return None

    def add(self, years: Mapping[int, Mapping[str, float]]) -> None:
        """So many more years: replication -> figure -> how far above its goal. Looks once, at the end of them."""
        for year in years.values():
            for key, above in year.items():
                self.watches.setdefault(key, Watch(self._rule)).above.append(above)
        self.seen.update(years)
        for watch in self.watches.values():
            watch.look()

    @property
    def margin(self) -> float:
        """The scarcest figure's mean above its goal."""
        return min((watch.mean for watch in self.watches.values()), default=0.0)


def variance_of(values: Sequence[float]) -> float:
    """Sample variance of two values or more."""
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
