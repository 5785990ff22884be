"""Estimates with their ranges: of the mean, of one week or year, of a difference, of a share.

The range of the mean says how well the average is known; it shrinks as more years are rehearsed. The range of one week
(or year) says what a week may bring; it does not shrink. They are never mixed.

Years in which things go wrong are few and lie far out, and a t-range of them is short. So each end of a figure's range
is that of t or that of t corrected for skewness, whichever lies further out. What was seen in no year has no upper end:
it may be as frequent as once in a third of the years (`unseen`).

Sources: t-interval, Law, Simulation Modeling and Analysis, 5th ed. 2013, section 4.5; its correction, Hall 1992, J. of
the Royal Statistical Society B 54(1):221-228 (from memory); the rule of three, Hanley & Lippman-Hand 1983, JAMA
249(13):1743-1745; Bonferroni's inequality for simultaneous intervals, NIST/SEMATECH e-Handbook section 7.4.7.3;
Wilson's interval, the same, section 7.2.4.1. How often they hold: tests/theory/coverage_study.py.
"""

from __future__ import annotations

import math
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Literal

from growsim.ledger.catalogue import CATALOGUE, Measure
from growsim.ledger.outcome import Outcome
from growsim.run.controls import Controls, KnownControls

LEVEL = 0.95
WORTH_IT = 2.0
KG_WHOLE = "kg_handed_out_per_week"
RULE_OF_THREE = 3.0
"""What happened in none of n years happens in at most 3 / n of them (95 %)."""
FEWEST = 5  # values that a range is made of; of fewer it is absurdly wide or chance (common practice, no source)
_STRAIGHT = 1e-9  # as good as no skewness


@dataclass(frozen=True)
class Estimate:
    """A figure of the catalogue over many replications, in the figure's own unit.

    mean_low, mean_high: 95 % range of the mean; None with fewer than FEWEST replications. p10, p50, p90: of one week,
    or of one year (one replication), as `of` says. n: replications in which the figure exists. worth: years of plain
    rehearsal that one year is worth for the mean, where known luck was taken out of it. unseen: the figure (perhaps
    this one) that may happen, did in no replication, and would raise this one by nobody knows how much: mean_high is
    None; "" elsewhere.
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
    unseen: str = ""

    @property
    def not_seen(self) -> bool:
        """Whether it may happen and did in no replication: rarer than about once in n / 3 of them."""
        return self.unseen == self.key


@dataclass(frozen=True)
class Difference:
    """An alternative minus today, replication by replication under the same luck.

    low, high: range of the mean difference, 95 % for all differences of the same call together; None with fewer than
    FEWEST replications. chance_better: share of replications in which the alternative was better (a tie is not), None
    for a figure with no better side. n: replications in which the figure exists on both sides.
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


def mean_interval(
    values: Sequence[float], level: float = LEVEL, *, fewest: int = FEWEST
) -> tuple[float, float | None, float | None]:
    """Mean of independent values with its t-interval; None with fewer than `fewest` (2 at least), unless all are alike.

    Sums are exactly rounded (math.fsum), so no order and no processor changes a bit. Raises ValueError for no values.
    """
    n = len(values)
    if n == 0:
        raise ValueError("no values, no mean")
    mean = math.fsum(values) / n
    if n < fewest and (n == 1 or min(values) != max(values)):
        return mean, None, None
    variance = math.fsum((value - mean) ** 2 for value in values) / (n - 1)
    half = t_quantile(0.5 + level / 2.0, n - 1) * math.sqrt(variance / n)
    return mean, mean - half, mean + half


def skewed_interval(values: Sequence[float], level: float = LEVEL) -> tuple[float, float | None, float | None]:
    """Mean of independent values with a range that holds where they are skewed: never narrower than the t-interval.

    None as of `mean_interval`. Raises ValueError for no values.
    """
    mean, low, high = mean_interval(values, level)
    n = len(values)
    if low is None or high is None or high == low:
        return mean, low, high
    parts = [(value - mean) / n for value in values]
    error = math.sqrt(math.fsum(part * part for part in parts) * n / (n - 1))
    far_low, far_high = _outer(mean, error, leaning(parts, error), n - 1, level)
    return mean, min(low, far_low), max(high, far_high)


def leaning(parts: Sequence[float], error: float) -> float:
    """Skewness of a mean whose error is made of these parts, one a year: for a plain mean (value - mean) / n, and then
    it is the values' skewness (G1 of Joanes & Gill 1998, from memory) over the root of n. error: its standard error."""
    n = len(parts)
    return n * n / ((n - 1) * (n - 2)) * math.fsum((part / error) ** 3 for part in parts)


def _outer(mean: float, error: float, lean: float, freedom: int, level: float) -> tuple[float, float]:
    """Ends of the range of a mean: of t, or of t corrected for skewness where that lies further out."""
    t = t_quantile(0.5 + level / 2.0, freedom)
    low, high = mean - t * error, mean + t * error
    if abs(lean) < _STRAIGHT:
        return low, high
    return min(low, mean - _hall(t, lean) * error), max(high, mean - _hall(-t, lean) * error)


def _hall(t: float, lean: float) -> float:
    """The value of (estimate - mean) / error that Hall's monotone cubic turns into t. lean: skewness / root of n."""
    inside = 1.0 + lean * (t - lean / 6.0)
    return 3.0 / lean * (math.cbrt(inside) - 1.0)


def controlled_interval(
    values: Sequence[float], controls: Controls | None, level: float = LEVEL, *, worth_it: float = WORTH_IT
) -> tuple[float, float | None, float | None, float]:
    """Mean, its range, and what a year is worth in plain years: with known luck taken out where that pays.

    It pays where a year is worth 2 or more (worth_it). Below, what it saves is less than what it costs to explain; and
    looking for the narrower range would cost coverage (the tests see how much).
    """
    found = None if controls is None else controls.mean_of(values)
    if found is None or found.worth < worth_it or len(values) < FEWEST:
        return *skewed_interval(values, level), 1.0
    lean = leaning(found.parts, found.error) if found.error > 0.0 else 0.0
    return found.mean, *_outer(found.mean, found.error, lean, found.freedom, level), found.worth


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


def summarize(
    outcomes: Sequence[Outcome],
    luck: Mapping[str, Sequence[float]] | None = None,
    *,
    never: Container[str] = (),
) -> dict[str, Estimate]:
    """Every figure of the catalogue that exists in at least one outcome, in the catalogue's order.

    luck: see `known_luck`; taken out of the means (not of the p10 to p90) where the years are enough for it: of a whole
    and its parts alike, or of none, so that they add up. never: figures that are 0 because they cannot happen.
    """
    estimates: dict[str, Estimate] = {}
    known = KnownControls(luck or {}, len(outcomes))
    having = {key: [i for i, outcome in enumerate(outcomes) if key in outcome.measures] for key in CATALOGUE}
    values = {key: [outcomes[i].measures[key] for i in years] for key, years in having.items() if years}
    controls = {key: known.of(having[key]) for key in values}
    worth_it = dict.fromkeys(values, WORTH_IT)
    for whole in {figure.whole for figure in CATALOGUE.values() if figure.whole in values}:
        members = [key for key in values if CATALOGUE[key].whole == whole]
        worth_it.update(dict.fromkeys(members, 0.0 if _alike(members, whole, values, controls) else math.inf))
    for key, of_years in values.items():
        figure = CATALOGUE[key]
        mean, low, high, worth = controlled_interval(of_years, controls[key], worth_it=worth_it[key])
        low, high = _within(figure, of_years, low, high)
        unseen = "" if figure.hangs_on in never or any(values.get(figure.hangs_on, (1.0,))) else figure.hangs_on
        weeks = [value for i in having[key] for value in outcomes[i].weeks.get(figure.weekly, ())]
        p10, p50, p90 = quantiles(weeks or of_years, (0.1, 0.5, 0.9))
        estimates[key] = Estimate(
            key=key,
            mean=mean,
            mean_low=low,
            mean_high=None if unseen else high,
            p10=p10,
            p50=p50,
            p90=p90,
            n=len(of_years),
            of="one week" if weeks else "one year",
            worth=worth,
            unseen=unseen,
        )
    return estimates


def weights_of_years(
    outcomes: Sequence[Outcome], luck: Mapping[str, Sequence[float]], estimates: Mapping[str, Estimate]
) -> tuple[float, ...]:
    """What each year weighs in the means of the greens handed out and their parts: with known luck taken out of these,
    so that what a report shows by crop, partner or month adds up to them; () where all weigh alike."""
    whole = estimates.get(KG_WHOLE)
    controls = KnownControls(luck, len(outcomes)).of(range(len(outcomes)))
    return () if controls is None or whole is None or whole.worth < WORTH_IT else controls.of_years


def _alike(
    members: Sequence[str],
    whole: str,
    values: Mapping[str, Sequence[float]],
    controls: Mapping[str, Controls | None],
) -> bool:
    """Whether known luck is taken out of a whole and its parts: where it pays for the whole, and no part becomes less
    than nothing. They all exist in the same years, or would not add up."""
    known = controls.get(whole)
    if known is None or len({len(values[key]) for key in members}) > 1 or known.mean_of(values[whole]).worth < WORTH_IT:
        return False
    return all(known.mean_of(values[key]).mean >= 0.0 for key in members)


def _within(
    figure: Measure, values: Sequence[float], low: float | None, high: float | None
) -> tuple[float | None, float | None]:
    """A range within what can be. A share that was 0 or 1 in every year may be anything in a few (rule of three)."""
    if low is None or high is None:
        return low, high
    if figure.unit == "fraction":
        few = min(1.0, RULE_OF_THREE / len(values))
        low = min(low, 1.0 - few) if min(values) >= 1.0 else low
        high = max(high, few) if max(values) <= 0.0 else high
    return max(low, _lowest(figure)), min(high, _highest(figure))


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
