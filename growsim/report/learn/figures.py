"""Figures of what was learned: before and after, figure by figure; and the weeks held back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.figures import (
    BAND,
    BLUE,
    GRID,
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
from growsim.report.learn.lead import GROUPS, value_text
from growsim.report.words import short_day
from growsim.vocabulary.days import MONTHS, SHORT_MONTHS

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.study.learn.learned import Learned, Scored

ABSOLUTE = ("seeds", "people")  # groups drawn on their own scale; the others against the room file's figure
LOGARITHMIC = ("machines", "mending", "losses", "spreads")


def before_and_after(figures: Sequence[Learned], group: str) -> Figure:
    """One group as small multiples in a column: thin line and ring for before, thick line and dot for after."""
    with styled():
        names = wrapped([_name(each) for each in figures])
        values = [f"{value_text(each, each.after.middle)}\n{_seen(each)}" for each in figures]
        if is_narrow():  # no room on the right
            names = [f"{name}\n{value}" for name, value in zip(names, values, strict=True)]
        figure, axes = drawing(1.25 + row_inches(names, 0.42) * len(figures))
        for row, each in enumerate(figures):
            _draw(axes, row, each, absolute=_is_absolute(figures, group))
        axes.set_ylim(len(figures) - 0.4, -0.7)
        axes.set_yticks(range(len(figures)), labels=names)
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.grid(axis="x")
        _scale(axes, figures, group)
        if not is_narrow():
            right = axes.secondary_yaxis("right")
            right.set_yticks(range(len(figures)), labels=values)
            right.tick_params(axis="y", length=0, labelsize=9.5)
            right.spines["right"].set_visible(False)
        _legend(figure, figures)
        axes.set_title(GROUPS[group])
    return figure


def _is_absolute(figures: Sequence[Learned], group: str) -> bool:
    """Whether the scale is the figure's own percent: also for losses where the room file says none, of which nothing
    is a percentage."""
    return group in ABSOLUTE or (group == "losses" and not all(each.stated for each in figures))


def _draw(axes: Axes, row: int, each: Learned, *, absolute: bool) -> None:
    base = 100.0 if absolute else 100.0 / each.stated if each.stated else 1.0
    before, after = each.before, each.after
    axes.plot([base * before.low, base * before.high], [row - 0.17] * 2, color=QUIET, linewidth=1.3)
    axes.plot([base * each.stated], [row - 0.17], "o", color=QUIET, markerfacecolor=PAPER, markersize=5)
    if each.records or _has_moved(each):
        color = VERMILION if each.is_clear else BLUE
        axes.plot(
            [base * after.low, base * after.high], [row + 0.17] * 2, color=color, linewidth=3.6, solid_capstyle="butt"
        )
        axes.plot([base * after.middle], [row + 0.17], "D" if each.is_clear else "o", color=color, markersize=6)
    axes.axhline(row + 0.5, color=GRID, linewidth=0.6)


def _has_moved(each: Learned) -> bool:
    """Whether a figure without a record of its own was moved by others, or by the time in which nothing happened."""
    return abs(each.after.middle - each.before.middle) > 1e-3 * abs(each.before.middle)


def _legend(figure: Figure, figures: Sequence[Learned]) -> None:
    """What the marks mean; only those that are there."""
    from matplotlib.lines import Line2D

    marks = [
        Line2D([], [], color=QUIET, linewidth=1.3, marker="o", markerfacecolor=PAPER, markersize=5, label="room file")
    ]
    taught = [each for each in figures if each.records or _has_moved(each)]
    if any(not each.is_clear for each in taught):
        marks.append(Line2D([], [], color=BLUE, linewidth=3.6, marker="o", markersize=6, label="with your record"))
    if any(each.is_clear for each in taught):
        clear = "with your record, clear of the room file"
        marks.append(Line2D([], [], color=VERMILION, linewidth=3.6, marker="D", markersize=6, label=clear))
    legend_below(figure, 3, handles=marks)


def _scale(axes: Axes, figures: Sequence[Learned], group: str) -> None:
    if _is_absolute(figures, group):
        axes.set_xlabel("percent")
        return
    if group in LOGARITHMIC:
        from matplotlib.ticker import FixedLocator, NullLocator

        axes.set_xscale("log")
        low, high = axes.get_xlim()
        marks = [mark for mark in (5, 10, 25, 50, 100, 200, 400, 1000, 2000) if low <= mark <= high]
        axes.xaxis.set_major_locator(FixedLocator(marks))
        axes.xaxis.set_minor_locator(NullLocator())
        axes.set_xticks(marks, labels=[str(mark) for mark in marks])
    axes.axvline(100, color=INK, linewidth=0.9, linestyle=(0, (4, 3)), zorder=0)
    axes.set_xlabel("percent of what the room file says")


def _name(each: Learned) -> str:
    if each.group == "spreads":
        return f"{each.what}: {'seeds' if 'germination' in each.key else 'speed'}"
    if each.group == "people":
        return SHORT_MONTHS[MONTHS.index(each.what)]
    return each.what


def _seen(each: Learned) -> str:
    return f"{each.records:,} {each.of}" if each.records != 1 else f"1 {each.of.removesuffix('s')}"


def forecast_check(series: Scored) -> Figure:
    """Weeks held back: what came (dots), what was forecast (band and line), what the last four weeks say (dashed)."""
    weeks = series.weeks
    with styled():
        figure, axes = drawing(3.2)
        at = range(len(weeks))
        axes.fill_between(
            at, [week.forecast[0] for week in weeks], [week.forecast[2] for week in weeks], color=BAND, linewidth=0,
            label="forecast, 8 in 10",
        )  # fmt: skip
        axes.plot(at, [week.forecast[1] for week in weeks], color=BLUE, linewidth=2.0, label="middle")
        for place, style in ((0, (0, (1, 1.5))), (2, (0, (1, 1.5))), (1, (0, (5, 3)))):
            label = "last four weeks" if place == 1 else None
            axes.plot(
                at, [week.naive[place] for week in weeks], color=QUIET, linewidth=1.2, linestyle=style, label=label
            )
        axes.plot(at, [week.came for week in weeks], "D", color=VERMILION, markersize=6, label="what came")
        axes.set_xticks(list(at), labels=[short_day(week.begins) for week in weeks])
        axes.set_ylim(0, None)
        axes.grid(axis="y")
        axes.set_ylabel(
            units.worded(f"{series.label}, {in_masses(axes, 'y', 'a week')}")
            if series.unit == "kg"
            else f"{series.label} in the week"
        )
        axes.set_xlabel("week from")
        legend_below(figure, 4)
    return figure
