"""Figures of a comparison: what each change brings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from growsim import units
from growsim.report.figures import (
    BAND,
    BLUE,
    INK,
    PAPER,
    QUIET,
    VERMILION,
    drawing,
    in_masses,
    is_narrow,
    legend_below,
    row_inches,
    styled,
    wrapped,
)
from growsim.study.compare.answer import FOOD, by_gain
from growsim.study.verdicts import HEADLINES, Verdict

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.study.compare.answer import Comparison

KG, ORDERS, HOURS, COST = HEADLINES
# Verdict -> marker, color, filled: told apart by shape and filling where there is no color.
MARKS = {
    "better": ("o", BLUE, True),
    "worse": ("s", VERMILION, True),
    "moves": ("D", INK, True),
    "same": ("o", INK, False),
    "open": ("D", QUIET, False),
}
MARK_NAMES = {
    "better": "better",
    "worse": "worse",
    "moves": "changes",
    "same": "no difference that matters",
    "open": "may be chance",
}


def _kind(verdict: Verdict) -> str:
    if verdict.says == "open":
        return "open"
    if verdict.says in ("same", "none") or not verdict.matters:
        return "same"
    if verdict.is_better is None:
        return "moves"
    return "better" if verdict.is_better else "worse"


def _dot(axes: Axes, height: float, verdict: Verdict, scale: float) -> None:
    marker, color, filled = MARKS[_kind(verdict)]
    found = verdict.difference
    if found.low is not None and found.high is not None:
        axes.plot([found.low * scale, found.high * scale], [height, height], color=color, linewidth=2.0)
    axes.plot(
        found.mean * scale,
        height,
        marker=marker,
        markersize=8,
        color=color,
        markerfacecolor=color if filled else PAPER,
        markeredgewidth=1.6,
        linestyle="none",
    )


def _legend(figure: Figure, axes: Axes, kinds: Sequence[str]) -> None:
    for kind in (kind for kind in MARKS if kind in kinds):
        marker, color, filled = MARKS[kind]
        axes.plot(
            [],
            [],
            marker=marker,
            color=color,
            markerfacecolor=color if filled else PAPER,
            markersize=8,
            markeredgewidth=1.6,
            linewidth=2.0,
            label=MARK_NAMES[kind],
        )
    legend_below(figure, 3)


def headlines(comparison: Comparison, most: int) -> Figure:
    """Orders filled, greens handed out, hours of work and cost of a kilogram: the difference each change makes. most:
    so many changes, what is worth making first."""
    rows = by_gain(comparison.changes)[:most]
    keys = [key for key in (*FOOD, *HEADLINES) if any(key in changed.verdicts for changed in rows)]
    keys = list(dict.fromkeys(keys))
    currency = comparison.scenario.prices.currency
    names = {
        ORDERS: ("Orders filled", "of 100 orders", 100.0),
        KG: ("Handed out", "", 1.0),
        HOURS: ("Work falling due", "hours a week", 1.0),
        COST: (
            units.worded("Cost of a kilogram"),
            f"{currency} a {units.unit('kg')}",
            units.difference(1.0, "money/kg"),
        ),
    }
    kinds: list[str] = []
    with styled():
        titles = wrapped([changed.title for changed in rows], 18)
        figure, drawn = drawing(1.3 + row_inches(titles, 0.36) * len(rows), columns=max(1, len(keys)))
        panels = list(np.atleast_1d(drawn))
        for axes, key in zip(panels, keys, strict=False):
            if axes is not panels[0]:
                axes.sharey(panels[0])
                axes.tick_params(axis="y", labelleft=is_narrow())
            title, unit, scale = names[key]
            margin = max(changed.verdicts[key].margin for changed in rows if key in changed.verdicts) * scale
            axes.axvspan(-margin, margin, color=BAND, linewidth=0)
            axes.axvline(0, color=INK, linewidth=1.2)
            for height, changed in enumerate(rows):
                if key in changed.verdicts:
                    _dot(axes, height, changed.verdicts[key], scale)
                    kinds.append(_kind(changed.verdicts[key]))
            axes.set_title(title, fontsize=10.5)
            axes.grid(axis="x")
            axes.locator_params(axis="x", nbins=4)
            axes.set_xlabel(in_masses(axes, "x", "a week", marks=4) if key == KG else unit)
        panels[0].set_yticks(range(len(rows)), labels=titles)
        panels[0].set_ylim(len(rows) - 0.4, -0.6)
        _legend(figure, panels[0], kinds)
    return figure
