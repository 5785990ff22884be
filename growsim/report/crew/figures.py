"""Figures about the crew: by month in all, crews of every size, one less."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from growsim import units
from growsim.report.figures import (
    BLUE,
    INK,
    PAPER,
    QUIET,
    SKY,
    VERMILION,
    beside,
    drawing,
    in_masses,
    is_narrow,
    legend_below,
    row_inches,
    styled,
    wrapped,
)
from growsim.report.words import number
from growsim.study.crew.goals import ON_TIME, ORDERS
from growsim.study.rota import people_today
from growsim.vocabulary.days import SHORT_MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.run.intervals import Difference
    from growsim.study.crew.answer import CrewStudy
    from growsim.study.crew.late import Rung

KG = "kg_handed_out_per_week"


def month_order(study: CrewStudy) -> list[int]:
    """The twelve months from the one in which counting starts."""
    first = study.scenario.room.start_date.month - 1
    return [(first + step) % 12 for step in range(12)]


def by_month(study: CrewStudy) -> Figure:
    """Sign-ups a week by month: needed, expected to come of them, and today's."""
    shifts, months = study.scenario.crew.shifts, month_order(study)
    chance = np.array([study.scenario.crew.chance_of_coming[month] for month in months])
    needed = np.array([sum(study.people(i)[month] for i in range(len(shifts))) for month in months], dtype=float)
    today = np.array([sum(people_today(shift)[month] for shift in shifts) for month in months], dtype=float)
    with styled():
        figure, axes = drawing(4.3)
        rows = np.arange(12)
        axes.barh(rows, needed, height=0.8, color=PAPER, edgecolor=INK, hatch="//", linewidth=0.8, label="sign up")
        axes.barh(rows, needed * chance, height=0.8, color=SKY, edgecolor=INK, linewidth=0.8, label="expected to come")
        axes.stairs(
            today, np.append(rows - 0.5, 11.5), color=INK, linewidth=2.4, linestyle=(0, (3, 1.2)), baseline=None,
            label="signed up today", orientation="horizontal",
        )  # fmt: skip
        for row, value, now in zip(rows, needed, today, strict=True):
            other = f", today {number(now)}" if value != now else ""
            beside(axes, max(value, now), float(row), f"{number(value)}{other}")
        axes.set_xlim(0, 1.2 * max(float(needed.max()), float(today.max()), 1.0))
        axes.locator_params(axis="x", integer=True)
        axes.set_ylim(11.5, -0.5)
        axes.set_yticks(rows, labels=[SHORT_MONTHS[month] for month in months])
        axes.set_xlabel("volunteers a week")
        axes.set_title("How many to recruit for which month")
        axes.grid(axis="x")
        legend_below(figure, 3)
    return figure


def frontier(study: CrewStudy) -> Figure:
    """Orders filled and tasks on time against the volunteer hours that come in a week."""
    panels = [(ORDERS, "Orders filled, %"), (ON_TIME, "Tasks done in time, %")]
    panels = [(key, title) for key, title in panels if any(_share(rung, key) is not None for rung in study.rungs)]
    with styled():
        figure, drawn = drawing(3.7, columns=max(1, len(panels)))
        for axes, (key, title) in zip(np.atleast_1d(drawn), panels, strict=True):
            line = sorted(study.rungs, key=lambda rung: rung.hours)
            xs, ys = [rung.hours for rung in line], [100.0 * (_share(rung, key) or 0.0) for rung in line]
            axes.plot(xs, ys, color=QUIET, linewidth=1.6, marker=".", markersize=8, label="crews of other sizes")
            for rung, marker, color, label in (
                (study.today_rung, "s", VERMILION, "today's sign-up"),
                (study.answer_rung, "o", BLUE, "the answer"),
            ):
                share = _share(rung, key)
                if share is not None:
                    axes.plot(
                        rung.hours, 100.0 * share, marker=marker, color=color, markersize=9, linestyle="none",
                        label=label, zorder=3,
                    )  # fmt: skip
            if key in study.wanted:
                axes.axhline(100.0 * study.wanted[key], color=INK, linestyle=(0, (4, 2)), linewidth=1.2, label="goal")
            axes.set_title(title)
            axes.set_xlabel("volunteer hours that come in a week")
            axes.set_xlim(0, 1.1 * max(xs))
            axes.locator_params(axis="x", nbins=5, integer=True)  # round, and the last is clear of the sheet's edge
            axes.set_ylim(min(ys) - 4, 101)
            axes.grid()
        legend_below(figure, 4)
    return figure


def _share(rung: Rung, key: str) -> float | None:
    return rung.orders if key == ORDERS else rung.on_time


def one_less(study: CrewStudy) -> Figure:
    """What one person less on each shift costs: greens, tasks on time, orders; average difference and its range."""
    panels = [
        (KG, "Greens handed out", f"{units.unit('kg')} a week", 1.0),
        (ON_TIME, "Tasks in time", "of 100 tasks", 100.0),
        (ORDERS, "Orders filled", "of 100 orders", 100.0),
    ]
    rows = study.one_less
    panels = [panel for panel in panels if any(panel[0] in less.differences for less in rows)]
    with styled():
        names = wrapped([less.shift for less in rows])
        figure, drawn = drawing(1.5 + row_inches(names, 0.46) * max(1, len(rows)), columns=max(1, len(panels)))
        all_axes = list(np.atleast_1d(drawn))
        for axes, (key, title, unit, scale) in zip(all_axes, panels, strict=True):
            axes.axvline(0, color=INK, linewidth=1.2)
            for height, less in enumerate(rows):
                if key in less.differences:
                    _dot(axes, height, less.differences[key], scale)
            axes.set_title(title)
            axes.set_xlabel(unit)
            axes.grid(axis="x")
            axes.set_yticks(range(len(rows)), labels=names)
            axes.set_ylim(len(rows) - 0.4, -0.6)
            axes.margins(x=0.12)
            axes.locator_params(axis="x", nbins=5)
            if key == KG:
                in_masses(axes, "x", marks=5)
            if axes is not all_axes[0]:
                axes.tick_params(axis="y", labelleft=is_narrow())
        for color, filled, label in (
            (VERMILION, True, "costs something"),
            (QUIET, False, "may be chance"),
        ):
            all_axes[0].plot(
                [], [], marker="s" if filled else "D", color=color, markerfacecolor=color if filled else PAPER,
                markersize=8, linewidth=2.0, label=label,
            )  # fmt: skip
        legend_below(figure, 2)
    return figure


def _dot(axes: Axes, height: float, found: Difference, scale: float) -> None:
    certain = found.high is not None and found.high < 0
    color = VERMILION if certain else QUIET
    if found.low is not None and found.high is not None:
        axes.plot([found.low * scale, found.high * scale], [height, height], color=color, linewidth=2.0)
    axes.plot(
        found.mean * scale, height, marker="s" if certain else "D", markersize=8, color=color, linestyle="none",
        markerfacecolor=color if certain else PAPER, markeredgewidth=1.6,
    )  # fmt: skip
