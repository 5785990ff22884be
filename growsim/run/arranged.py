"""What the caller has arranged for all rehearsals of a block: hands elsewhere, and a drawer where years are kept.

Neither changes a number, and every study would only hand them on to Rehearsers untouched. So they are arranged around
a study, not passed through it. Arrangements are the thread's (or task's) own.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from growsim.run.drawer import Drawer


@dataclass(frozen=True)
class Arranged:
    """executor: lent to every Rehearsers that is not lent another. drawer: where finished years are kept and found."""

    executor: Executor | None = None
    drawer: Drawer | None = None


_NOTHING = Arranged()
_NOW: ContextVar[Arranged] = ContextVar("growsim_arranged", default=_NOTHING)


def arranged_now() -> Arranged:
    """What holds here."""
    return _NOW.get()


@contextmanager
def arranged(executor: Executor | None = None, drawer: Drawer | None = None) -> Iterator[None]:
    """Arrange it for the block."""
    before = _NOW.set(Arranged(executor, drawer))
    try:
        yield
    finally:
        _NOW.reset(before)
