"""One rehearsed year: a pure function of (prepared room, seed, replication number, plan).

Same key, same outcome: alone, in a batch, on any worker, in any order. Nothing given is changed.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.measures import measure
from growsim.ledger.outcome import Outcome
from growsim.room.model import simulate
from growsim.run.prepare import Prepared
from growsim.scenario.plan import RunPlan

ON_PAPER = -1  # the replication number of the plan on paper; luck's own numbers start at 0


def replicate(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Live through replication `i` and measure it. Raises ValueError for a negative `i`."""
    with seldom_collected():
        book = trace(prepared, seed, i, plan)
        outcome = measure(book, prepared.scenario, plan, replication=i)
        book.forget()
    return outcome


def replicate_on_paper(prepared: Prepared, plan: RunPlan) -> Outcome:
    """The year as planned: luck switched off, every uncertain figure at its mean. Its number is ON_PAPER."""
    return measure(trace_on_paper(prepared, plan), prepared.scenario, plan, replication=ON_PAPER)


def trace_on_paper(prepared: Prepared, plan: RunPlan) -> Book:
    """The full log book of the year as planned."""
    return simulate(prepared.scenario, prepared.curves, FixedLuck(), plan)


def trace(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Book:
    """The full log book of replication `i`: the same year that `replicate` measures.

    Raises ValueError for a negative `i`.
    """
    if i < 0:
        raise ValueError(f"replications are numbered from 0, not {i}")
    with seldom_collected():
        return simulate(prepared.scenario, prepared.curves, Luck(seed, i), plan)


@contextmanager
def seldom_collected() -> Iterator[None]:
    """Let the garbage collector look less often meanwhile.

    A log book grows by some ten thousand small records that all stay: the collector's habit of going through everything
    again and again costs a tenth of a replication and frees next to nothing: what happens in a room ties itself into
    no rings. It stays on, so memory stays flat.
    """
    usual = gc.get_threshold()
    gc.set_threshold(500_000, 20, 100)
    try:
        yield
    finally:
        gc.set_threshold(*usual)
