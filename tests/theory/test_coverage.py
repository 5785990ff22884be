"""Do the 95 % ranges hold what they promise? Each test could fail in both directions: too narrow and too wide."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval, paired_differences, proportion_interval

TRIALS = 2000


def _covered(draw: Callable[[np.random.Generator], Sequence[float]], truth: float) -> float:
    luck = np.random.default_rng(20)
    hits = 0
    for _ in range(TRIALS):
        _, low, high = mean_interval(draw(luck))
        assert low is not None
        assert high is not None
        hits += low <= truth <= high
    return hits / TRIALS


def _slack(chance: float) -> float:
    """Four standard errors of a share out of TRIALS."""
    return 4 * math.sqrt(chance * (1 - chance) / TRIALS)


@pytest.mark.parametrize("n", [5, 30])
def test_the_mean_of_normal_years_is_covered_95_times_in_100(n: int) -> None:
    """Exact for normal data. Source: Student 1908 (textbook theory, from memory)."""
    share = _covered(lambda luck: [float(value) for value in luck.normal(10.0, 3.0, n)], 10.0)

    assert abs(share - 0.95) < _slack(0.95)


def test_the_mean_of_skewed_years_is_nearly_covered() -> None:
    """Exponential data, n = 60: a little under 95 %, as skewness costs.

    Source: first Edgeworth term of the t-interval, Hall 1988 (from memory): the shortfall is of the order of 1/n; here
    it must lie between 0 and 2 points.
    """
    share = _covered(lambda luck: [float(value) for value in luck.exponential(2.0, 60)], 2.0)

    assert 0.93 - _slack(0.93) < share < 0.95 + _slack(0.95)


@pytest.mark.parametrize("correlation", [0.0, 0.9])
def test_all_differences_of_a_comparison_are_covered_together(correlation: float) -> None:
    """Two alternatives, three figures: at least 95 % of comparisons have all six right, and not nearly all of them.

    Source: Bonferroni's inequality (NIST/SEMATECH e-Handbook 7.4.7.3): at least 1 - alpha, whatever the dependence.
    """
    keys = ("kg_packed_per_week", "kwh_per_kg", "cost_per_kg")
    luck = np.random.default_rng(21)
    trials = 600
    together = 0
    for _ in range(trials):
        shared = luck.normal(size=(20, 1))
        noise = math.sqrt(correlation) * shared + math.sqrt(1 - correlation) * luck.normal(size=(20, 9))
        today = _outcomes(noise[:, :3], keys)
        found = paired_differences(
            today, {"a": _outcomes(1 + noise[:, 3:6], keys), "b": _outcomes(1 + noise[:, 6:], keys)}, keys
        )
        together += all(
            difference.low is not None and difference.high is not None and difference.low <= 1.0 <= difference.high
            for differences in found.values()
            for difference in differences.values()
        )

    share = together / trials
    assert share > 0.95 - 4 * math.sqrt(0.95 * 0.05 / trials)
    assert share < 0.995


def test_wilson_covers_a_rare_share_better_than_the_plain_formula() -> None:
    """Chance 0.05, n = 40: Wilson holds near 95 % where share +- 1.96 standard errors falls under 90 %.

    Source: Brown, Cai & DasGupta 2001, Interval estimation for a binomial proportion (from memory); coverage is summed
    exactly over the binomial distribution, not sampled.
    """
    chance, n = 0.05, 40
    wilson = plain = 0.0
    for hits in range(n + 1):
        weight = math.comb(n, hits) * chance**hits * (1 - chance) ** (n - hits)
        found = proportion_interval(hits, n)
        half = 1.96 * math.sqrt(hits / n * (1 - hits / n) / n)
        wilson += weight * (found.low <= chance <= found.high)
        plain += weight * (abs(hits / n - chance) <= half)

    assert 0.93 < wilson < 0.97
    assert plain < 0.90


def _outcomes(table: np.ndarray, keys: Sequence[str]) -> list[Outcome]:
    return [
        Outcome(i, dict(zip(keys, map(float, row), strict=True)), weeks={}, fates={}, accounts={})
        for i, row in enumerate(table)
    ]
