"""Luck switched off: every draw is its mean. 'The plan on paper', and the ground for tests done by hand."""

from __future__ import annotations

import math

from growsim.chance.streams import Luck, Stream
from growsim.scenario.uncertain import Uncertain


class FixedStream(Stream):
    """A stream without luck: means, half-way uniforms, counts rounded half up."""

    def random(self) -> float:
        """Always one half."""
        return 0.5

    def figure(self, figure: Uncertain) -> float:
        """The expected value."""
        return figure.expected()

    def binomial(self, n: int, p: float) -> int:
        """The expected count, rounded half up."""
        return min(n, math.floor(n * p + 0.5))

    def beta(self, mean: float, sd: float) -> float:
        """The mean."""
        return mean

    def factor(self, cv: float) -> float:
        """One."""
        return 1.0

    def deviation(self) -> float:
        """Nought."""
        return 0.0


class FixedLuck(Luck):
    """Stands in for Luck. Nothing breaks down and no power outage comes: the room asks `is_switched_off`."""

    is_switched_off = True

    def __init__(self) -> None:
        super().__init__(0, 0)
        self._stream = FixedStream(bytes(32))

    def stream(self, name: str) -> Stream:
        """The same stream without luck, whatever the name."""
        return self._stream
