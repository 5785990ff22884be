"""What the question of sowing answers: a plan and what it rests on, beside today's plan and sowing by arithmetic, all
lived through the same fresh years; as the tables of a CHANGE file, and as tidy tables.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import LEVEL, Difference, Estimate, mean_interval
from growsim.scenario import on_paper
from growsim.scenario.load import LoadedRoom
from growsim.scenario.orders import StandingOrder
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.sow.asking import Proven
from growsim.study.sow.plan import Cells, Frame, sown
from growsim.study.sow.score import Kept, Score, all_met_by_year
from growsim.study.tried import Held
from growsim.vocabulary.days import WEEKDAYS

if TYPE_CHECKING:
    import pandas as pd

    from growsim.scenario.demand import Sowing

Which = Literal["found", "today", "arithmetic"]
WEEKLY_COLUMNS = ["week", "week_from", "date", "weekday", "crop", "cells", "sheets"]
ORDER_COLUMNS = [
    "partner", "crop", "order_weeks", "ordered_kg", "kept", "kept_low", "kept_high", "kept_today", "kept_arithmetic",
    "filled", "filled_today", "filled_arithmetic", "safe_kg", "short_kg", "worst_month", "worst_month_kept",
]  # fmt: skip
PLAN_COLUMNS = [
    "plan", "pick_ups_met", "pick_ups_met_low", "pick_ups_met_high", "found_less_it", "found_less_it_low",
    "found_less_it_high", "orders_filled_fraction", "seeds_sown",
]  # fmt: skip


@dataclass(frozen=True)
class SowingPlan:
    """The plan and what it rests on.

    frame, cells: the plan. paper: the first plan; tried: plans rehearsed in up to `trial_years` years. outcomes, score,
    and kept: of the plan in fresh years; the same of the room file's own plan (today), and of the one by arithmetic, in
    the same years. differences: plan less today. impossible: orders that nothing harvested can ever reach in time.
    held: None where the certainty is met. seconds is not part of what makes two plans equal.
    """

    room: LoadedRoom
    run: RunPlan
    seed: int
    certainty: float
    frame: Frame
    cells: Cells
    paper: Cells
    tried: int
    trial_years: int
    outcomes: tuple[Outcome, ...]
    today_outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    today: dict[str, Estimate]
    differences: dict[str, Difference]
    score: Score
    today_score: Score
    kept: tuple[Kept, ...]
    today_kept: tuple[Kept, ...]
    arithmetic: Proven
    arithmetic_kept: tuple[Kept, ...]
    impossible: tuple[StandingOrder, ...]
    held: Held | None
    seconds: float = field(default=0.0, compare=False)

    @property
    def scenario(self) -> Scenario:
        """The room with this plan."""
        return self.frame.planned(self.cells)

    @property
    def is_todays(self) -> bool:
        """Whether it sows what the room file's plan sows."""
        return sown(self.scenario) == sown(self.room.scenario)

    @property
    def has_other_today(self) -> bool:
        """Whether the room file has a plan of its own and it is another."""
        return bool(self.room.scenario.sowing) and not self.is_todays

    @property
    def is_by_arithmetic(self) -> bool:
        """Whether it is the plan by arithmetic."""
        by_arithmetic = self.arithmetic.frame.planned(self.arithmetic.cells)
        return sown(self.scenario) == sown(by_arithmetic)

    @property
    def is_met(self) -> bool:
        """Whether every standing order is met in full with the certainty asked for, on average over the fresh years."""
        return self.score.is_met and not self.impossible

    @property
    def short(self) -> tuple[Kept, ...]:
        """Orders that lack the certainty, the least certain first."""
        return tuple(sorted((k for k in self.kept if k.share < self.certainty - 1e-9), key=lambda k: k.share))

    def to_frame(self) -> pd.DataFrame:
        """One row a sowing day and crop of the counted time: week, week_from, date, weekday, crop, cells, sheets."""
        return weekly_frame(self)


def change_tables(room: LoadedRoom, frame: Frame, cells: Cells) -> dict[str, Any]:
    """`sowing` of the CHANGE file; without anything to sow and without lines to take away, nothing."""
    gone = [{"name": line.name, "remove": True} for line in room.scenario.sowing]
    lines = [*gone, *(_line(line) for line in frame.planned(cells).sowing)]
    return {"sowing": lines} if lines else {}


def _line(line: Sowing) -> dict[str, Any]:
    table: dict[str, Any] = {"name": line.name, "crop": line.crop, "cells": line.cells, "weekday": line.weekday}
    for key, date in (("from_date", line.from_date), ("until_date", line.until_date)):
        if date is not None:
            table[key] = date
    return table


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


def _met(plan: SowingPlan, outcomes: Sequence[Outcome]) -> list[float]:
    return all_met_by_year(outcomes, plan.room.scenario, plan.impossible)


def _share(values: Sequence[float]) -> tuple[float, float | None, float | None]:
    """Mean of shares with its range, which ends at none and all."""
    mean, low, high = mean_interval(values)
    return mean, None if low is None else max(0.0, low), None if high is None else min(1.0, high)


def weekly_frame(plan: SowingPlan) -> pd.DataFrame:
    """Sowings of the counted time; weeks from 1, each beginning on the weekday of the first day."""
    import pandas as pd

    scenario, frame = plan.room.scenario, plan.frame
    crops, trays = on_paper.crops_by_name(scenario), on_paper.trays_by_name(scenario)
    start = scenario.room.start_date
    rows = []
    for number, line in enumerate(frame.lines):
        places = trays[crops[line.crop].stages_in_order()[0].tray].places
        for day, cells in frame.cells_on(number, plan.cells[number]):
            week = (day - start).days // 7
            if cells > 0 and 0 <= week < plan.run.days // 7:
                begins = start.fromordinal(start.toordinal() + 7 * week)
                weekday = WEEKDAYS[day.weekday()]
                row = (week + 1, begins.isoformat(), day.isoformat(), weekday, line.crop, cells, cells / places)
                rows.append(row)
    rows.sort(key=lambda row: (row[2], row[4]))
    return pd.DataFrame(rows, columns=WEEKLY_COLUMNS)


def orders_frame(plan: SowingPlan) -> pd.DataFrame:
    """One row a standing order: how well the plan keeps it, today's plan, and sowing by arithmetic."""
    import pandas as pd

    arithmetic = {each.order: each for each in plan.arithmetic_kept}
    today = {each.order: each for each in plan.today_kept}
    rows = [
        (
            each.order.partner,
            each.order.crop,
            each.weeks,
            each.ordered_kg,
            each.share,
            each.low,
            each.high,
            today[each.order].share,
            arithmetic[each.order].share,
            each.filled,
            today[each.order].filled,
            arithmetic[each.order].filled,
            each.safe_kg,
            each.short_kg,
            None if each.worst_month is None else each.worst_month[0],
            None if each.worst_month is None else each.worst_month[1],
        )
        for each in plan.kept
    ]
    frame = pd.DataFrame(rows, columns=ORDER_COLUMNS)
    return frame.astype({"kept_low": float, "kept_high": float, "worst_month": "Int64", "worst_month_kept": float})


def plans_frame(plan: SowingPlan) -> pd.DataFrame:
    """One row a plan: found, today (where it is another), arithmetic; pick-ups met in full, what the found gains."""
    import pandas as pd

    rows = [
        (each.which, *each.met, *(each.gain or (None, None, None)), each.score.filled, each.score.seeds)
        for each in compared_plans(plan)
    ]
    frame = pd.DataFrame(rows, columns=PLAN_COLUMNS)
    return frame.astype(dict.fromkeys(PLAN_COLUMNS[1:], float))
