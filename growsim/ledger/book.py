"""The log book: append-only records, and values held over time. It never yields, never draws, never decides.

Two records in three tell of work (`OF_WORK`). To make a named tuple takes three times as long as a plain one, so those
are written bare, `(figure, ..., kind)`, and made into what they are only for who asks: `bare` gives them as they stand.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from itertools import accumulate, pairwise
from operator import itemgetter, mul, sub
from typing import Any, Final, TypeVar

from growsim.ledger.events import Standing, TaskDone, TaskDue, Worked

Record = TypeVar("Record", bound=tuple[Any, ...])
WorkDue = tuple[int, str, str, int | float, int, int, type[TaskDue]]  # TaskDue, bare
OF_WORK: Final = frozenset((TaskDue, TaskDone, Worked))

_minute = itemgetter(0)


class Level:
    """A step function of time, starting at 0. Times are minutes and must not run backwards."""

    __slots__ = ("minutes", "value", "values")

    def __init__(self, begin_minute: int) -> None:
        self.minutes: list[int] = [begin_minute]
        self.values: list[float] = [0.0]
        self.value = 0.0

    def add(self, minute: int, change: float) -> None:
        """Raise (or lower) the value from this minute on. Raises ValueError if time runs backwards."""
        self.value += change
        last = self.minutes[-1]
        if minute == last:
            self.values[-1] = self.value
        elif minute > last:
            self.minutes.append(minute)
            self.values.append(self.value)
        else:
            raise ValueError(f"the log book cannot go back from minute {last} to {minute}")

    def means(self, begin_minute: int, step_minutes: int, steps: int) -> list[float]:
        """Time-weighted mean in each of `steps` half-open windows of `step_minutes` from begin_minute on."""
        times, values = self.minutes, self.values
        filled = list(accumulate(map(mul, values, map(sub, times[1:], times)), initial=0.0))  # area up to each change
        end = begin_minute + step_minutes * steps
        areas: list[float] = []
        for edge in range(begin_minute, end + 1, step_minutes):
            last = bisect_right(times, edge) - 1
            areas.append(filled[last] + values[last] * (edge - times[last]) if last >= 0 else 0.0)
        return [(later - area) / step_minutes for area, later in pairwise(areas)]


class Book:
    """Everything that happened in one replication, in order, and values held over time.

    write: adds a record, or a bare one of work; called some ten thousand times a year, so no more than an append.
    """

    def __init__(self, begin_minute: int) -> None:
        self.begin_minute = begin_minute
        self.levels: dict[tuple[str, ...], Level] = {}
        self.standing: list[Standing] = []
        self._written: list[tuple[Any, ...]] = []
        self._by_kind: dict[type, list[Any]] = {}
        self._sorted_upto = 0
        self.write = self._written.append

    @property
    def records(self) -> list[Any]:
        """All records, in order."""
        return [_made(record) for record in self._written]

    def level(self, *key: str) -> Level:
        """The level of that name, made at zero when first asked for."""
        found = self.levels.get(key)
        if found is None:
            found = self.levels[key] = Level(self.begin_minute)
        return found

    def of(self, kind: type[Record]) -> Iterator[Record]:
        """Records of one kind, in order."""
        found = self._sorted_out().get(kind, ())
        return map(_made, found) if kind in OF_WORK else iter(found)

    def between(self, kind: type[Record], begin_minute: int, end_minute: int) -> list[Record]:
        """Records of one kind written in [begin, end), in order. What they tell of happened at their first figure."""
        found = self.bare(kind, begin_minute, end_minute)
        return [_made(record) for record in found] if kind in OF_WORK else found

    def bare(self, kind: type[Record], begin_minute: int, end_minute: int) -> list[Any]:
        """`between`, but of work: all of a kind as `(figure, ..., kind)`."""
        found = self._sorted_out().get(kind, [])
        return found[bisect_left(found, begin_minute, key=_minute) : bisect_left(found, end_minute, key=_minute)]

    def due(self, begin_minute: int, end_minute: int) -> list[WorkDue]:
        """Work that went onto the board in [begin, end), bare."""
        return self.bare(TaskDue, begin_minute, end_minute)

    def besides_work(self) -> list[Any]:
        """All records that do not tell of work, in order."""
        return self._sorted_out().get(object, [])

    def forget(self) -> None:
        """Let go of all records, once measured.

        The room and its book hold on to one another; the records would wait, for nothing, until the garbage collector
        has gone through every one of them.
        """
        self._written.clear()
        self._by_kind, self._sorted_upto = {}, 0

    def _sorted_out(self) -> dict[type, list[Any]]:
        """Records by kind, and under `object` all but those of work; sorted out again only if the book has grown."""
        if self._sorted_upto != len(self._written):
            besides_work: list[Any] = []
            by_kind: dict[type, list[Any]] = {object: besides_work}
            for written in self._written:
                record, kind = written, type(written)
                if kind is tuple:
                    kind = record[-1]
                elif kind in OF_WORK:
                    record = (*record, kind)
                else:
                    besides_work.append(record)
                of_kind = by_kind.get(kind)
                if of_kind is None:
                    of_kind = by_kind[kind] = []
                of_kind.append(record)
            self._by_kind, self._sorted_upto = by_kind, len(self._written)
        return self._by_kind


def _made(record: Any) -> Any:
    """A record, whether it was written so or bare."""
    return record[-1]._make(record[:-1]) if type(record) is tuple else record
