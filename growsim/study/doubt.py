"""Which figures in doubt most of the spread between rehearsed years hangs on, so that they are found out first.

A figure in doubt is drawn once for every year, so its share needs no further simulation. The draws are independent:
the share of the variance of a result that hangs on one of them along a straight line is its squared standardized
regression coefficient (Saltelli et al., Global Sensitivity Analysis: The Primer, 2008, from memory).

Figures are taken in one by one, the strongest first, each by its correlation with what those before it leave over; a
share is that squared, of the whole. So shares add up to what all of them explain, at most 1. The first one that is not
clear of noise ends it: by Fisher's z, at 5 % over all figures and results together (Bonferroni). The range of a
share is its own, of 95 %, and allows for the ranges of those before it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from growsim.chance.streams import Luck
from growsim.ledger.outcome import Outcome
from growsim.run.known_luck import COMING, InDoubt, figures_in_doubt
from growsim.scenario.machines import machines_of
from growsim.scenario.scenario import Scenario

KILOGRAMS, ORDERS = "kg_handed_out_per_week", "orders_filled_fraction"
RESULTS = (KILOGRAMS, ORDERS)
NOISE = 0.05
"""Chance that anything is told where nothing hangs on any figure."""
_PLAIN = NormalDist().inv_cdf(0.975)
_NOTHING_LEFT = 1e-9  # of what there was: the rest is rounding
_MOST = 1.0 - 1e-12  # a correlation of 1 has no z


@dataclass(frozen=True)
class Share:
    """The part of a result's variance between years that hangs on a figure, and its range; each 0 to 1."""

    share: float
    low: float
    high: float


@dataclass(frozen=True)
class Doubt:
    """A figure in doubt. path: into the room's tables, lists by place. shares: by result, of those clear of noise."""

    path: tuple[str | int, ...]
    shares: Mapping[str, Share]

    @property
    def most(self) -> float:
        """The larger of its shares."""
        return max((each.share for each in self.shares.values()), default=0.0)


@dataclass(frozen=True)
class Doubts:
    """Every figure that is drawn anew for each year, those on which most hangs first.

    years: rehearsed. smallest: the share that one figure alone must have to be told from noise; 1 where none can.
    """

    years: int
    figures: tuple[Doubt, ...]
    smallest: float

    @property
    def told(self) -> tuple[Doubt, ...]:
        """Those with a share that is clear of noise."""
        return tuple(each for each in self.figures if each.shares)


def doubts_of(scenario: Scenario, seed: int, outcomes: Sequence[Outcome]) -> Doubts:
    """The shares of all figures in doubt. outcomes: of that room and seed."""
    draws = drawn(scenario, seed, [outcome.replication for outcome in outcomes])
    results = {key: [outcome.measures.get(key) for outcome in outcomes] for key in RESULTS}
    quantile = _quantile(len(draws))
    found: dict[tuple[str | int, ...], dict[str, Share]] = {path: {} for path in draws}
    for key, values in results.items():
        known = [i for i, value in enumerate(values) if value is not None]
        there = {path: [each[i] for i in known] for path, each in draws.items()}
        for path, share in shares_of([value for value in values if value is not None], there, quantile):
            found[path][key] = share
    figures = sorted((Doubt(path, shares) for path, shares in found.items()), key=lambda each: -each.most)
    return Doubts(len(outcomes), tuple(figures), _smallest(len(outcomes), quantile))


def drawn(scenario: Scenario, seed: int, replications: Sequence[int]) -> dict[tuple[str | int, ...], list[float]]:
    """Path of each figure in doubt -> what it was in each replication; nothing is simulated for it."""
    years = [Luck(seed, replication) for replication in replications]
    found = {
        each.path: [each.drawn(luck) for luck in years]
        for each in (*figures_in_doubt(scenario), *_hours_to_failure(scenario))
    }
    if any(scenario.crew.chance_doubt_sd):
        found["crew", "chance_of_coming"] = [luck.stream(COMING).deviation() for luck in years]
    return {path: values for path, values in found.items() if min(values, default=0.0) < max(values, default=0.0)}


def _hours_to_failure(scenario: Scenario) -> Iterator[InDoubt]:
    """One for each kind of machine that can fail: its hours are in doubt together, in the first of them."""
    seen = set()
    for machine in machines_of(scenario):
        spec = machine.reliability
        if machine.kind in seen or spec.hours_factor.is_fixed or spec.running_hours_to_failure is None:
            continue
        seen.add(machine.kind)
        path: tuple[str | int, ...] = (*machine.path, "hours_factor")
        if machine.where:
            entries = [entry.name for entry in getattr(scenario, machine.path[0])]
            path = (machine.path[0], entries.index(machine.where), *path[2:])
        yield InDoubt(f"parameter.{machine.kind}.hours_factor", spec.hours_factor, -math.inf, math.inf, path)


def shares_of(
    values: Sequence[float], draws: Mapping[tuple[str | int, ...], Sequence[float]], quantile: float
) -> Iterator[tuple[tuple[str | int, ...], Share]]:
    """Figures on which a result hangs, the strongest first.

    values: of the result, one a year. draws: of each figure, in the same years. quantile: of the standard normal, that
    a Fisher's z must pass.
    """
    rest, left = _centered(values), {path: _centered(each) for path, each in draws.items()}
    whole, sizes = _dot(rest, rest), {path: _dot(each, each) for path, each in left.items()}
    part = part_low = part_high = 1.0  # of the whole, what those taken in leave over
    taken = 0
    while len(values) - 3 - taken > 0 and _dot(rest, rest) > _NOTHING_LEFT * whole:
        over, size = _dot(rest, rest), {path: _dot(each, each) for path, each in left.items()}
        free = [path for path in left if size[path] > _NOTHING_LEFT * sizes[path]]
        if not free:
            return
        r = {path: _dot(left[path], rest) / math.sqrt(over * size[path]) for path in free}
        best = max(free, key=lambda path: abs(r[path]))
        z, sd = math.atanh(min(_MOST, abs(r[best]))), 1.0 / math.sqrt(len(values) - 3 - taken)
        if z <= quantile * sd:
            return
        wide = _PLAIN * sd
        low, at, high = math.tanh(z - wide) ** 2, r[best] ** 2, math.tanh(z + wide) ** 2
        yield best, Share(at * part, low * part_low, high * part_high)
        part, part_low, part_high = part * (1.0 - at), part_low * (1.0 - high), part_high * (1.0 - low)
        axis = left.pop(best)
        rest = _without(rest, axis)
        left = {path: _without(each, axis) for path, each in left.items()}
        taken += 1


def _quantile(figures: int) -> float:
    """What a z must pass: two-sided, over all figures and results."""
    return NormalDist().inv_cdf(1.0 - NOISE / 2.0 / max(1, figures * len(RESULTS)))


def _smallest(years: int, quantile: float) -> float:
    return math.tanh(quantile / math.sqrt(years - 3)) ** 2 if years > 3 else 1.0


def _centered(values: Sequence[float]) -> list[float]:
    mean = math.fsum(values) / len(values) if values else 0.0
    return [value - mean for value in values]


def _without(values: Sequence[float], axis: Sequence[float]) -> list[float]:
    slope = _dot(values, axis) / _dot(axis, axis)
    return [value - slope * each for value, each in zip(values, axis, strict=True)]


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))
