"""A sowing plan as a tidy table: one row a sowing day and crop."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from growsim.scenario import on_paper
from growsim.study.sow.compared_plans import compared_plans
from growsim.vocabulary.days import WEEKDAYS

if TYPE_CHECKING:
    from growsim.study.sow.question import SowingPlan

WEEKLY_COLUMNS = ["week", "week_from", "date", "weekday", "crop", "cells", "sheets"]
ORDER_COLUMNS = [
    "partner", "crop", "order_weeks", "ordered_kg", "kept", "kept_low", "kept_high", "kept_today", "kept_arithmetic",
    "filled", "filled_today", "filled_arithmetic", "safe_kg", "short_kg", "worst_month", "worst_month_kept",
]  # fmt: skip
PLAN_COLUMNS = [
    "plan", "pick_ups_met", "pick_ups_met_low", "pick_ups_met_high", "found_less_it", "found_less_it_low",
    "found_less_it_high", "orders_filled_fraction", "seeds_sown",
]  # fmt: skip


def weekly_frame(plan: SowingPlan) -> pd.DataFrame:
    """Sowings of the counted time; weeks from 1, each beginning on the weekday of the first day."""
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
    rows = [
        (each.which, *each.met, *(each.gain or (None, None, None)), each.score.filled, each.score.seeds)
        for each in compared_plans(plan)
    ]
    frame = pd.DataFrame(rows, columns=PLAN_COLUMNS)
    return frame.astype(dict.fromkeys(PLAN_COLUMNS[1:], float))
