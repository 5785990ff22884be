"""Streams of luck: named, order-free, even, and switched off when asked."""

from __future__ import annotations

import itertools
import math

from scipy import stats

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.scenario.uncertain import Uncertain


def first(seed: int, replication: int, name: str, count: int = 20) -> list[float]:
    """The first uniforms of a stream."""
    stream = Luck(seed, replication).stream(name)
    return [stream.random() for _ in range(count)]


def test_a_stream_is_its_name() -> None:
    """The same seed, replication and name give the same luck, whatever was opened or drawn in between."""
    luck = Luck(5, 2)
    alone = first(5, 2, "lot.a")
    luck.stream("lot.b").random()
    between = luck.stream("lot.a")
    mixed = []
    for _ in range(20):
        mixed.append(between.random())
        luck.stream("lot.c").random()

    assert mixed == alone


def test_other_keys_other_luck() -> None:
    """Seed, replication and name each make a difference, also where they spell the same in a row."""
    keys = [(5, 2, "a"), (6, 2, "a"), (5, 3, "a"), (5, 2, "b"), (52, 0, "a"), (5, 20, "a"), (5, 2, "a/"), (5, 2, "0/a")]
    streams = [first(*key) for key in keys]

    assert all(not set(one) & set(other) for one, other in itertools.combinations(streams, 2))


def test_luck_is_even_along_a_stream_and_across_streams() -> None:
    """Kolmogorov-Smirnov against the uniform (scipy.stats.kstest), one long stream and the n-th draw of many."""
    assert stats.kstest(first(1, 0, "long", 5000), "uniform").pvalue > 0.01
    for place in range(6):
        across = [first(1, 0, f"machine.{i}", place + 1)[place] for i in range(2000)]
        assert stats.kstest(across, "uniform").pvalue > 0.01


def test_draws_of_a_stream_and_of_neighbors_are_unrelated() -> None:
    """Rank correlation (scipy.stats.spearmanr) of one draw with the next, of neighboring names, replications."""
    long = first(9, 0, "long", 4001)
    by_name = [first(9, 0, f"lot.{i}", 1)[0] for i in range(2001)]
    by_replication = [first(9, i, "lot", 1)[0] for i in range(2001)]

    for series in (long, by_name, by_replication):
        assert abs(stats.spearmanr(series[:-1], series[1:]).statistic) < 3.3 / len(series) ** 0.5


def test_uniforms_lie_in_the_half_open_unit() -> None:
    """Never 1, so that no logarithm of 0 can be asked for; no two alike in 20,000."""
    drawn = first(4, 4, "many", 20_000)

    assert min(drawn) >= 0.0
    assert max(drawn) < 1.0
    assert len(set(drawn)) == len(drawn)


def test_lot_factors_have_mean_one() -> None:
    """A lognormal factor of mean 1 and 4 % spread: scipy.stats.lognorm, by Kolmogorov-Smirnov; deviates are normal."""
    sigma = math.sqrt(math.log1p(0.04**2))
    factors = [Luck(8, i).stream("growth").factor(0.04) for i in range(2000)]
    deviations = [Luck(8, i).stream("person").deviation() for i in range(2000)]

    assert stats.kstest(factors, stats.lognorm(sigma, scale=math.exp(-(sigma**2) / 2)).cdf).pvalue > 0.01
    assert stats.kstest(deviations, "norm").pvalue > 0.01
    assert Luck(8, 0).stream("growth").factor(0.0) == 1.0


def test_luck_switched_off_gives_the_plan() -> None:
    """Means, halves rounded up, no failures: the plan on paper."""
    luck = FixedLuck()
    stream = luck.stream("anything")

    assert luck.is_switched_off
    assert not Luck(1, 1).is_switched_off
    assert [stream.binomial(10, p) for p in (0.0, 0.04, 0.05, 0.449, 0.45, 1.0)] == [0, 0, 1, 4, 5, 10]
    assert stream.figure(Uncertain(distribution="range", low=1, likely=2, high=6)) == 3.0
    assert stream.figure(Uncertain(distribution="weibull", mean=900, shape=2)) == 900
    assert (stream.beta(0.8, 0.1), stream.factor(0.3), stream.deviation(), stream.random()) == (0.8, 1.0, 0.0, 0.5)
    assert luck.stream("other").random() == 0.5
