"""Moments of the day, draws by numpy, and the counts of a year."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import simpy

from growsim.scenario.calendar import Order
from growsim.scenario.uncertain import Uncertain

DAY = 1440


class Moment(simpy.Event):
    """A minute of the clock, taken in its place in the order of the day; of groups of plants the oldest first."""

    def __init__(self, env: simpy.Environment, minute: float, order: Order, age: int = 0) -> None:
        super().__init__(env)
        self._ok, self._value = True, None
        env.schedule(self, priority=10 * order + age / 1e6, delay=max(0, minute - env.now))


def draw(figure: Uncertain, luck: np.random.Generator) -> float:
    """One draw of a figure in doubt."""
    f = figure
    if f.distribution == "fixed":
        value = f.value
    elif f.distribution == "range":
        value = luck.triangular(f.low, f.likely, f.high) if f.high > f.low else f.likely
    elif f.distribution == "uniform":
        value = luck.uniform(f.low, f.high)
    elif f.distribution == "normal":
        value = luck.normal(f.mean, f.sd)
    elif f.distribution == "lognormal":
        value = f.mean * spread(f.sd / f.mean, luck)
    elif f.distribution == "exponential":
        value = luck.exponential(f.mean)
    elif f.distribution == "weibull":
        value = f.mean / math.gamma(1 + 1 / f.shape) * luck.weibull(f.shape)
    else:
        value = share(f.mean, f.sd, luck)
    value = value if f.at_least is None else max(value, f.at_least)
    return float(value if f.at_most is None else min(value, f.at_most))


def spread(cv: float, luck: np.random.Generator) -> float:
    """A lognormal factor with mean 1."""
    sigma = math.sqrt(math.log1p(cv * cv))
    return float(luck.lognormal(-sigma * sigma / 2, sigma))


def share(mean: float, sd: float, luck: np.random.Generator) -> float:
    """A beta share with that mean and sd."""
    if sd == 0 or not 0 < mean < 1:
        return mean
    n = mean * (1 - mean) / sd**2 - 1
    return float(luck.beta(mean * n, (1 - mean) * n))


class Year:
    """What is counted: only what falls in the days counted."""

    def __init__(self, env: simpy.Environment, days: int, slots: int) -> None:
        self.env, self.end, self.slots = env, days * DAY, slots
        self.counts: Counter[str] = Counter()
        self.in_use, self._since = 0, env.now

    def now(self) -> bool:
        """Whether this minute counts."""
        return 0 <= self.env.now < self.end

    def count(self, what: str, much: float = 1) -> None:
        """Count what happens now."""
        if self.now():
            self.counts[what] += much

    def fate(self, what: str, plants: int, counted: bool) -> None:
        """Count what became of seeds, if they were sown in the days counted."""
        if counted and self.env.now < self.end:
            self.counts[what] += plants

    def use_slots(self, more: int) -> None:
        """More (or fewer) slots are in use from now on."""
        start, stop = max(0, self._since), min(self.env.now, self.end)
        self.counts["slot minutes"] += self.in_use * max(0, stop - start)
        self.in_use, self._since = self.in_use + more, self.env.now
