"""Is the warm-up long enough? Judged from the bare room on: when has the weekly harvest stopped settling?

MSER-5 (White 1997, Simulation 69(6):323-334; White, Cobb & Spratt 2000, Winter Simulation Conference) cuts a series
of means of five where the remaining ones have the smallest marginal standard error. As is usual (Hoad, Robinson &
Davies 2010, from memory) a cut is looked for in the first half only, and one at its very end means: not settled.

A grow room has seasons (warm months, months with few helpers), and a season is not a warm-up. So the rule is applied to
the difference between a week and the same week a year later: in a room that has settled it hovers around 0.

With so few means the rule often cuts off plain luck as well. So a warm-up is called too short only where, besides, the
year after it differs from the year after that by more than luck (paired t-interval at 95 %).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.run.prepare import Prepared
from growsim.scenario.plan import RunPlan
from growsim.units import difference, unit

SERIES = "kg_packed"  # the last thing in the room to settle: everything upstream has, once harvest has
BATCH_WEEKS = 5
FEWEST_BATCHES = 4
YEAR_WEEKS = 52
REPLICATIONS = 8  # possible years rehearsed for the judgment alone; it looks for a large effect


@dataclass(frozen=True)
class WarmUp:
    """The judgment.

    series: weekly kilograms harvested, mean over replications, week by week from the bare room (start "filled") or
    from the first counted week (other starts). truncation_week: weeks that MSER-5 would not count; None where it
    cannot tell. enough: whether the warm-up is at least that long, or none is needed. sentence: the judgment in words.
    """

    series: tuple[float, ...]
    truncation_week: int | None
    enough: bool
    sentence: str


def mser(values: Sequence[float], batch: int = BATCH_WEEKS) -> int | None:
    """Values to cut from the start by MSER-m, a multiple of `batch`.

    With batch means z_1..z_n it is the d in 0..n/2 with the least sum over j > d of (z_j - mean of these)^2, divided by
    (n - d)^2; the smallest d where several are least. Values that fill no last batch are left out. None where there are
    fewer than 4 batches or the least is at the very end of the first half.
    """
    n = len(values) // batch
    if n < FEWEST_BATCHES:
        return None
    means = [math.fsum(values[j * batch : (j + 1) * batch]) / batch for j in range(n)]
    marginal = [_squared_deviations(means[d:]) / (n - d) ** 2 for d in range(n // 2 + 1)]
    cut = marginal.index(min(marginal))
    return None if cut == n // 2 else cut * batch


def weekly_mean(outcomes: Sequence[Outcome], series: str = SERIES) -> tuple[float, ...]:
    """Week by week, the mean over replications of a weekly series; empty where no outcome has it."""
    kept = [outcome.weeks[series] for outcome in outcomes if series in outcome.weeks]
    return tuple(mean_interval(week)[0] for week in zip(*kept, strict=True))


def plan_to_judge(plan: RunPlan) -> RunPlan:
    """The plan whose outcomes show the room filling: from the bare room, through the warm-up and two years more."""
    days = 7 * (math.ceil(plan.warm_up_days / 7) + 2 * YEAR_WEEKS)
    return replace(plan, start="empty", warm_up_days=0, days=days, shelves=())


def undisturbed(prepared: Prepared) -> Prepared:
    """The same room without outages made to happen and without closed days.

    Both come once, on their dates, and not a year later: they would look like a room that has not settled.
    """
    scenario = prepared.scenario
    always_open = scenario.room.model_copy(update={"closed_days": ()})
    return replace(prepared, scenario=scenario.model_copy(update={"outages": (), "room": always_open}))


def judge(plan: RunPlan, outcomes: Sequence[Outcome]) -> WarmUp:
    """Judge the warm-up of `plan`. outcomes: of `plan_to_judge(plan)` for start "filled",
    of `plan` itself otherwise."""
    series = weekly_mean(outcomes)
    if plan.start == "empty":
        return WarmUp(series, None, True, "Counting starts in the bare room: filling it is part of the answer.")
    if plan.start == "shelves":
        return WarmUp(series, None, True, "Counting starts from what stands on the shelves, so there is no warm-up.")
    cut = mser([week - later for week, later in zip(series, series[YEAR_WEEKS:], strict=False)])
    warm_up = f"the warm-up of {plan.warm_up_days} days"
    if cut is not None and 7 * cut <= plan.warm_up_days:
        return WarmUp(series, cut, True, f"{_held(cut)}; {warm_up} covers that.")
    change, low, high = _year_on_year(outcomes, math.ceil(plan.warm_up_days / 7))
    if low is not None and high is not None and low <= 0.0 <= high:
        return WarmUp(
            series,
            cut,
            True,
            f"The year after {warm_up} and the year after that differ by no more than luck ("
            f"{difference(change, 'kg'):+.1f} {unit('kg')} a week, 95 % range {difference(low, 'kg'):+.1f} to "
            f"{difference(high, 'kg'):+.1f}), so it is long enough.",
        )
    if cut is None:
        return WarmUp(
            series,
            None,
            False,
            f"The room was still settling long after {warm_up}, so the start may color the answer: give more "
            "warm_up_days, or start empty and read the weeks one by one.",
        )
    return WarmUp(series, cut, False, f"{_held(cut)}; {warm_up} is too short: give warm_up_days = {7 * cut} or more.")


def _held(cut: int) -> str:
    weeks = "the first week" if cut == 0 else f"week {cut + 1}"
    return f"From a bare room the weekly harvest holds its level from {weeks} on (MSER-5)"


def _year_on_year(outcomes: Sequence[Outcome], first_week: int) -> tuple[float, float | None, float | None]:
    """Weekly mean of the year from `first_week` on minus that of the next year, with its 95 % range; in kg."""
    second, third = first_week + YEAR_WEEKS, first_week + 2 * YEAR_WEEKS
    changes = []
    for outcome in outcomes:
        weeks = outcome.weeks.get(SERIES, ())
        if len(weeks) >= third:
            changes.append((math.fsum(weeks[first_week:second]) - math.fsum(weeks[second:third])) / YEAR_WEEKS)
    return mean_interval(changes) if changes else (0.0, None, None)


def _squared_deviations(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values)
