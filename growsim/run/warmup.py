"""Is the warm-up long enough? Judged from the bare room on: when has the weekly harvest stopped settling?

MSER-5 (White 1997, Simulation 69(6):323-334; White, Cobb & Spratt 2000, Winter Simulation Conference) cuts a series
of means of five where the remaining ones have the smallest marginal standard error. As is usual (Hoad, Robinson &
Davies 2010, from memory) a cut is looked for in the first half only, and one at its very end means: not settled.

A grow room has seasons (warm months, months with few helpers), and a season is not a warm-up. So the rule is applied to
the difference between a week and the same week a year later: in a room that has settled it hovers around 0.

With so few means the rule cuts off plain luck as well, and it does not see a room that creeps. So the year after the
warm-up is always held against the year after that (paired t-interval at 95 %): it is too short where the two differ
for sure and by more than 3 % of the harvest, long enough where they differ by less for sure. Where eight lives cannot
tell, and more might, more are lived, up to 32.
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
LIVES = (8, 16, 32)
"""So many possible lives are rehearsed for the judgment alone; more where fewer cannot tell, but no more than years."""
NEGLIGIBLE = 0.03  # of the weekly harvest: less than a year's own luck in any room measured


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
    return _judged(plan, outcomes, series)


def more_would_tell(plan: RunPlan, outcomes: Sequence[Outcome]) -> bool:
    """Whether these lives (of `plan_to_judge(plan)`) leave open if the two years after the warm-up are as good as
    alike, and four times as many might say."""
    years = _year_on_year(outcomes, math.ceil(plan.warm_up_days / 7))
    return not years.tells and years.half_as_wide.tells


def _judged(plan: RunPlan, outcomes: Sequence[Outcome], series: tuple[float, ...]) -> WarmUp:
    cut = mser([week - later for week, later in zip(series, series[YEAR_WEEKS:], strict=False)])
    covers = cut is not None and 7 * cut <= plan.warm_up_days
    warm_up = f"the warm-up of {plan.warm_up_days} days"
    years = _year_on_year(outcomes, math.ceil(plan.warm_up_days / 7))
    if years.is_unknown:
        enough, said = covers, f"{_held(cut)}; {warm_up} covers that." if covers else _too_short(cut, warm_up)
    elif years.are_alike:
        said = f"{_held(cut)}; {warm_up} covers that, and the" if covers else "The"
        enough, said = True, f"{said} year after {'it' if covers else warm_up} and the next differ by under 3%."
    elif not years.differ:
        enough = True
        said = (
            f"The year after {warm_up} and the next differ by no more than chance or 3% ({years.said()}): long enough."
        )
    elif cut is None or covers:
        enough, said = False, f"{_still_settling(warm_up)} The year after it brings {years.said()} than the next."
    else:
        enough, said = False, _too_short(cut, warm_up)
    return WarmUp(series, cut, enough, said)


def _too_short(cut: int | None, warm_up: str) -> str:
    if cut is None:
        return _still_settling(warm_up)
    return f"{_held(cut)}; {warm_up} is too short: give {7 * cut} days or more."


def _still_settling(warm_up: str) -> str:
    return (
        f"The room was still settling long after {warm_up}, so the start may color the answer. Give it a "
        f"longer one, or start empty and read the weeks one by one."
    )


def _held(cut: int | None) -> str:
    weeks = "the first week" if not cut else f"week {cut + 1}"
    return f"From a bare room the weekly harvest holds its level from {weeks} on"


@dataclass(frozen=True)
class _Years:
    """Weekly kg of the first year after the warm-up minus that of the second, with its 95 % range; None with one life.
    level: of the second."""

    change: float
    low: float | None
    high: float | None
    level: float

    @property
    def is_unknown(self) -> bool:
        """Whether one life, or none, leaves it open."""
        return self.low is None

    @property
    def differ(self) -> bool:
        """Whether the two years differ for sure, and by more than next to nothing."""
        if self.low is None or self.high is None or self.low <= 0.0 <= self.high:
            return False
        return abs(self.change) > NEGLIGIBLE * self.level

    @property
    def are_alike(self) -> bool:
        """Whether they differ by next to nothing for sure."""
        small = NEGLIGIBLE * self.level
        return self.low is not None and self.high is not None and -small <= self.low and self.high <= small

    @property
    def tells(self) -> bool:
        """Whether either is known."""
        return self.are_alike or self.differ

    @property
    def half_as_wide(self) -> _Years:
        """The same from four times as many lives."""
        low, high = (None if end is None else (self.change + end) / 2 for end in (self.low, self.high))
        return replace(self, low=low, high=high)

    def said(self) -> str:
        """The difference with its range."""
        low, high = self.low or 0.0, self.high or 0.0
        if not self.differ:
            between = f"{difference(low, 'kg'):+.1f} to {difference(high, 'kg'):+.1f}"
            return f"{difference(self.change, 'kg'):+.1f} {unit('kg')} a week, 95% range {between}"
        size, *ends = (abs(difference(value, "kg")) for value in (self.change, low, high))
        more = "more" if self.change > 0 else "less"
        return f"{size:.1f} {unit('kg')} a week (95% range {min(ends):.1f} to {max(ends):.1f}) {more}"


def _year_on_year(outcomes: Sequence[Outcome], first_week: int) -> _Years:
    """The year from `first_week` on against the next, week for week."""
    second, third = first_week + YEAR_WEEKS, first_week + 2 * YEAR_WEEKS
    lives = [weeks for outcome in outcomes if len(weeks := outcome.weeks.get(SERIES, ())) >= third]
    if not lives:
        return _Years(0.0, None, None, 0.0)
    changes = [(math.fsum(weeks[first_week:second]) - math.fsum(weeks[second:third])) / YEAR_WEEKS for weeks in lives]
    level = math.fsum([math.fsum(weeks[second:third]) for weeks in lives]) / YEAR_WEEKS / len(lives)
    return _Years(*mean_interval(changes, fewest=2), level)


def _squared_deviations(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values)
