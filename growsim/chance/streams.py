"""Luck with a name: (seed, replication, name) is the whole key; order of opening and number of workers cannot matter.

Uniforms come from BLAKE2b in counter mode, not from numpy: most streams give a handful of draws, and opening one costs
about 1 µs against 18 µs for a numpy generator (5 µs for the standard library's).
"""

from __future__ import annotations

from hashlib import blake2b
from random import Random
from struct import Struct
from typing import Final

from growsim.chance import draws
from growsim.scenario.uncertain import Uncertain

_FOUR_WORDS: Final = Struct("<4Q")
_EIGHT_WORDS: Final = Struct("<8Q")
_UNIT: Final = 2.0**-53


class Stream:
    """One named stream of luck. Its first four uniforms are its key itself, a hash already; then a keyed hash counts
    on."""

    __slots__ = ("_block", "_key", "_left")

    def __init__(self, key: bytes) -> None:
        self._key = key
        self._block = 0
        self._left: list[int] = [*_FOUR_WORDS.unpack(key)]

    def random(self) -> float:
        """A uniform in [0, 1), with 53 random bits."""
        if not self._left:
            digest = blake2b(self._block.to_bytes(8, "little"), key=self._key).digest()
            self._block += 1
            self._left = [*_EIGHT_WORDS.unpack(digest)]
        return (self._left.pop() >> 11) * _UNIT

    # The standard library's samplers ask for nothing but `random` and one another, so a Stream can lend itself to them.

    def betavariate(self, alpha: float, beta: float) -> float:
        """A beta variate."""
        return Random.betavariate(self, alpha, beta)  # type: ignore[arg-type]

    def gammavariate(self, alpha: float, beta: float) -> float:
        """A gamma variate."""
        return Random.gammavariate(self, alpha, beta)  # type: ignore[arg-type]

    def figure(self, figure: Uncertain) -> float:
        """One value of an uncertain figure."""
        return draws.draw(figure, self)

    def binomial(self, n: int, p: float) -> int:
        """Successes in n trials of chance p."""
        return draws.binomial(self, n, p)

    def beta(self, mean: float, sd: float) -> float:
        """A share with this mean and sd."""
        return draws.beta(self, mean, sd)

    def factor(self, cv: float) -> float:
        """A lognormal factor of mean 1 and this coefficient of variation."""
        return draws.lognormal(self.random(), 1.0, cv)

    def deviation(self) -> float:
        """A standard normal deviate."""
        return draws.standard_normal(self.random())


class Luck:
    """All the luck of one replication."""

    is_switched_off = False

    def __init__(self, seed: int, replication: int) -> None:
        self._begun = blake2b(f"{seed}/{replication}/".encode(), digest_size=32)  # half the way to every key

    def stream(self, name: str) -> Stream:
        """The stream of that name; asked for twice, it starts afresh with the same luck."""
        key = self._begun.copy()
        key.update(name.encode())
        return Stream(key.digest())
