"""Estimates with their ranges: of the mean, of one week or year, of a difference, of a share.

The range of the mean says how well the average is known; it shrinks as more years are rehearsed. The range of one week
(or year) says what a week may bring; it does not shrink. They are never mixed.

Sources: t-interval, Law, Simulation Modeling and Analysis, 5th ed. 2013, section 4.5; Bonferroni's inequality for
simultaneous intervals, NIST/SEMATECH e-Handbook section 7.4.7.3; Wilson's interval, the same, section 7.2.4.1.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from growsim.ledger.catalogue import CATALOGUE, Measure
from growsim.ledger.outcome import Outcome
from growsim.run.controls import Controls, KnownControls

LEVEL = 0.95
WORTH_IT = 2.0


@dataclass(frozen=True)
class Estimate:
    """A figure of the catalogue over many replications, in the figure's own unit.

    mean_low, mean_high: 95 % range of the mean; None with one replication. p10, p50, p90: of one week, or of one year
    (one replication), as `of` says. n: replications in which the figure exists. worth: years of plain rehearsal that
    one year is worth for the mean, where known luck was taken out of it.
    """

    key: str
    mean: float
    mean_low: float | None
    mean_high: float | None
    p10: float
    p50: float
    p90: float
    n: int
    of: Literal["one week", "one year"]
    worth: float = 1.0


@dataclass(frozen=True)
class Difference:
    """An alternative minus today, replication by replication under the same luck.

    low, high: range of the mean difference, 95 % for all differences of the same call together; None with one
    replication. chance_better: share of replications in which the alternative was better (a tie is not), None for a
    figure with no better side. n: replications in which the figure exists on both sides.
    """

    key: str
    mean: float
    low: float | None
    high: float | None
    chance_better: float | None
    n: int


@dataclass(frozen=True)
class Share:
    """So many out of n, with Wilson's 95 % range of the chance behind it."""

    share: float
    low: float
    high: float
    n: int


def t_quantile(probability: float, degrees_of_freedom: float) -> float:
    """Quantile of Student's t, to nine figures: releases of SciPy differ in the eleventh, answers must not."""
    from scipy.special import stdtrit

    return float(f"{stdtrit(degrees_of_freedom, probability):.9g}")


def mean_interval(values: Sequence[float], level: float = LEVEL) -> tuple[float, float | None, float | None]:
    """Mean of independent values with its t-interval; the interval is None with one value.

    Sums are exactly rounded (math.fsum), so no order and no processor changes a bit. Raises ValueError for no values.
    """
    n = len(values)
    if n == 0:
        raise ValueError("no values, no mean")
    mean = math.fsum(values) / n
    if n == 1:
        return mean, None, None
    variance = math.fsum((value - mean) ** 2 for value in values) / (n - 1)
    half = t_quantile(0.5 + level / 2.0, n - 1) * math.sqrt(variance / n)
    return mean, mean - half, mean + half


def controlled_interval(
    values: Sequence[float], controls: Controls | None, level: float = LEVEL
) -> tuple[float, float | None, float | None, float]:
    """Mean, its t-interval, and what a year is worth in plain years: with known luck taken out where that pays.

    It pays where a year is worth 2 or more. Below, what it saves is less than what it costs to explain that figures no
    longer add up to the last bit; and looking for the narrower range would cost coverage (the tests see how much).
    """
    found = None if controls is None else controls.mean_of(values)
    if found is None or found.worth < WORTH_IT:
        return *mean_interval(values, level), 1.0
    half = t_quantile(0.5 + level / 2.0, found.freedom) * found.error
    return found.mean, found.mean - half, found.mean + half, found.worth


def quantiles(values: Sequence[float], fractions: Sequence[float]) -> tuple[float, ...]:
    """Sample quantiles, linear between order statistics (type 7 of Hyndman & Fan 1996, numpy's default)."""
    import numpy as np

    return tuple(float(q) for q in np.quantile(np.asarray(values, dtype=float), list(fractions)))


def proportion_interval(hits: int, n: int, level: float = LEVEL) -> Share:
    """Share of hits with Wilson's score interval. Raises ValueError unless 0 <= hits <= n and n > 0."""
    if n <= 0 or not 0 <= hits <= n:
        raise ValueError(f"{hits} of {n} is no share")
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    share = hits / n
    center = (share + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    # At 0 and n hits the formula gives 0 and 1 exactly, but for the last bit.
    return Share(share, 0.0 if hits == 0 else center - half, 1.0 if hits == n else center + half, n)


def summarize(outcomes: Sequence[Outcome], luck: Mapping[str, Sequence[float]] | None = None) -> dict[str, Estimate]:
    """Every figure of the catalogue that exists in at least one outcome, in the catalogue's order.

    luck: see `known_luck`; taken out of the means (not of the p10 to p90) where the years are enough for it.
    """
    estimates: dict[str, Estimate] = {}
    known = KnownControls(luck or {}, len(outcomes))
    for key, figure in CATALOGUE.items():
        having = [i for i, outcome in enumerate(outcomes) if key in outcome.measures]
        if not having:
            continue
        with_it = [outcomes[i] for i in having]
        values = [outcome.measures[key] for outcome in with_it]
        mean, low, high, worth = controlled_interval(values, known.of(having))
        weeks = [value for outcome in with_it for value in outcome.weeks.get(figure.weekly, ())]
        p10, p50, p90 = quantiles(weeks or values, (0.1, 0.5, 0.9))
        estimates[key] = Estimate(
            key=key,
            mean=mean,
            mean_low=None if low is None else max(low, _lowest(figure)),
            mean_high=None if high is None else min(high, _highest(figure)),
            p10=p10,
            p50=p50,
            p90=p90,
            n=len(values),
            of="one week" if weeks else "one year",
            worth=worth,
        )
    return estimates


def paired_differences(
    today: Sequence[Outcome],
    alternatives: Mapping[str, Sequence[Outcome]],
    keys: Sequence[str],
    level: float = LEVEL,
) -> dict[str, dict[str, Difference]]:
    """What each alternative changes in each of `keys`: alternative name -> key -> Difference.

    The ranges hold all at once with probability `level`, whatever the figures have to do with one another: each of
    the g = alternatives x keys intervals is made at 1 - (1 - level)/g (Bonferroni). So name only the keys that will be
    spoken of. A figure that exists nowhere on both sides is left out.
    """
    comparisons = max(1, len(alternatives) * len(keys))
    each = 1.0 - (1.0 - level) / comparisons
    before = {outcome.replication: outcome.measures for outcome in today}
    found: dict[str, dict[str, Difference]] = {}
    for name, outcomes in alternatives.items():
        found[name] = {}
        for key in keys:
            pairs = [
                (before[outcome.replication][key], outcome.measures[key])
                for outcome in outcomes
                if key in outcome.measures and key in before.get(outcome.replication, {})
            ]
            if pairs:
                found[name][key] = _difference(CATALOGUE[key], pairs, each)
    return found


def _difference(figure: Measure, pairs: Sequence[tuple[float, float]], level: float) -> Difference:
    changes = [after - before for before, after in pairs]
    mean, low, high = mean_interval(changes, level)
    better = None
    if figure.better:
        better = sum((change > 0) if figure.better == "more" else (change < 0) for change in changes) / len(changes)
    return Difference(figure.key, mean, low, high, better, len(changes))


def _lowest(figure: Measure) -> float:
    """No amount lies below 0; a range that says so only confuses. A temperature may."""
    return -math.inf if figure.unit == "°C" else 0.0


def _highest(figure: Measure) -> float:
    return 1.0 if figure.unit == "fraction" else math.inf
