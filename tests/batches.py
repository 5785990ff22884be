"""A batch of replications, for tests that want one and no more: Rehearsers opened and closed around it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import Executor

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import replicate
from growsim.run.worker import Replicate
from growsim.scenario.plan import RunPlan


def run_batch(
    prepared: Prepared,
    seed: int,
    replications: Sequence[int],
    plan: RunPlan,
    *,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
    work: Replicate = replicate,
) -> list[Outcome]:
    """Rehearse one room; outcomes sorted by replication.

    workers: processes on this machine (1: this one). executor: lent instead of them, any kind; not shut down.
    progress: called with (done, total). Raises Interrupted on Ctrl-C.
    """
    everything = run_many(
        {"": prepared}, seed, replications, plan, workers=workers, progress=progress, executor=executor, work=work
    )
    return everything[""]


def run_many(
    alternatives: Mapping[str, Prepared],
    seed: int,
    replications: Sequence[int],
    plan: RunPlan,
    *,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
    work: Replicate = replicate,
) -> dict[str, list[Outcome]]:
    """Rehearse several rooms under the same luck, with one pool; see `run_batch`."""
    with Rehearsers(workers, executor=executor, work=work) as rehearsers:
        return rehearsers.run(alternatives, seed, replications, plan, progress)
