"""Luck at its edges: the very numbers of a stream, ties, nothing to draw, spreads of zero."""

from __future__ import annotations

import math
from hashlib import blake2b

import pytest

from growsim.chance import draws
from growsim.chance.streams import Luck
from growsim.scenario.uncertain import Uncertain


def words(digest: bytes) -> list[float]:
    """A hash as uniforms, last word first: 53 bits of each eight bytes, low byte first."""
    found = [int.from_bytes(digest[at : at + 8], "little") >> 11 for at in range(0, len(digest), 8)]
    return [word / 2**53 for word in reversed(found)]


def test_a_stream_is_the_hash_of_its_name_counted_on() -> None:
    """Written out with hashlib: other numbers here would change every report ever made from a seed."""
    key = blake2b(b"7/3/lot.a", digest_size=32).digest()
    blocks = [blake2b(block.to_bytes(8, "little"), key=key).digest() for block in range(3)]
    stream = Luck(7, 3).stream("lot.a")

    assert [stream.random() for _ in range(28)] == words(key) + [u for block in blocks for u in words(block)]


class OneUniform:
    """A stream of one uniform."""

    def __init__(self, u: float) -> None:
        self.left = [u]

    def random(self) -> float:
        """The uniform, once."""
        return self.left.pop()

    def betavariate(self, alpha: float, beta: float) -> float:
        """Never asked for here."""
        raise AssertionError


@pytest.mark.parametrize(
    ("u", "n", "p", "count"),
    [
        (0.5, 1, 0.5, 1),  # P(0) = 1/2 is not above u
        (0.25, 2, 0.5, 1),
        (0.0625, 2, 0.75, 1),  # P(0) = 1/16
        (0.4375, 2, 0.75, 2),  # P(at most 1) = 7/16
        (0.0, 2, 0.25, 0),
        (0.5625, 2, 0.25, 1),  # P(0) = 9/16
    ],
)
def test_luck_that_falls_on_a_step_counts_upwards(u: float, n: int, p: float, count: int) -> None:
    """The smallest count whose chance, summed up to it, lies above the luck; exact in binary fractions."""
    assert draws.binomial_quantile(u, n, p) == count


def test_the_best_luck_there_is_never_counts_more_than_there_are() -> None:
    """Sums of chances may stop a hair short of one."""
    best = 1.0 - 2.0**-53

    assert all(draws.binomial_quantile(best, n, p / 100) <= n for n in (1, 9, 60) for p in range(1, 100))


def test_certainties_need_no_sum() -> None:
    """Chances of zero and one, no tries, one try."""
    assert [draws.binomial_quantile(0.5, 5, p) for p in (0.0, 1.0)] == [0, 5]
    assert draws.binomial_quantile(0.999, 0, 0.5) == 0
    nothing = OneUniform(0.9)
    assert draws.binomial(nothing, 0, 0.5) == 0
    assert nothing.left == [0.9]
    assert draws.binomial(OneUniform(0.9), 1, 0.5) == 1


def test_a_figure_is_drawn_from_its_own_stream() -> None:
    """A share in doubt is what the stream's beta gives; so is every family, by the stream's own uniform."""
    share = Uncertain.model_validate({"distribution": "beta", "mean": 0.7, "sd": 0.1})
    length = Uncertain.model_validate({"distribution": "exponential", "mean": 3.0})

    assert Luck(1, 2).stream("a").figure(share) == Luck(1, 2).stream("a").beta(0.7, 0.1)
    assert 0.5 < Luck(1, 2).stream("a").figure(share) < 0.95
    assert Luck(1, 2).stream("a").figure(length) == -3.0 * math.log1p(-Luck(1, 2).stream("a").random())


@pytest.mark.parametrize("family", ["normal", "lognormal"])
def test_a_figure_without_spread_is_its_mean(family: str) -> None:
    """A spread of zero leaves no doubt; a spread of one does."""
    fixed = Uncertain.model_validate({"distribution": family, "mean": 4.0, "sd": 0.0})
    wide = Uncertain.model_validate({"distribution": family, "mean": 4.0, "sd": 1.0})

    assert draws.draw(fixed, OneUniform(0.9)) == 4.0
    assert draws.draw(wide, OneUniform(0.9)) > 4.5
