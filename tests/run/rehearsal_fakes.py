"""Stand-ins for a replication, importable by name in a worker process."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from typing import Any

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.scenario.plan import RunPlan

PLAN = RunPlan(days=364)


def prepared(scenario: Any = "a room") -> Prepared:
    """A prepared room with nothing in it but a name."""
    return Prepared(scenario, None)  # type: ignore[arg-type]


def outcome(i: int, weeks: dict[str, tuple[float, ...]] | None = None, **measures: float) -> Outcome:
    """An outcome with the measures and weeks given."""
    return Outcome(replication=i, measures=measures, weeks=weeks or {}, fates={}, accounts={})


def lucky(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """An outcome that depends on all of its key and on nothing else."""
    value = len(str(room.scenario)) + 1 / (1 + seed + i) + plan.days / 3
    return outcome(i, {"kg_packed": (value, value / 7)}, kg_packed_per_week=value)


def where(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Says in which process it ran and which heavy packages that process has loaded."""
    heavy = [name for name in ("pandas", "matplotlib", "scipy") if name in sys.modules]
    return outcome(i, {"heavy": (float(len(heavy)),)}, process=float(os.getpid()))


def broken(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Fails in replication 7."""
    if i == 7:
        raise RuntimeError("the pump fell over")
    return outcome(i)


def endless(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Leaves a note that it has begun (a file named after its process in the folder given) and works for a minute."""
    Path(room.scenario, str(os.getpid())).touch()  # type: ignore[arg-type]
    until = time.monotonic() + 60
    while time.monotonic() < until:
        sum(range(1000))
    return outcome(i)


def slow(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Takes a moment."""
    time.sleep(0.005)
    return outcome(i)


def deadly(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Takes its process down with it, as the system does when memory runs out."""
    os._exit(9)


def dies_once(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """As `lucky`, but the first process that comes to year 7 is ended by the system (a note in the folder given)."""
    note = Path(room.scenario, "died")  # type: ignore[arg-type]
    if i == 7 and not note.exists():
        note.touch()
        os._exit(9)
    return lucky(room, seed, i, plan)
