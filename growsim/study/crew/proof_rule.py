"""When is a sign-up proven, and when is it plain that it will not be? The test of a proof, figure by figure.

A proof looks several times: at `first` years, then every `step`, up to `at_most`. At each look a one-sided t-test asks
whether the mean lies above the goal, at the stated error divided by the number of looks (Bonferroni), so that a sign-up
at or below its goal is proven at any of them with the stated chance at most. A year's share on time is skewed: most are
good, a few bad, and then a plain t-test proves too much (with skewness -1.5, twice as often as it should). So t is made
with Hall's cubic transformation (P. Hall, Journal of the Royal Statistical Society B 54(1), 1992; from memory),

    t = √n (u + g u²/3 + g² u³/27 + g/(6n)),        u = mean / sd,  g = skewness, where below zero,

which only ever makes it harder. A sign-up is proven once every figure is; as no figure that misses its goal is taken
for proven but with the stated chance, neither is the sign-up, however many figures it has (the intersection-union test:
R. L. Berger, Technometrics 24(4), 1982; from memory).

Giving up says nothing for certain, so it costs no honesty and is looked for more often.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from growsim.run.intervals import t_quantile

Verdict = Literal["accepted", "rejected"]

HOPE = 0.95  # a mean whose range this sure (one-sided) lies below what all the years could prove is given up
PARTS = 3  # in which the first years are lived through, so that what is plainly wanting is seen early
FEWEST = 4  # years in such a part


@dataclass(frozen=True)
class ProofRule:
    """error: chance of proving what misses a goal. first, step, at_most: years before the first look for a proof,
    between looks, and in all. Raises ValueError where no test can be made of them."""

    error: float
    first: int
    step: int
    at_most: int

    def __post_init__(self) -> None:
        if not (0 < self.error < 0.5 and self.first >= 2 and self.step >= 1 and self.at_most >= self.first):
            raise ValueError(f"no test can be made of {self}")

    @property
    def looks(self) -> int:
        """Looks for a proof, at most."""
        return 1 + (self.at_most - self.first) // self.step

    def next_years(self, years: int) -> int:
        """How many years to live through next, after so many."""
        if years >= self.first:
            return self.step
        return min(self.first - years, max(FEWEST, math.ceil(self.first / PARTS)))

    def is_look(self, years: int) -> bool:
        """Whether a proof is looked for after so many years."""
        return years >= self.first and (years - self.first) % self.step == 0

    def proves(self, above: Sequence[float]) -> bool:
        """Whether these years prove the mean to lie above zero. Years all alike prove it unless they lie below."""
        mean, variance = math.fsum(above) / len(above), variance_of(above)
        if variance == 0.0:
            return mean >= 0.0
        return t_for_skewed(above) >= self._t(len(above))

    def lead(self, variance: float) -> float:
        """How far above the goal the mean has to lie to be proven by all the years, where years are not skewed."""
        return self._t(self.at_most) * math.sqrt(variance / self.at_most)

    def is_hopeless(self, above: Sequence[float]) -> bool:
        """Whether the mean will hardly ever lie so far above zero."""
        n, variance = len(above), variance_of(above)
        mean = math.fsum(above) / n
        return mean + t_quantile(HOPE, n - 1) * math.sqrt(variance / n) < self.lead(variance)

    def _t(self, years: int) -> float:
        return t_quantile(1.0 - self.error / self.looks, years - 1)


def t_for_skewed(values: Sequence[float]) -> float:
    """Student's t of the mean against zero, made harder to reach where values are skewed towards the bad side.

    Equation: the module's text. Two values or more, not all alike.
    """
    n, spread = len(values), math.sqrt(variance_of(values))
    mean = math.fsum(values) / n
    u, skewness = mean / spread, math.fsum(((value - mean) / spread) ** 3 for value in values) / n
    g = min(0.0, skewness)
    return math.sqrt(n) * (u + g * u**2 / 3.0 + g**2 * u**3 / 27.0 + g / (6.0 * n))


@dataclass
class Evidence:
    """A sign-up in fresh years. seen: replication -> figure -> how far that year lies above its goal.

    proven: figures that are.
    """

    rule: ProofRule
    seen: dict[int, Mapping[str, float]] = field(default_factory=dict)
    proven: set[str] = field(default_factory=set)

    def add(self, years: Mapping[int, Mapping[str, float]]) -> None:
        """So many more years; looks at the end of them. A proof once given stays."""
        self.seen.update(years)
        if self.rule.is_look(len(self.seen)):
            self.proven |= {key for key, above in self.values().items() if len(above) > 1 and self.rule.proves(above)}

    def values(self) -> dict[str, list[float]]:
        """Figure -> how far above its goal, year by year."""
        found: dict[str, list[float]] = {}
        for year in self.seen.values():
            for key, above in year.items():
                found.setdefault(key, []).append(above)
        return found

    @property
    def wanting(self) -> set[str]:
        """Figures not proven."""
        return self.values().keys() - self.proven

    @property
    def hopeless(self) -> set[str]:
        """Figures not proven that will hardly ever be."""
        values = self.values()
        return {key for key in self.wanting if len(values[key]) >= FEWEST and self.rule.is_hopeless(values[key])}

    @property
    def verdict(self) -> Verdict | None:
        """Accepted once every figure is proven, rejected where one will hardly ever be; None while undecided."""
        if len(self.seen) >= self.rule.first and not self.wanting:
            return "accepted"  # also where there is no figure to meet
        if self.seen and (len(self.seen) >= self.rule.at_most or self.hopeless):
            return "rejected"
        return None


def variance_of(values: Sequence[float]) -> float:
    """Sample variance of two values or more."""
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
