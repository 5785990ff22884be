"""The plan found beside today's plan and beside sowing by arithmetic: all lived through the same fresh years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import LEVEL, mean_interval
from growsim.study.sow.score import Score, all_met_by_year

if TYPE_CHECKING:
    from growsim.study.sow.question import SowingPlan

Which = Literal["found", "today", "arithmetic"]


@dataclass(frozen=True)
class ComparedPlan:
    """One of the plans. met: pick-ups met in full, its mean, and the 95 % range of that mean (None with one year).

    gain: the plan found less this one, year by year under the same luck, with the range of its mean; None for the plan
    found itself. The ranges of all gains hold at once at 95 %.
    """

    which: Which
    score: Score
    met: tuple[float, float | None, float | None]
    gain: tuple[float, float | None, float | None] | None


def compared_plans(plan: SowingPlan) -> tuple[ComparedPlan, ...]:
    """The plan found, today's where the room file has one and it is another, and by arithmetic."""
    others: list[tuple[Which, Sequence[Outcome], Score]] = [("today", plan.today_outcomes, plan.today_score)]
    others = others if plan.has_other_today else []
    others.append(("arithmetic", plan.arithmetic.outcomes, plan.arithmetic.proof))
    found = _met(plan, plan.outcomes)
    rows = [ComparedPlan("found", plan.score, _share(found), None)]
    for which, outcomes, score in others:
        met = _met(plan, outcomes)
        gains = [now - then for now, then in zip(found, met, strict=True)]
        level = 1.0 - (1.0 - LEVEL) / len(others)  # Bonferroni, see run.intervals
        rows.append(ComparedPlan(which, score, _share(met), mean_interval(gains, level)))
    return tuple(rows)


def against_arithmetic(plan: SowingPlan) -> ComparedPlan:
    """Sowing by arithmetic, beside the plan found."""
    return compared_plans(plan)[-1]


def _met(plan: SowingPlan, outcomes: Sequence[Outcome]) -> list[float]:
    return all_met_by_year(outcomes, plan.room.scenario, plan.impossible)


def _share(values: Sequence[float]) -> tuple[float, float | None, float | None]:
    """Mean of shares with its range, which ends at none and all."""
    mean, low, high = mean_interval(values)
    return mean, None if low is None else max(0.0, low), None if high is None else min(1.0, high)
