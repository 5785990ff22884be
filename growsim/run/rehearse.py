"""The whole rehearsal of one room: many rehearsed years, the plan on paper, and whether the warm-up was long enough."""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run import warmup
from growsim.run.intervals import Estimate, summarize, weights_of_years
from growsim.run.known_luck import known_luck
from growsim.run.precision import AT_MOST, Precision, rehearse_until_precise
from growsim.run.prepare import prepare
from growsim.run.progress import SoFar
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import replicate_on_paper
from growsim.run.warmup import WarmUp
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Rehearsal:
    """What was rehearsed and what came of it; enough for every page of the report.

    outcomes: by replication. weights: of each in the means of greens, () where all weigh alike. on_paper: the year with
    luck switched off. precision: only where one was asked for. seconds: how long it took; not part of what makes two
    rehearsals equal.
    """

    scenario: Scenario
    plan: RunPlan
    seed: int
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    warm_up: WarmUp
    on_paper: Outcome
    precision: Precision | None = None
    weights: tuple[float, ...] = ()
    seconds: float = field(default=0.0, compare=False)

    def to_frame(self, what: Literal["measures", "weeks", "fates"] = "measures") -> pd.DataFrame:
        """The outcomes as a tidy table.

        "measures": one row a figure, with mean, mean_low, mean_high (95 % range of the mean), p10, p50, p90, n and
        what those percentiles are of. "weeks": one row a replication, week and series. "fates": one row a replication,
        crop and fate of the seeds sown. Raises ValueError for any other table.
        """
        from growsim.run import results

        if what == "measures":
            return results.measures_frame(self.estimates, self.plan.days)
        if what == "weeks":
            return results.weeks_frame(self.outcomes)
        if what == "fates":
            return results.fates_frame(self.outcomes)
        raise ValueError(f"there is no table {what!r}; there are measures, weeks and fates")


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
    years = replications or (scenario.rehearsal.replications if precision_percent is None else AT_MOST)
    judges = min(warmup.LIVES[0], years) if plan.start == "filled" else 0
    shared, so_far = _SharedProgress(progress, to_come=judges), SoFar()
    with Rehearsers(workers, executor=executor) as rehearsers:

        def rehearse_more(numbers: Sequence[int]) -> list[Outcome]:
            return rehearsers.run({"": prepared}, seed, numbers, plan, shared.more(len(numbers)), so_far.see)[""]

        if precision_percent is None:
            outcomes = rehearse_more(range(years))
        else:
            outcomes, precision = rehearse_until_precise(
                rehearse_more,
                precision_percent,
                at_most=years,
                luck_of=lambda lived: known_luck(scenario, seed, plan, lived),
            )
        watched = outcomes
        if judges:
            bare, room = warmup.plan_to_judge(plan), warmup.undisturbed(prepared)
            watched = rehearsers.run({"": room}, seed, range(judges), bare, shared.last(judges))[""]
            for lives in warmup.LIVES[1:]:
                if lives > years or not warmup.more_would_tell(plan, watched):
                    break
                more = range(len(watched), lives)
                watched += rehearsers.run({"": room}, seed, more, bare, shared.more(len(more)))[""]
    luck = known_luck(scenario, seed, plan, outcomes)
    estimates = summarize(outcomes, luck, never=cannot_happen(scenario, standing=plan.start == "shelves"))
    return Rehearsal(
        scenario=scenario,
        plan=plan,
        seed=seed,
        outcomes=tuple(outcomes),
        estimates=estimates,
        weights=weights_of_years(outcomes, luck, estimates),
        warm_up=warmup.judge(plan, watched),
        on_paper=on_paper,
        precision=precision,
        seconds=time.perf_counter() - began,
    )


class _SharedProgress:
    """Progress over several rounds, told as one; `to_come` are known of from the start and come last."""

    def __init__(self, progress: Progress | None, to_come: int) -> None:
        self._tell: Progress = progress or (lambda done, total: None)
        self._expected = 0
        self._to_come = to_come

    def more(self, number: int) -> Progress:
        """The callback for the next round of so many replications."""
        before = self._expected
        self._expected += number
        total = self._expected + self._to_come
        return lambda done, _: self._tell(before + done, total)

    def last(self, number: int) -> Progress:
        """The callback for the round that was to come."""
        self._to_come = 0
        return self.more(number)
