"""The people who rehearse: worker processes kept open for as many batches as a study needs.

Any `concurrent.futures.Executor` may be lent instead. The numbers do not depend on who does the work, on how many
they are, or on the order in which they finish; nor on which years lay finished in a drawer already.
"""

from __future__ import annotations

import math
import multiprocessing
import pickle
import queue
import signal
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from types import TracebackType

from growsim.errors import InputError, Interrupted
from growsim.ledger.outcome import Outcome
from growsim.run.drawer import Drawer, arranged_now, packed, unpacked
from growsim.run.fingerprint import study_mark
from growsim.run.prepare import Prepared
from growsim.run.replicate import replicate
from growsim.run.worker import Parcel, Replicate, rehearse_chunk, rehearse_one, start_worker
from growsim.scenario.plan import RunPlan

__all__ = ["Progress", "Rehearsers"]

LONGEST_CHUNK = 10  # replications sent at once: few enough that progress moves, many enough that posting costs nothing
CHUNKS_EACH = 8  # chunks for each worker, so that none waits long for the slowest
MOST_DEATHS = 3  # in a row, with nothing finished between: then it is the years, not the moment
LISTEN_SECONDS = 0.2  # how long the parent may be deaf to Ctrl-C
Progress = Callable[[int, int], None]
"""Called with (replications done, replications in all), in the caller's thread."""
See = Callable[[str, Sequence[Outcome]], None]
"""Called with (name of the room, outcomes just come in), in the caller's thread."""


def unseen(name: str, outcomes: Sequence[Outcome]) -> None:
    """Nobody looks."""


@dataclass(frozen=True)
class Wanted:
    """Years of one room that are wanted: these replications, as this plan has them."""

    room: Prepared
    replications: Sequence[int]
    plan: RunPlan


class Rehearsers:
    """A context manager that rehearses rooms, with `workers` processes or with an `executor` that is lent.

    One worker and no executor: everything happens in this process. A lent executor is never shut down; one with
    `pack` and `hands` (see `cluster`) is asked how to hand rooms over and how many are at work. `work` is the pure
    function that lives through one replication. What is `arranged` around takes the place of what is not given.
    Raises InputError for fewer than one worker.
    """

    def __init__(self, workers: int = 1, *, executor: Executor | None = None, work: Replicate = replicate) -> None:
        if workers < 1:
            raise InputError(f"workers: {workers} is not possible; give 1 or more.")
        around = arranged_now()
        self.workers = workers
        self._lent = around.executor if executor is None else executor
        self._drawer = around.drawer
        self._work = work
        self._pool: _Pool | None = None
        self._deaths = 0  # of workers, since a year was last finished

    def __enter__(self) -> Rehearsers:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._pool is not None:
            kept = _KEPT.get()
            if kind is not None:
                self._pool.abandon()
            elif kept is None:
                self._pool.close()
            else:
                kept.append(self._pool)
            self._pool = None

    def run(
        self,
        alternatives: Mapping[str, Prepared],
        seed: int,
        replications: Sequence[int],
        plan: RunPlan,
        progress: Progress | None = None,
        see: See = unseen,
    ) -> dict[str, list[Outcome]]:
        """Rehearse every alternative in the same replications; outcomes sorted by replication. see: is shown what comes
        in, as it comes. Raises what `live` raises."""
        wanted = {name: Wanted(prepared, replications, plan) for name, prepared in alternatives.items()}
        return self.live(wanted, seed, progress, see)

    def live(
        self, wanted: Mapping[str, Wanted], seed: int, progress: Progress | None = None, see: See = unseen
    ) -> dict[str, list[Outcome]]:
        """Live through all the years wanted; outcomes by name, sorted by replication.

        A worker that dies, as of too little memory, is done without: the others live its years. Raises InputError where
        worker after worker dies, Interrupted on Ctrl-C, ValueError for a replication number that is negative or given
        twice; any exception of a replication or of `progress` stops the batch and comes through.
        """
        for each in wanted.values():
            if len(set(each.replications)) != len(each.replications) or min(each.replications, default=0) < 0:
                raise ValueError("replications must be different whole numbers from 0 on")
        keys = {name: sorted(each.replications) for name, each in wanted.items()}
        lived = Gathered(keys, progress or (lambda done, total: None), see)
        try:
            if self._drawer is not None:
                marks = {name: study_mark(self._work, each.room, seed, each.plan) for name, each in wanted.items()}
                lived.take_from(self._drawer, marks)
            if self._lent is None and self.workers == 1:
                self._run_here(wanted, seed, lived)
            while lived.are_missing:
                self._run_elsewhere(wanted, seed, lived)
        except KeyboardInterrupt:
            raise Interrupted("Stopped before the end; nothing was kept.") from None
        return lived.in_order()

    def _run_here(self, wanted: Mapping[str, Wanted], seed: int, lived: Gathered) -> None:
        for name, each in wanted.items():
            for i in lived.missing(name):
                lived.receive(name, i, rehearse_one(self._work, each.room, seed, i, each.plan))

    def _run_elsewhere(self, wanted: Mapping[str, Wanted], seed: int, lived: Gathered) -> None:
        size = self._chunk_size(sum(len(lived.missing(name)) for name in wanted))
        finished: queue.SimpleQueue[Future[list[bytes]]] = queue.SimpleQueue()
        owner: dict[Future[list[bytes]], tuple[str, list[int]]] = {}
        try:
            executor, pack = self._staff()
            for name, each in wanted.items():
                keys = lived.missing(name)
                parcel = pack(each.room) if keys else b""
                for chunk in (keys[first : first + size] for first in range(0, len(keys), size)):
                    with _without_ctrl_c():  # a worker may be started here; it is born deaf to Ctrl-C
                        future = executor.submit(rehearse_chunk, self._work, parcel, seed, chunk, each.plan)
                    owner[future] = name, chunk
                    future.add_done_callback(finished.put)
            while lived.are_missing:
                try:
                    future = finished.get(timeout=LISTEN_SECONDS)
                except queue.Empty:
                    continue
                lived.receive_packed(*owner[future], future.result())
                self._deaths = 0
        except BrokenProcessPool as death:
            if self._pool is None:  # lent: whose it is knows best
                raise
            self._pool.abandon()
            self._pool = None
            self._go_on_without_one(death)
        except BaseException:
            if self._pool is not None:  # it drops what is pending by itself; two hands on one future trip it up
                self._pool.abandon()
                self._pool = None
            else:
                for future in owner:
                    future.cancel()
            raise

    def _go_on_without_one(self, death: BrokenProcessPool) -> None:
        self._deaths += 1
        if self._deaths >= MOST_DEATHS:
            raise InputError(
                f"workers: {self._deaths} of them were ended by the system, most likely for lack of memory. Close "
                f"other programs, or give fewer with --workers."
            ) from death
        self.workers = max(1, self.workers - 1)

    def _chunk_size(self, total: int) -> int:
        hands = self.workers if self._lent is None else getattr(self._lent, "hands", max(self.workers, CHUNKS_EACH))
        return max(1, min(LONGEST_CHUNK, math.ceil(total / (hands * CHUNKS_EACH))))

    def _staff(self) -> tuple[Executor, Callable[[Prepared], Parcel]]:
        if self._lent is not None:
            return self._lent, getattr(self._lent, "pack", pickle.dumps)
        if self._pool is None:
            waiting = _KEPT.get() or []
            alike = next((pool for pool in waiting if pool.workers == self.workers), None)
            if alike is not None:
                waiting.remove(alike)
            self._pool = alike or _Pool(self.workers)
        return self._pool.executor, self._pool.pack


class _Pool:
    """Worker processes of our own, a folder through which they are handed rooms, and the lifeline that ends them.

    Rooms travel as files, not through the pool's queue: each worker reads an alternative once, and a full queue can
    never keep the parent from stopping. Processes are spawned, not forked: the same on every system, whatever
    threads the caller has.
    """

    def __init__(self, workers: int) -> None:
        self.workers = workers
        context = multiprocessing.get_context("spawn")
        self._ears: Connection
        self._ears, self._lifeline = context.Pipe(duplex=False)
        self._folder = tempfile.TemporaryDirectory(prefix="growsim-", ignore_cleanup_errors=True)
        self._packed: dict[bytes, Path] = {}
        self.executor = ProcessPoolExecutor(
            workers, mp_context=context, initializer=start_worker, initargs=(self._ears, self._folder.name)
        )

    def pack(self, prepared: Prepared) -> Path:
        """A file with this room, written once however often it is asked for."""
        content = pickle.dumps(prepared)
        if content not in self._packed:
            parcel = Path(self._folder.name) / f"{len(self._packed)}.pickle"
            parcel.write_bytes(content)
            self._packed[content] = parcel
        return self._packed[content]

    def close(self) -> None:
        """Let everyone finish and go home."""
        try:
            self.executor.shutdown(wait=True)
        finally:
            self._let_go()

    def abandon(self) -> None:
        """Drop everything now: the running chunks end with their processes."""
        self.executor.shutdown(wait=False, cancel_futures=True)
        self._let_go()

    def _let_go(self) -> None:
        self._lifeline.close()
        self._ears.close()
        self._folder.cleanup()


_KEPT: ContextVar[list[_Pool] | None] = ContextVar("growsim_pools_kept", default=None)


@contextmanager
def workers_kept() -> Iterator[None]:
    """For the block: worker processes done with one study go on to the next that wants as many."""
    kept: list[_Pool] = []
    before = _KEPT.set(kept)
    try:
        yield
    except BaseException:
        for pool in kept:
            pool.abandon()
        raise
    else:
        for pool in kept:
            pool.close()
    finally:
        _KEPT.reset(before)


@contextmanager
def _without_ctrl_c() -> Iterator[None]:
    """Hold Ctrl-C back for a moment: a process started meanwhile inherits the mask, and here it is delivered after."""
    if not hasattr(signal, "pthread_sigmask"):  # Windows: a worker ignores Ctrl-C from its first line of ours
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Gathered:
    """The outcomes of one call for several rooms. keys: name -> replications, sorted."""

    def __init__(self, keys: Mapping[str, Sequence[int]], tell: Progress, see: See) -> None:
        self._keys = keys
        self._tell, self._see = tell, see
        self._lived: dict[str, dict[int, Outcome]] = {name: {} for name in keys}
        self._total = sum(map(len, keys.values()))
        self._done = 0
        self._drawer: Drawer | None = None
        self._marks: Mapping[str, str] = {}

    @property
    def are_missing(self) -> bool:
        """Whether any year is still to be lived through."""
        return self._done < self._total

    def missing(self, name: str) -> list[int]:
        """The replications of a room that are still to be lived through."""
        return [i for i in self._keys[name] if i not in self._lived[name]]

    def take_from(self, drawer: Drawer, marks: Mapping[str, str]) -> None:
        """Take what a drawer has, and keep in it what comes in from now on. marks: name -> mark of its study."""
        for name, mark in marks.items():
            found = drawer.find(mark, self._keys[name])
            self._receive(name, [outcome.replication for outcome in found], found)
        self._drawer, self._marks = drawer, marks
        if self._done:
            self._tell(self._done, self._total)

    def receive(self, name: str, i: int, outcome: Outcome) -> None:
        """The outcome of a replication asked for. Raises RuntimeError where it is another, or has come before."""
        self._receive(name, [i], [outcome])
        if self._drawer is not None:
            self._drawer.keep(self._marks[name], [(i, packed(outcome))])
        self._tell(self._done, self._total)

    def receive_packed(self, name: str, asked: Sequence[int], years: Sequence[bytes]) -> None:
        """Outcomes of several as a worker sends them. Raises RuntimeError as `receive` does."""
        self._receive(name, asked, [unpacked(year) for year in years])
        if self._drawer is not None:
            self._drawer.keep(self._marks[name], zip(asked, years, strict=True))
        self._tell(self._done, self._total)

    def in_order(self) -> dict[str, list[Outcome]]:
        """All of them, sorted by replication."""
        return {name: [lived[i] for i in self._keys[name]] for name, lived in self._lived.items()}

    def _receive(self, name: str, asked: Sequence[int], outcomes: Sequence[Outcome]) -> None:
        lived = self._lived[name]
        if [outcome.replication for outcome in outcomes] != list(asked) or not lived.keys().isdisjoint(asked):
            raise RuntimeError(f"replications {list(asked)} were asked for once, and something else came back")
        lived |= {outcome.replication: outcome for outcome in outcomes}
        self._done += len(outcomes)
        if outcomes:
            self._see(name, outcomes)
