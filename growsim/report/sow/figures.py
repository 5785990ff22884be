"""Figures of a sowing plan: how surely each order is kept, beside another plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from growsim.report.figures import (
    BLUE,
    INK,
    PAPER,
    QUIET,
    VERMILION,
    beside,
    drawing,
    legend_below,
    row_inches,
    styled,
    wrapped,
)
from growsim.report.sow.words import other_plan, whose
from growsim.report.words import percent

if TYPE_CHECKING:
    from matplotlib.figure import Figure

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
