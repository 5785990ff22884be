"""Draws against SciPy's distributions (scipy.stats), which shares no code with ours."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from growsim.chance import draws
from growsim.chance.streams import Luck
from growsim.scenario.uncertain import Uncertain

SOME_LUCK = st.integers(2**20, 2**53 - 2**20).map(lambda k: k * 2.0**-53)  # a stream's uniforms but for the far ends
CHANCES = (0.0, 0.001, 0.03, 0.3, 0.5, 0.500001, 0.85, 0.999, 1.0)
UNIFORMS = (0.0, 1e-9, 0.013, 0.25, 0.4999, 0.5, 0.77, 0.99, 1.0 - 1e-9, 1.0 - 2.0**-53)


class Given:
    """A stream whose uniforms are given."""

    def __init__(self, uniforms: Sequence[float]) -> None:
        self.left = list(uniforms)

    def random(self) -> float:
        """The next."""
        return self.left.pop(0)

    def betavariate(self, alpha: float, beta: float) -> float:
        """Never asked for here."""
        raise AssertionError


@pytest.mark.parametrize("n", [0, 1, 2, 7, 60, 499, 500])
@pytest.mark.parametrize("p", CHANCES)
def test_a_count_is_the_quantile_of_the_binomial(n: int, p: float) -> None:
    """scipy.stats.binom.ppf: the smallest k with P(X <= k) >= u. The u given lie on no step of the distribution."""
    for u in (1e-9, 0.013, 0.2517, 0.4999, 0.77, 0.99, 0.999999):
        assert draws.binomial_quantile(u, n, p) == int(stats.binom.ppf(u, n, p))


@given(SOME_LUCK, st.integers(0, 500), st.floats(0, 1))
@settings(max_examples=150, deadline=None)
def test_a_count_is_reached_and_not_before(u: float, n: int, p: float) -> None:
    """P(X <= k) is at least u and P(X < k) at most u, by SciPy's own sums, up to the last digits of a sum."""
    k = draws.binomial_quantile(u, n, p)

    assert 0 <= k <= n
    assert stats.binom.cdf(k, n, p) >= u - 1e-12
    assert stats.binom.cdf(k - 1, n, p) <= u + 1e-12


@given(st.integers(0, 500), st.tuples(st.floats(0, 1), st.floats(0, 1)), SOME_LUCK)
@settings(max_examples=150, deadline=None)
def test_a_better_chance_never_gives_fewer(n: int, chances: tuple[float, float], u: float) -> None:
    """Two alternatives that share a stream: more chance, more tries or more luck give at least as many."""
    low, high = sorted(chances)

    assert draws.binomial_quantile(u, n, low) <= draws.binomial_quantile(u, n, high)
    assert draws.binomial_quantile(u, n, low) <= draws.binomial_quantile(u, n + 1, low)
    assert draws.binomial_quantile(u / 2, n, low) <= draws.binomial_quantile(u, n, low)


def test_a_large_count_is_drawn_in_pieces() -> None:
    """1,200 tries are 500, 500 and 200, one uniform each, whatever the chance."""
    for p in (0.0, 0.3, 1.0):
        stream = Given([0.2, 0.6, 0.9, 0.123])
        whole = draws.binomial(stream, 1200, p)

        assert stream.left == [0.123]
        assert whole == sum(int(stats.binom.ppf(u, n, p)) for u, n in ((0.2, 500), (0.6, 500), (0.9, 200))) * (p > 0)


@pytest.mark.parametrize(("n", "p"), [(-1, 0.5), (3, -0.1), (3, 1.1), (3, math.nan)])
def test_no_count_of_impossible_tries(n: int, p: float) -> None:
    """Fewer than no tries, or a chance that is none, is refused."""
    with pytest.raises(ValueError, match="binomial needs"):
        draws.binomial(Given([0.5]), n, p)


@pytest.mark.parametrize("u", UNIFORMS)
def test_quantiles_of_named_families(u: float) -> None:
    """Lognormal, triangular, exponential, Weibull, normal, uniform: scipy.stats' ppf with the same mean and spread."""
    sigma = math.sqrt(math.log(1 + 0.5**2))
    inside = min(max(u, 1e-15), 1 - 1e-15)  # the normal quantile is taken a hair inside 0 and 1
    scale = 900 / math.gamma(1 + 1 / 1.3)

    def drawn(**keys: object) -> float:
        return draws.draw(Uncertain.model_validate(keys), Given([u]))

    assert drawn(distribution="lognormal", mean=4, sd=2) == pytest.approx(
        stats.lognorm.ppf(inside, sigma, scale=4 * math.exp(-(sigma**2) / 2)), rel=1e-6
    )
    assert drawn(low=2, likely=3, high=8) == pytest.approx(stats.triang.ppf(u, 1 / 6, loc=2, scale=6), rel=1e-9)
    assert drawn(distribution="exponential", mean=900) == pytest.approx(stats.expon.ppf(u, scale=900), rel=1e-6)
    assert drawn(distribution="weibull", mean=900, shape=1.3) == pytest.approx(
        stats.weibull_min.ppf(u, 1.3, scale=scale), rel=1e-6
    )
    assert drawn(distribution="normal", mean=5, sd=2) == pytest.approx(stats.norm.ppf(inside, 5, 2), rel=1e-6)
    assert drawn(distribution="uniform", low=5, high=7) == pytest.approx(stats.uniform.ppf(u, 5, 2), rel=1e-12)


@pytest.mark.parametrize(("low", "likely", "high"), [(2, 2, 8), (2, 8, 8), (5, 5, 5)])
def test_triangles_with_a_wall_or_of_one_point(low: float, likely: float, high: float) -> None:
    """The most likely value may be the lowest, the highest or the only one."""
    for u in (0.0, 0.3, 0.999):
        found = draws.triangular(u, low, likely, high)
        expected = stats.triang.ppf(u, (likely - low) / (high - low), low, high - low) if high > low else low

        assert found == pytest.approx(expected, rel=1e-12)


def test_draws_are_cut_at_their_limits() -> None:
    """A normal figure kept within 4 and 6: what would lie outside is set to the limit."""
    figure = Uncertain.model_validate({"distribution": "normal", "mean": 5, "sd": 2, "at_least": 4, "at_most": 6})

    assert [draws.draw(figure, Given([u])) for u in (0.01, 0.5, 0.99)] == [4, 5, 6]


def test_a_fixed_figure_draws_nothing() -> None:
    """A number without doubt uses no luck at all."""
    assert draws.draw(Uncertain(value=3.5), Given([])) == 3.5


def test_shares_follow_the_beta_distribution() -> None:
    """Kolmogorov-Smirnov against scipy.stats.beta with the same mean and sd: mean 0.85, sd 0.04 and a wide one."""
    for mean, sd in ((0.85, 0.04), (0.3, 0.35)):
        size = mean * (1 - mean) / sd**2 - 1
        sample = [Luck(3, i).stream("share").beta(mean, sd) for i in range(2000)]

        assert stats.kstest(sample, stats.beta(mean * size, (1 - mean) * size).cdf).pvalue > 0.01


def test_shares_without_spread_or_with_too_much() -> None:
    """No spread gives the mean; a spread that no share can have is narrowed to one it can."""
    stream = Luck(1, 1).stream("share")

    assert stream.beta(0.4, 0.0) == 0.4
    assert (stream.beta(0.0, 0.1), stream.beta(1.0, 0.1)) == (0.0, 1.0)
    assert all(0.0 <= stream.beta(0.5, 3.0) <= 1.0 for _ in range(50))


def test_seeds_of_many_lots_are_beta_binomial() -> None:
    """Seeds that germinate, lot by lot: scipy.stats.betabinom, by a chi-square test over its outcomes.

    60 seeds a lot, 85 % on average, 5 % spread from lot to lot; 3,000 lots. A plain binomial fails the same test.
    """
    mean, sd, seeds, lots = 0.85, 0.05, 60, 3000
    size = mean * (1 - mean) / sd**2 - 1
    came_up = [0] * (seeds + 1)
    for lot in range(lots):
        stream = Luck(11, 0).stream(f"lot.{lot}")
        came_up[stream.binomial(seeds, stream.beta(mean, sd))] += 1

    right = _chance_of_counts(came_up, stats.betabinom(seeds, mean * size, (1 - mean) * size), lots)
    wrong = _chance_of_counts(came_up, stats.binom(seeds, mean), lots)

    assert right > 0.01
    assert wrong < 1e-9


def _chance_of_counts(counts: list[int], law: object, total: int) -> float:
    """p-value of a chi-square test, outcomes pooled until each expects 10 lots or more."""
    seen, expected = [0.0], [0.0]
    for outcome, count in enumerate(counts):
        seen[-1] += count
        expected[-1] += law.pmf(outcome) * total  # type: ignore[attr-defined]
        if expected[-1] >= 10:
            seen.append(0.0)
            expected.append(0.0)
    rest_seen, rest_expected = seen.pop(), expected.pop()
    seen[-1] += rest_seen
    expected[-1] += rest_expected
    return float(stats.chisquare(seen, [value * sum(seen) / sum(expected) for value in expected]).pvalue)
