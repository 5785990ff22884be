"""The arithmetic of learning against closed forms and reference distributions.

References: scipy.stats (beta, betabinom, gamma, t); conjugate updates as in Gelman et al. 2013, *Bayesian Data
Analysis* (from memory), written out again here.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from growsim.scenario.uncertain import Uncertain
from growsim.study.job_minutes import moments
from growsim.study.learn.learned import pinball
from growsim.study.learn.machines import PRIOR_FAILURES, learn_life
from growsim.study.learn.minutes import PRIOR_FREEDOM, PRIOR_RECORDS, learn_log_mean
from growsim.study.learn.prior import Prior, prior_of
from growsim.study.learn.shares import Hits, learn_share


def test_without_spread_it_is_the_conjugate_beta() -> None:
    """Hits and misses added to the prior's: beta(a + hits, b + misses)."""
    rows = [Hits(72, hits) for hits in (60, 66, 63, 70, 58, 61)]
    size = 0.85 * 0.15 / 0.04**2 - 1
    exact = stats.beta(0.85 * size + sum(r.hits for r in rows), 0.15 * size + sum(r.trials - r.hits for r in rows))

    found = learn_share(rows, Prior(0.85, 0.04, 1.0), 0.0)

    assert found.mean.mean == pytest.approx(exact.mean(), abs=0.003)
    assert found.mean.low == pytest.approx(exact.ppf(0.1), abs=0.01)
    assert found.mean.high == pytest.approx(exact.ppf(0.9), abs=0.01)


def test_with_spread_it_is_the_beta_binomial() -> None:
    """The likelihood of the mean, at the spread found, is scipy's beta-binomial; the posterior follows it."""
    rng = np.random.default_rng(5)
    spread, prior_sd = 0.08, 0.06
    own = rng.beta(0.8 * (0.16 / spread**2 - 1), 0.2 * (0.16 / spread**2 - 1), 60)
    rows = [Hits(60, int(rng.binomial(60, p))) for p in own]
    found = learn_share(rows, Prior(0.75, prior_sd, 1.0), spread)

    means = np.linspace(0.6, 0.95, 400)
    at = found.spread.middle
    size = means * (1 - means) / at**2 - 1
    log_likelihood = sum(stats.betabinom.logpmf(r.hits, r.trials, means * size, (1 - means) * size) for r in rows)
    prior_size = 0.75 * 0.25 / prior_sd**2 - 1
    logs = log_likelihood + stats.beta.logpdf(means, 0.75 * prior_size, 0.25 * prior_size)
    weights = np.exp(logs - logs.max())
    exact = float((means * weights).sum() / weights.sum())

    assert found.mean.mean == pytest.approx(exact, abs=0.002)
    assert 0.06 < found.spread.middle < 0.1


def test_more_seeds_a_cell_are_cleared_away() -> None:
    """With two seeds a cell and p = 0.6, 84 of 100 cells are filled; what is learned is 0.6."""
    rows = [Hits(100, 84, tries=2)] * 40

    assert learn_share(rows, Prior(0.7, 0.1, 1.0), 0.02).mean.middle == pytest.approx(0.6, abs=0.01)


def test_no_rows_leave_the_prior_as_it_was() -> None:
    """Mean and range are the prior's."""
    found = learn_share([], Prior(0.9, 0.03, 1.0), 0.04)

    assert found.mean.mean == pytest.approx(0.9, abs=0.002)
    assert (found.mean.low, found.mean.high) == pytest.approx((found.before.low, found.before.high), abs=0.004)


def test_normal_inverse_gamma_by_numerical_integration() -> None:
    """The mean's posterior is Student's t: density by integrating the variance out by brute force agrees."""
    logs, before, spread = [0.2, 0.5, 0.1, 0.4, 0.3], 0.0, 0.25
    found = learn_log_mean(logs, before, spread)

    def density(mean: float) -> float:
        def joint(variance: float) -> float:
            likelihood = np.prod(stats.norm.pdf(logs, mean, math.sqrt(variance)))
            prior_mean = stats.norm.pdf(mean, before, math.sqrt(variance / PRIOR_RECORDS))
            prior = stats.invgamma.pdf(variance, PRIOR_FREEDOM / 2, scale=PRIOR_FREEDOM * spread**2 / 2)
            return float(likelihood * prior_mean * prior)

        return float(integrate.quad(joint, 1e-5, 2.0, limit=200)[0])

    student = stats.t(found.freedom, found.mean, found.sd)
    at = [found.mean - 0.1, found.mean, found.mean + 0.15]
    ratios = [density(x) / student.pdf(x) for x in at]

    assert ratios == pytest.approx([ratios[0]] * 3, rel=2e-3)


def test_gamma_exponential_with_censoring() -> None:
    """n failures in T hours: gamma(a + n, b + T) on the rate, whoever ran the hours, ended or not."""
    seen = [(120.0, True), (300.0, True), (500.0, False), (80.0, True)]
    found = learn_life(seen, 400.0, 1.0)
    b = stats.gamma.median(PRIOR_FAILURES) * 400.0
    rate = stats.gamma(PRIOR_FAILURES + 3, scale=1 / (b + 1000.0))

    assert (found.failures, found.running_hours) == (3, 1000.0)
    assert found.after.low == pytest.approx(1 / rate.ppf(0.9))
    assert found.after.middle == pytest.approx(1 / rate.median())
    assert found.after.high == pytest.approx(1 / rate.ppf(0.1))
    assert found.before.middle == pytest.approx(400.0)


def test_censored_hours_make_lives_longer_than_failures_alone() -> None:
    """Counting only the machines that failed would make them look worse."""
    failed = [(100.0, True), (150.0, True)]

    assert learn_life([*failed, (900.0, False)], 300.0, 1.3).after.middle > learn_life(failed, 300.0, 1.3).after.middle


def test_many_weibull_lives_give_their_mean_back() -> None:
    """Shape 1.5, mean 700: learned from 400 lives, a third of them cut short."""
    rng = np.random.default_rng(3)
    lives = 700 / math.gamma(1 + 1 / 1.5) * rng.weibull(1.5, 400)
    seen = [(min(life, 900.0), life <= 900.0) for life in lives]
    found = learn_life(seen, 300.0, 1.5)

    assert found.after.q025 < 700 < found.after.q975
    assert found.after.sd < 35


@pytest.mark.parametrize(
    ("figure", "reference"),
    [
        (Uncertain(distribution="range", low=1, likely=2, high=6), stats.triang(0.2, 1, 5)),
        (Uncertain(distribution="uniform", low=1, high=3), stats.uniform(1, 2)),
        (Uncertain(distribution="exponential", mean=4), stats.expon(scale=4)),
        (
            Uncertain(distribution="weibull", mean=math.gamma(1 + 1 / 1.7) * 5, shape=1.7),
            stats.weibull_min(1.7, scale=5),
        ),
    ],
)
def test_moments_are_scipys(figure: Uncertain, reference: object) -> None:
    """Mean and standard deviation of every family that does not state them."""
    assert moments(figure) == pytest.approx((reference.mean(), reference.std()))  # type: ignore[attr-defined]


def test_what_a_room_file_says_counts_for_no_more_than_two_records() -> None:
    """A narrow range is widened, a wide one half again; a named distribution is taken at its word."""
    narrow = prior_of(Uncertain(distribution="range", low=0.899, likely=0.9, high=0.901), 0.05, 0.1)
    wide = prior_of(Uncertain(distribution="range", low=0.6, likely=0.9, high=0.95), 0.05, 0.1)
    named = prior_of(Uncertain(distribution="beta", mean=0.9, sd=0.005), 0.05, 0.1)
    bare = prior_of(Uncertain(value=0.9), 0.05, 0.1)

    assert narrow.weight == pytest.approx(2.0)
    assert wide.sd == pytest.approx(1.5 * stats.triang(0.3 / 0.35, 0.6, 0.35).std())
    assert named.weight == pytest.approx(100.0)
    assert (bare.sd, bare.weight) == pytest.approx((0.1, 0.25))


def test_pinball_by_hand() -> None:
    """Forecast 8, 10, 14; 12 came: 0.1 x 4, 0.5 x 2, 0.1 x 2, their mean."""
    assert pinball(12.0, (8.0, 10.0, 14.0)) == pytest.approx((0.4 + 1.0 + 0.2) / 3)
    assert pinball(10.0, (10.0, 10.0, 10.0)) == 0.0
