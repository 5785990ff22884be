"""What a worker process does: unpack a prepared room once, then rehearse the replications it is handed.

This module and everything it imports must stay light: no pandas, matplotlib or scipy (tested).
"""

from __future__ import annotations

import os
import pickle
import shutil
import signal
import threading
from collections.abc import Callable, Sequence
from functools import lru_cache
from multiprocessing.connection import Connection
from pathlib import Path

from growsim.ledger.outcome import Outcome
from growsim.run.drawer import packed
from growsim.run.prepare import Prepared
from growsim.scenario.plan import RunPlan

Replicate = Callable[[Prepared, int, int, RunPlan], Outcome]
"""A pure function of (prepared, seed, i, plan); importable by name, so that it can be sent to a worker."""

Parcel = Path | bytes
"""A pickled Prepared: a file on this machine, or the bytes themselves where the worker may be elsewhere."""

ROOMS_KEPT = 32  # unpacked alternatives a worker keeps; a study compares fewer at a time


def start_worker(lifeline: Connection, folder: str) -> None:
    """Run once in each worker: leave Ctrl-C to the parent, and end at once when the parent lets go of the lifeline.

    The lifeline also ends workers whose parent was killed outright: no process and no `folder` of rooms is left behind.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, args=(lifeline, folder), daemon=True).start()


def rehearse_chunk(
    work: Replicate, parcel: Parcel, seed: int, replications: Sequence[int], plan: RunPlan
) -> list[bytes]:
    """Rehearse some replications of one room; each as the drawer packs it, so that whoever asked need not do that.

    An exception carries a note that says which replication it was.
    """
    prepared = _unpack(parcel)
    return [packed(rehearse_one(work, prepared, seed, i, plan)) for i in replications]


def rehearse_one(work: Replicate, prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """One replication. An exception carries a note with its number, so that it can be replayed alone."""
    try:
        return work(prepared, seed, i, plan)
    except Exception as fault:
        fault.add_note(f"This happened in replication {i} with seed {seed}.")
        raise


@lru_cache(maxsize=ROOMS_KEPT)
def _unpack(parcel: Parcel) -> Prepared:
    prepared = pickle.loads(parcel if isinstance(parcel, bytes) else parcel.read_bytes())
    assert isinstance(prepared, Prepared)
    return prepared


def _end_with_parent(lifeline: Connection, folder: str) -> None:
    try:
        lifeline.recv_bytes()
    except (EOFError, OSError):
        shutil.rmtree(folder, ignore_errors=True)
        # Nothing else is cleaned up, on purpose: the parent has dropped all that this process could still hand back.
        os._exit(1)
