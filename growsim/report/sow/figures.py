"""Figures of a sowing plan: how surely each order is kept, and orders met through the year, beside another plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from growsim.report import summaries
from growsim.report.figures import (
    BAND,
    BLUE,
    INK,
    PAPER,
    QUIET,
    VERMILION,
    beside,
    drawing,
    legend_below,
    month_axis,
    row_inches,
    styled,
    wrapped,
)
from growsim.report.sow.words import other_plan, whose
from growsim.report.words import percent
from growsim.scenario.orders import standing_orders
from growsim.study.promised import ENOUGH_KG

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.figure import Figure

    from growsim.ledger.outcome import Outcome
    from growsim.study.sow.answer import SowingPlan


def orders_kept(plan: SowingPlan) -> Figure:
    """One line an order: the share of its weeks met in full, with this plan and another; the goal as a line."""
    from matplotlib.lines import Line2D

    other, _, kept = other_plan(plan)
    today = {each.order: each for each in kept}
    rows = sorted(plan.kept, key=lambda each: each.share)
    with styled():
        names = wrapped([whose(each.order) for each in rows], 30)
        figure, axes = drawing(1.5 + row_inches(names, 0.42) * len(rows))
        for height, each in enumerate(rows):
            before, now = 100 * today[each.order].share, 100 * each.share
            axes.plot([before, now], [height, height], color=QUIET, linewidth=1.0)
            axes.plot(before, height, marker="o", markersize=7, color=INK, markerfacecolor=PAPER, linestyle="none")
            if each.low is not None and each.high is not None:
                axes.plot([100 * each.low, 100 * each.high], [height, height], color=BLUE, linewidth=3.0)
            met = each.share >= plan.certainty - 1e-9
            axes.plot(
                now,
                height,
                marker="o" if met else "s",
                markersize=9,
                color=BLUE if met else VERMILION,
                linestyle="none",
            )
            beside(axes, max(now, before, 100 * (each.high or 0.0)) + 0.6, height, percent(each.share))
        axes.axvline(100 * plan.certainty, color=INK, linewidth=1.4, linestyle=(0, (5, 3)))
        axes.set_yticks(range(len(rows)), labels=names)
        axes.set_ylim(-0.6, len(rows) - 0.4)
        low = min(min(100 * each.share, 100 * today[each.order].share) for each in rows)
        least = max(0, 10 * int((low - 4) // 10))
        axes.set_xlim(least, 106)
        axes.set_xticks(range(least, 101, 5 if least >= 70 else 10))
        axes.grid(axis="x")
        axes.set_xlabel("of 100 weeks, how many meet the order in full")
        axes.set_title("Standing orders met in full")
        circle: dict[str, Any] = {"marker": "o", "markersize": 9}
        square: dict[str, Any] = {"marker": "s", "markersize": 9, "linestyle": "none"}
        hollow: dict[str, Any] = {"marker": "o", "markersize": 7, "linestyle": "none", "markerfacecolor": PAPER}
        handles = [Line2D([], [], color=BLUE, linewidth=3.0, label="this plan, range of the average", **circle)]
        if plan.short:
            handles.append(Line2D([], [], color=VERMILION, label="this plan, still short", **square))
        handles.append(Line2D([], [], color=INK, label=other, **hollow))
        asked = f"asked for: {percent(plan.certainty)}"
        handles.append(Line2D([], [], color=INK, linewidth=1.4, linestyle=(0, (5, 3)), label=asked))
        legend_below(figure, 2, handles=handles)
    return figure


def through_the_year(plan: SowingPlan) -> Figure:
    """Share of weekly orders met in full, month by month: this plan and another."""
    other, other_outcomes, _ = other_plan(plan)
    weeks = plan.run.days // 7
    months = summaries.months(plan.room.scenario, weeks)
    orders = len(standing_orders(plan.room.scenario))
    with styled():
        figure, axes = drawing(3.3)
        for outcomes, name, color, style, width, face in (
            (plan.outcomes, "this plan", BLUE, "-", 2.2, BLUE),
            (other_outcomes, other, INK, (0, (5, 3)), 1.4, PAPER),
        ):
            met, due = _met_and_due(outcomes, orders, weeks)
            points = [
                (
                    (month.weeks[0] + month.weeks[-1]) / 2,
                    100 * met[list(month.weeks)].sum() / due[list(month.weeks)].sum(),
                )
                for month in months
                if due[list(month.weeks)].sum() > 0
            ]
            axes.plot(
                [x for x, _ in points],
                [y for _, y in points],
                color=color,
                linestyle=style,
                linewidth=width,
                marker="o",
                markerfacecolor=face,
                label=name,
            )
        axes.axhspan(100 * plan.certainty, 100, color=BAND, linewidth=0, label=f"{percent(plan.certainty)} or more")
        low = axes.get_ylim()[0]
        axes.set_ylim(max(0.0, min(low, 100 * plan.certainty - 5)), 100.5)
        axes.grid(axis="y")
        axes.set_ylabel("of 100 weekly orders, met in full")
        axes.set_title("Weekly orders met in full through the year")
        month_axis(axes, months, weeks)
        legend_below(figure, 3, handlelength=3.0)
    return figure


def _met_and_due(outcomes: Sequence[Outcome], orders: int, weeks: int) -> tuple[summaries.Array, summaries.Array]:
    """Orders met in full and orders due, week by week, over all years and orders."""
    met, due = np.zeros(weeks), np.zeros(weeks)
    for outcome in outcomes:
        for order in range(orders):
            asked = np.array(outcome.weeks[f"order_asked:{order}"][:weeks])
            given = np.array(outcome.weeks[f"order_given:{order}"][:weeks])
            due += asked > 0
            met += (asked > 0) & (given >= asked - ENOUGH_KG)
    return met, due
