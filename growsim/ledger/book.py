"""The log book: append-only records and levels. It never yields, never draws, never decides."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from operator import itemgetter
from typing import Any, TypeVar

from growsim.ledger.events import Standing
from growsim.ledger.level import Level

Record = TypeVar("Record", bound=tuple[Any, ...])

_minute = itemgetter(0)


class Book:
    """Everything that happened in one replication, in order, and values held over time."""

    def __init__(self, begin_minute: int) -> None:
        self.begin_minute = begin_minute
        self.records: list[Any] = []
        self.levels: dict[tuple[str, ...], Level] = {}
        self.standing: list[Standing] = []
        self._by_kind: dict[type, list[Any]] = {}
        self._sorted_upto = 0
        self.write = self.records.append  # called some ten thousand times a year: bound once

    def level(self, *key: str) -> Level:
        """The level of that name, made at nought when first asked for."""
        found = self.levels.get(key)
        if found is None:
            found = self.levels[key] = Level(self.begin_minute)
        return found

    def of(self, kind: type[Record]) -> Iterator[Record]:
        """Records of one kind, in order."""
        return iter(self._sorted_out().get(kind, ()))

    def between(self, kind: type[Record], begin_minute: int, end_minute: int) -> list[Record]:
        """Records of one kind written in [begin, end), in order. What they tell of happened at their first figure."""
        found = self._sorted_out().get(kind, [])
        return found[bisect_left(found, begin_minute, key=_minute) : bisect_left(found, end_minute, key=_minute)]

    def forget(self) -> None:
        """Let go of all records, once measured.

        The room and its book hold on to one another; the records would wait, for nothing, until the garbage collector
        has gone through every one of them.
        """
        self.records.clear()
        self._by_kind, self._sorted_upto = {}, 0

    def _sorted_out(self) -> dict[type, list[Any]]:
        """Records by kind, sorted out once and again only if the book has grown since."""
        if self._sorted_upto != len(self.records):
            by_kind: dict[type, list[Any]] = {}
            for record in self.records:
                kind = type(record)
                if kind in by_kind:
                    by_kind[kind].append(record)
                else:
                    by_kind[kind] = [record]
            self._by_kind, self._sorted_upto = by_kind, len(self.records)
        return self._by_kind
