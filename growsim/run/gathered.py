"""Outcomes coming in, in whatever order, each once: what is there already, what is missing, what to keep."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from growsim.ledger.outcome import Outcome
from growsim.run.drawer import Drawer
from growsim.run.prepare import Prepared

Progress = Callable[[int, int], None]
"""Called with (replications done, replications in all), in the caller's thread."""


class Gathered:
    """The outcomes of one call for several rooms in the same replications."""

    def __init__(self, alternatives: Iterable[str], keys: Sequence[int], tell: Progress) -> None:
        self._keys = keys
        self._tell = tell
        self._lived: dict[str, dict[int, Outcome]] = {name: {} for name in alternatives}
        self._total = len(self._lived) * len(keys)
        self._done = 0
        self._drawer: Drawer | None = None
        self._marks: dict[str, str] = {}

    @property
    def are_missing(self) -> bool:
        """Whether any year is still to be lived through."""
        return self._done < self._total

    def missing(self, name: str) -> list[int]:
        """The replications of a room that are still to be lived through."""
        return [i for i in self._keys if i not in self._lived[name]]

    def take_from(self, drawer: Drawer, rooms: Mapping[str, Prepared], mark_of: Callable[[Prepared], str]) -> None:
        """Take what a drawer has, and keep in it what comes in from now on."""
        for name, prepared in rooms.items():
            self._marks[name] = mark_of(prepared)
            found = drawer.find(self._marks[name], self._keys)
            self._receive(name, [outcome.replication for outcome in found], found)
        self._drawer = drawer
        if self._done:
            self._tell(self._done, self._total)

    def receive(self, name: str, asked: Sequence[int], outcomes: Sequence[Outcome]) -> None:
        """Outcomes of the replications asked for. Raises RuntimeError where they are others, or have come before."""
        self._receive(name, asked, outcomes)
        if self._drawer is not None:
            self._drawer.keep(self._marks[name], outcomes)
        self._tell(self._done, self._total)

    def in_order(self) -> dict[str, list[Outcome]]:
        """All of them, sorted by replication."""
        return {name: [lived[i] for i in self._keys] for name, lived in self._lived.items()}

    def _receive(self, name: str, asked: Sequence[int], outcomes: Sequence[Outcome]) -> None:
        lived = self._lived[name]
        if [outcome.replication for outcome in outcomes] != list(asked) or not lived.keys().isdisjoint(asked):
            raise RuntimeError(f"replications {list(asked)} were asked for once, and something else came back")
        lived |= {outcome.replication: outcome for outcome in outcomes}
        self._done += len(outcomes)
