"""The whole rehearsal of one room: many possible years, the plan on paper, and whether the run-in was long enough."""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run import warmup
from growsim.run.intervals import Estimate, summarise
from growsim.run.precision import AT_MOST, HEADLINE, Precision, rehearse_until_precise
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import replicate_on_paper
from growsim.run.warmup import WarmUp
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario


@dataclass(frozen=True)
class Rehearsal:
    """What was rehearsed and what came of it; enough for every page of the report.

    outcomes: by replication. on_paper: the year with luck switched off. precision: only where one was asked for.
    seconds: how long it took; not part of what makes two rehearsals equal.
    """

    scenario: Scenario
    plan: RunPlan
    seed: int
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    warm_up: WarmUp
    on_paper: Outcome
    precision: Precision | None = None
    seconds: float = field(default=0.0, compare=False)


def rehearse(
    scenario: Scenario,
    *,
    seed: int,
    replications: int | None = None,
    precision_percent: float | None = None,
    plan: RunPlan,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Rehearsal:
    """Rehearse a room.

    replications: how many years; the room file's own number where None. precision_percent: go on instead until the
    headline is known that well, for at most `replications` years where given. Raises InputError for a number that
    cannot be, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    if replications is not None and replications < 1:
        raise InputError(f"replications: {replications} is not possible; give 1 or more.")
    prepared = prepare(scenario)
    on_paper = replicate_on_paper(prepared, plan)
    precision: Precision | None = None
    with Rehearsers(workers, executor=executor) as rehearsers:
        counting = _Counting(progress)

        def rehearse_more(numbers: Sequence[int]) -> list[Outcome]:
            return rehearsers.run({"": prepared}, seed, numbers, plan, counting.expect(len(numbers)))[""]

        if precision_percent is None:
            outcomes = rehearse_more(range(replications or scenario.rehearsal.replications))
        else:
            outcomes, precision = rehearse_until_precise(
                rehearse_more, precision_percent, key=HEADLINE, at_most=replications or AT_MOST
            )
        warm_up = _judge_run_in(rehearsers, prepared, seed, plan, outcomes)
    return Rehearsal(
        scenario=scenario,
        plan=plan,
        seed=seed,
        outcomes=tuple(outcomes),
        estimates=summarise(outcomes),
        warm_up=warm_up,
        on_paper=on_paper,
        precision=precision,
        seconds=time.perf_counter() - began,
    )


def _judge_run_in(
    rehearsers: Rehearsers, prepared: Prepared, seed: int, plan: RunPlan, outcomes: Sequence[Outcome]
) -> WarmUp:
    if plan.start != "filled":
        return warmup.judge(plan, outcomes)
    numbers = range(min(warmup.REPLICATIONS, len(outcomes)))
    from_bare = rehearsers.run({"": warmup.undisturbed(prepared)}, seed, numbers, warmup.plan_to_judge(plan))[""]
    return warmup.judge(plan, from_bare)


class _Counting:
    """Progress over several rounds, told as one."""

    def __init__(self, progress: Progress | None) -> None:
        self._tell = progress
        self._expected = 0

    def expect(self, more: int) -> Progress | None:
        """The callback for the next round of so many replications."""
        if self._tell is None:
            return None
        tell, before = self._tell, self._expected
        self._expected += more
        total = self._expected
        return lambda done, _: tell(before + done, total)
