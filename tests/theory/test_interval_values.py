"""Ranges against published examples and a reference library (scipy, numpy)."""

from __future__ import annotations

import numpy as np
import pytest
from checks_table import PublishedChecks
from scipy import stats

from growsim.run.intervals import mean_interval, proportion_interval, quantiles, t_quantile


def test_the_range_of_a_mean_is_the_textbooks(published_check: PublishedChecks) -> None:
    """Mean 1.34, half-width 0.24 at 90 %.

    Source: Law, Simulation Modeling and Analysis, 5th ed. 2013, Example 4.27 (as printed, two decimals).
    """
    values = [1.20, 1.50, 1.68, 1.89, 0.95, 1.49, 1.58, 1.55, 0.50, 1.09]
    mean, low, high = mean_interval(values, level=0.90)

    assert low is not None
    assert high is not None
    published_check.table(
        "mean of ten values and 90 % half-width", "Law 2013, Example 4.27", (1.34, 0.24), (mean, (high - low) / 2),
        checks=mean_interval, within=5e-3,
    )  # fmt: skip


@pytest.mark.parametrize("n", [2, 3, 10, 60])
@pytest.mark.parametrize("level", [0.90, 0.95, 0.999])
def test_the_range_of_a_mean_is_the_reference_librarys(n: int, level: float) -> None:
    """Source: scipy.stats.t.interval as the reference. Our quantile is rounded to nine figures."""
    values = np.random.default_rng(n).gamma(2.0, 3.0, n)
    expected = stats.t.interval(level, n - 1, loc=values.mean(), scale=stats.sem(values))

    assert mean_interval(list(values), level, fewest=2)[1:] == pytest.approx(expected, rel=1e-8)


def test_bonferroni_multiplier_is_the_printed_one(published_check: PublishedChecks) -> None:
    """Six comparisons at 95 %, 198 degrees of freedom: 2.665.

    Source: Penn State STAT 505, section 7.2.4 (Swiss bank notes), as printed.
    """
    published_check(
        "multiplier of six ranges at once, 198 degrees of freedom", "Penn State STAT 505, 7.2.4", 2.665,
        t_quantile(1 - 0.05 / (2 * 6), 198), checks=t_quantile, within=5e-4,
    )  # fmt: skip


@pytest.mark.parametrize(("hits", "n"), [(0, 10), (1, 10), (4, 20), (26, 200), (59, 60), (60, 60)])
@pytest.mark.parametrize("level", [0.90, 0.95])
def test_a_shares_range_is_wilsons(hits: int, n: int, level: float) -> None:
    """Source: scipy.stats.binomtest.proportion_ci(method="wilson") as the reference."""
    expected = stats.binomtest(hits, n).proportion_ci(confidence_level=level, method="wilson")
    found = proportion_interval(hits, n, level)

    assert (found.low, found.high) == pytest.approx((expected.low, expected.high), abs=1e-12)
    assert (found.share, found.n) == (hits / n, n)


@pytest.mark.parametrize("n", [1, 2, 9, 52, 3120])
def test_quantiles_are_the_reference_librarys(n: int) -> None:
    """Source: numpy.percentile's default (type 7 of Hyndman & Fan 1996) as the reference."""
    values = np.random.default_rng(n).lognormal(1.0, 0.6, n)

    assert quantiles(list(values), (0.1, 0.5, 0.9)) == pytest.approx(np.percentile(values, [10, 50, 90]), rel=1e-12)
