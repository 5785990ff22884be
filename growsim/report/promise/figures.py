"""Figures of promises: what each coming week brings of each crop, and how certain every delivery is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from growsim import units
from growsim.report.figures import (
    BAND,
    BLUE,
    INK,
    ON_DARK,
    ON_PALE,
    PAPER,
    VERMILION,
    drawing,
    in_masses,
    is_narrow,
    legend_below,
    row_inches,
    styled,
    wrapped,
)
from growsim.report.promise.words import met_in_full
from growsim.report.words import down_cell, short_day
from growsim.scenario.names import ANY_CROP

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.study.promise.answer import Promises
    from growsim.study.promised import CropWeek

MOST_LABELS = 9  # numbers written beside the safe lines, where there is room for them
MOST_PANELS = 3
MOST_WEEKS_NAMED = 8
MOST_NUMBERS_ON_A_PHONE = 6  # beside each other; where there are more, only those at risk have theirs
HALF = 0.3  # half the width of a bar, in weeks


def shown_crops(promises: Promises) -> list[str]:
    """All greens, and the crops whose deliveries are least sure; the first crops of the room where none is at risk."""
    risky = sorted(promises.at_risk, key=lambda each: (each.chance.share, each.date))
    names = [each.crop for each in risky if each.crop != ANY_CROP] or [crop.name for crop in promises.scenario.crops]
    return ["", *list(dict.fromkeys(names))[: MOST_PANELS - 1]]


def weeks_ahead(promises: Promises) -> Figure:
    """A panel for all greens and for the crops least sure: a bar from safe to possible, likely marked, orders beside
    them."""
    crops = shown_crops(promises)
    with styled():
        figure, drawn = drawing(2.7, columns=len(crops))
        panels = list(np.atleast_1d(drawn))
        for axes, crop in zip(panels, crops, strict=True):
            _panel(axes, [each for each in promises.crops if each.crop == crop])
            axes.set_title(crop or "all greens", fontsize=10, pad=4)
            _weeks_axis(axes, [each for each in promises.crops if not each.crop], 1 if is_narrow() else len(crops))
            axes.set_xlabel("week that begins on" if axes is panels[-1] or not is_narrow() else "")
        figure.supylabel(f"{units.unit('kg')} in the week", fontsize=10)
        _legend(figure)
    return figure


def _panel(axes: Axes, rows: Sequence[CropWeek]) -> None:
    for each in rows:
        x, there = float(each.week), each.there
        axes.bar(
            x, there.possible - there.safe, bottom=there.safe, width=2 * HALF, color=BAND, edgecolor=INK, linewidth=0.6
        )
        axes.bar(x, there.safe, width=2 * HALF, color=BLUE, edgecolor=INK, linewidth=0.6)
        axes.plot([x - HALF, x + HALF], [there.likely] * 2, color=INK, linewidth=1.8)
        if each.ordered > 0:
            axes.plot([x - 0.42, x + 0.42], [each.ordered] * 2, color=VERMILION, linewidth=2.2, linestyle=(0, (1, 0.8)))
        if len(rows) <= MOST_LABELS and there.safe > 0:
            _safe_label(axes, x, there.safe)
    top = max([each.there.possible for each in rows] + [each.ordered for each in rows] + [0.1])
    axes.set_ylim(0, 1.12 * top)
    axes.set_xlim(-0.6, len(rows) - 0.4)
    axes.grid(axis="y")
    axes.locator_params(axis="y", nbins=4)
    in_masses(axes, "y", marks=4)


def _safe_label(axes: Axes, x: float, safe: float) -> None:
    """The safe amount, written at the foot of its bar."""
    axes.annotate(
        down_cell(safe),
        (x, 0),
        (0, 3),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=9.5,
        color=ON_PALE,
        bbox={"boxstyle": "round,pad=0.12", "facecolor": ON_DARK, "edgecolor": "none"},
    )


def _weeks_axis(axes: Axes, weeks: Sequence[CropWeek], columns: int = 1) -> None:
    step = max(1, -(-len(weeks) * columns // MOST_WEEKS_NAMED))
    shown = weeks[::step]
    axes.set_xticks([each.week for each in shown], labels=[short_day(each.starts) for each in shown])
    axes.set_xlabel("week that begins on")


def _legend(figure: Figure) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles = [
        Patch(facecolor=BLUE, edgecolor=INK, linewidth=0.6, label=f"safe (number: {units.unit('kg')})"),
        Line2D([], [], color=INK, linewidth=1.8, label="likely"),
        Patch(facecolor=BAND, edgecolor=INK, linewidth=0.6, label="up to possible"),
        Line2D([], [], color=VERMILION, linewidth=2.2, linestyle=(0, (1, 0.8)), label="standing orders"),
    ]
    legend_below(figure, 4, handles=handles, handlelength=2.0)


def _certainty_legend(figure: Figure) -> None:
    from matplotlib.patches import Patch

    sure = Patch(facecolor=BAND, edgecolor=INK, linewidth=0.6, label="90 or more")
    risky = Patch(facecolor=PAPER, edgecolor=VERMILION, linewidth=1.8, hatch="////", label="at risk: fewer than 90")
    legend_below(figure, 2, handles=[sure, risky], handleheight=1.1)


def certainty(promises: Promises) -> Figure:
    """A field for each standing order and week: the share of rehearsals in which it is met in full."""
    orders = list(dict.fromkeys((each.partner, each.crop) for each in promises.deliveries))
    weeks = [each for each in promises.crops if not each.crop]
    with styled():
        names = wrapped([f"{partner}: {'any greens' if crop == ANY_CROP else crop}" for partner, crop in orders])
        figure, axes = drawing(1.5 + row_inches(names, 0.36) * len(orders))
        for each in promises.deliveries:
            row, share = orders.index((each.partner, each.crop)), each.chance.share
            sure = not each.is_at_risk
            axes.barh(
                row,
                0.94,
                left=each.week - 0.47,
                height=0.84,
                color=BAND if sure else PAPER,
                edgecolor=INK if sure else VERMILION,
                linewidth=0.6 if sure else 1.8,
                hatch="" if sure else "////",
            )
            if sure and is_narrow() and len(weeks) > MOST_NUMBERS_ON_A_PHONE:
                continue
            axes.text(
                each.week,
                row,
                met_in_full(share).removesuffix("%"),
                ha="center",
                va="center",
                fontsize=9.5,
                fontweight="normal" if sure else "bold",
                color=ON_PALE,
                bbox=None if sure else {"boxstyle": "round,pad=0.15", "facecolor": ON_DARK, "edgecolor": "none"},
            )
        axes.set_yticks(range(len(orders)), labels=names)
        axes.set_ylim(len(orders) - 0.4, -0.6)
        axes.set_xlim(-0.6, len(weeks) - 0.4)
        axes.tick_params(length=0)
        for side in ("left", "bottom"):
            axes.spines[side].set_visible(False)
        _weeks_axis(axes, weeks)
        axes.set_title("Of 100 rehearsals, how many meet the order in full", loc="left")
        _certainty_legend(figure)
    return figure
