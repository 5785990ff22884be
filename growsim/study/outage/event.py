"""One given outage: the time with it against the same time without it, under the same luck.

Everything else that may fail still does, on both sides. Both are followed until the plants that stood through the
outage have been handed out; what differs later is chance alone, and would only blur what the outage costs.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from itertools import accumulate
from typing import TYPE_CHECKING

from growsim.errors import InputError
from growsim.ledger.aftermath import killed
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval, quantiles
from growsim.run.prepare import prepare
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.checks.machines import outages_have_a_machine
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.machines import names_at
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.outage.hours import AFTERMATH_DAYS
from growsim.study.pay_back import Range
from growsim.vocabulary.losses import PLANT_LOSSES
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    import pandas as pd

WITHOUT, WITH = "without", "with"


@dataclass(frozen=True)
class Effect:
    """A figure's difference between the time with the outage and the time without, with two ranges.

    mean: with its 95 % range. p10, p50, p90: of one replication.
    """

    mean: Range
    p10: float
    p50: float
    p90: float


@dataclass(frozen=True)
class EventWeek:
    """One week, the first is 1. plants_lost: more than without, by any cause. kg_missing: fewer handed out (below 0:
    made up). kg_missing_so_far: summed from the first week on."""

    week: int
    plants_lost: Effect
    kg_missing: Effect
    kg_missing_so_far: Effect


@dataclass(frozen=True)
class OutageEvent:
    """What one outage costs.

    plan: as far as it is followed. killed: by drought, heat and cold, more than without it. lost_otherwise: lost to
    other causes more than without (no slot, overgrown, ...). kg_lost: not handed out by the end. kg_late: handed out
    later than they would have been (the most that is missing at any time, on average, less what stays lost). kg_short:
    partners' orders not filled for it. money: kilograms lost at what one costs to grow, and what the time costs more.
    killed_by_stage: on average. floods_missed: more than without.
    """

    scenario: Scenario
    outage: PlannedOutage
    plan: RunPlan
    seed: int
    without: tuple[Outcome, ...]
    with_it: tuple[Outcome, ...]
    weeks: tuple[EventWeek, ...]
    killed: Effect
    lost_otherwise: Effect
    kg_lost: Effect
    kg_late: float
    kg_short: Effect
    money: Effect
    killed_by_stage: dict[str, float]
    floods_missed: float
    value_per_kg: float
    seconds: float = field(default=0.0, compare=False)

    def to_frame(self) -> pd.DataFrame:
        """One row a week and figure: week, measure, mean, mean_low, mean_high, p10, p50, p90."""
        import pandas as pd

        rows = [
            (week.week, name, effect.mean.mean, effect.mean.low, effect.mean.high, effect.p10, effect.p50, effect.p90)
            for week in self.weeks
            for name, effect in (
                ("plants_lost", week.plants_lost),
                ("kg_missing", week.kg_missing),
                ("kg_missing_so_far", week.kg_missing_so_far),
            )
        ]
        columns = ["week", "measure", "mean", "mean_low", "mean_high", "p10", "p50", "p90"]
        return pd.DataFrame(rows, columns=columns).astype({"mean_low": float, "mean_high": float})


def study_event(
    scenario: Scenario,
    outage: PlannedOutage,
    *,
    seed: int,
    replications: int,
    plan: RunPlan,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> OutageEvent:
    """Rehearse the time with the outage and without it. Raises InputError for an outage that cannot be."""
    began = time.perf_counter()
    struck = _with(scenario, outage, plan)
    plan = followed(scenario, outage, plan)
    prepared = prepare(scenario)
    rooms = {WITHOUT: prepared, WITH: replace(prepared, scenario=struck)}
    with Rehearsers(workers, executor=executor) as rehearsers:
        lived = rehearsers.run(rooms, seed, range(replications), plan, progress)
    return _event(scenario, outage, plan, seed, lived[WITHOUT], lived[WITH], time.perf_counter() - began)


def followed(scenario: Scenario, outage: PlannedOutage, plan: RunPlan) -> RunPlan:
    """The plan, cut short once the outage can no longer show: whole weeks, three beyond the longest crop."""
    longest = max(crop.typical_days for crop in scenario.crops)
    ends = outage.start_day + (outage.start_hour + outage.hours) / 24.0
    return replace(plan, days=min(plan.days, 7 * math.ceil((ends + longest + AFTERMATH_DAYS) / 7)))


def _with(scenario: Scenario, outage: PlannedOutage, plan: RunPlan) -> Scenario:
    """The room with the outage made to happen. Raises InputError where it names nothing there is, or comes too late."""
    alone = scenario.model_copy(update={"outages": (outage,)})
    for _, problem, remedy in outages_have_a_machine(alone):
        names = names_at(scenario, BY_KEY[outage.machine].place)
        there = f": {', '.join(names)}" if names else ""
        raise InputError(f"where '{outage.where}': {problem}; {remedy}{there}.")
    if outage.start_day >= plan.days:
        raise InputError(
            f"day {outage.start_day}: the counted time ends with day {plan.days - 1}; give an earlier day or more days."
        )
    return scenario.model_copy(update={"outages": (*scenario.outages, outage)})


def _event(
    scenario: Scenario,
    outage: PlannedOutage,
    plan: RunPlan,
    seed: int,
    without: Sequence[Outcome],
    with_it: Sequence[Outcome],
    seconds: float,
) -> OutageEvent:
    pairs = list(zip(without, with_it, strict=True))

    def effect(figure: Callable[[Outcome], float]) -> Effect:
        """The figure with the outage, less without it."""
        return effect_of([figure(struck) - figure(spared) for spared, struck in pairs])

    def missing(series: str) -> list[list[float]]:
        return [
            [before - after for before, after in zip(spared.weeks[series], struck.weeks[series], strict=True)]
            for spared, struck in pairs
        ]

    fewer = missing("kg_handed_out")
    so_far = [list(accumulate(weeks)) for weeks in fewer]
    plants = [[-less for less in weeks] for weeks in _plants_lost_less(pairs)]
    weeks = tuple(
        EventWeek(
            week + 1,
            effect_of([row[week] for row in plants]),
            effect_of([row[week] for row in fewer]),
            effect_of([row[week] for row in so_far]),
        )
        for week in range(plan.days // 7)
    )
    kilograms = math.fsum(outcome.accounts["kg:handed out"] for outcome in without)
    cost = math.fsum(_cost(outcome, plan) for outcome in without)
    value = cost / kilograms if kilograms > 0 else 0.0
    kg_lost = effect(lambda outcome: -outcome.accounts["kg:handed out"])
    worst = max((week.kg_missing_so_far.mean.mean for week in weeks), default=0.0)
    return OutageEvent(
        scenario=scenario,
        outage=outage,
        plan=plan,
        seed=seed,
        without=tuple(without),
        with_it=tuple(with_it),
        weeks=weeks,
        killed=effect(killed),
        lost_otherwise=effect(lambda outcome: _all_lost(outcome) - killed(outcome)),
        kg_lost=kg_lost,
        kg_late=max(0.0, worst - max(0.0, kg_lost.mean.mean)),
        kg_short=effect(lambda outcome: -math.fsum(outcome.weeks["kg_to_partners"])),
        money=effect(lambda outcome: _cost(outcome, plan) - value * outcome.accounts["kg:handed out"]),
        killed_by_stage=_by_stage(scenario, pairs),
        floods_missed=effect(lambda outcome: outcome.measures["floods_missed"]).mean.mean,
        value_per_kg=value,
        seconds=seconds,
    )


def effect_of(differences: Sequence[float]) -> Effect:
    """Mean with its range, and the spread from year to year."""
    p10, p50, p90 = quantiles(differences, (0.1, 0.5, 0.9))
    return Effect(Range(*mean_interval(differences)), p10, p50, p90)


def _all_lost(outcome: Outcome) -> float:
    return math.fsum(math.fsum(outcome.weeks[loss.series]) for loss in PLANT_LOSSES)


def _plants_lost_less(pairs: Sequence[tuple[Outcome, Outcome]]) -> list[list[float]]:
    """Replication -> week -> plants lost without the outage, less with it."""
    return [
        [
            math.fsum(spared.weeks[loss.series][week] - struck.weeks[loss.series][week] for loss in PLANT_LOSSES)
            for week in range(len(spared.weeks["kg_handed_out"]))
        ]
        for spared, struck in pairs
    ]


def _cost(outcome: Outcome, plan: RunPlan) -> float:
    return outcome.measures["cost_per_week"] * plan.days / 7.0


def _by_stage(scenario: Scenario, pairs: Sequence[tuple[Outcome, Outcome]]) -> dict[str, float]:
    stages = dict.fromkeys(stage.name for crop in scenario.crops for stage in crop.stages_in_order())
    found = {
        stage: math.fsum(killed(struck, stage) - killed(spared, stage) for spared, struck in pairs) / len(pairs)
        for stage in stages
    }
    return {stage: plants for stage, plants in found.items() if abs(plants) > 1e-9}
