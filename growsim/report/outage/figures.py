"""Figures of outages: the chart for the wall, losses by hours until repaired, the year's risk, what protections bring;
and of one given outage, plants lost and greens missing, week by week.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.report.figures import (
    BAND,
    BLUE,
    INK,
    ON_DARK,
    ON_PALE,
    PAPER,
    SKY,
    VERMILION,
    drawing,
    in_masses,
    is_narrow,
    legend_below,
    row_inches,
    styled,
    wrapped,
)
from growsim.report.outage import words
from growsim.report.outage.wall import WallRow
from growsim.report.words import mass_cell, number, of_the_room, short_day
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.study.outage.event import Effect, EventWeek, OutageEvent
    from growsim.study.outage.question import Outages
    from growsim.study.pay_back import Range

# Plants lost of 100, from this many on: color of the field, color of the number on it. Told apart without color.
SHADES = ((50, "#1b1b1c", ON_DARK), (20, "#7d7d7d", ON_DARK), (5, "#bdbdbd", ON_PALE), (1, "#e6e6e6", ON_PALE))
LABEL_COLUMNS = 2.6  # width of the names, in columns of the chart
WALL_INCHES = 8.9
HEAD = 0.8  # height of a line of a head, in rows
LINE_SPACING = 1.4  # of the foot, in heights of its letters, with some air
FOOT = (
    "Found late, a fault may be hours old: count from the last flood. Once repaired, flood "
    "by hand at once: these numbers wait for the timer's next flood, which may be hours off."
)
WEEKS_BEFORE, WEEKS_AFTER = 2, 14


def wall(rows: Sequence[WallRow], tried: Sequence[float]) -> Figure:
    """One page for the wall: plants lost of 100, by what is down and the hours until it is repaired. On a phone names
    stand above their boxes, and the largest letters are smaller."""
    columns, narrow = len(tried), is_narrow()
    left = 0.0 if narrow else -LABEL_COLUMNS
    deep = 1.7 if narrow else 1.0
    heads = wrapped([row.head for row in rows], 78, 34)
    lines = [head.count("\n") + 1 if head else 0 for head in heads]
    height = deep * len(rows) + HEAD * sum(lines) + 3.2  # with the title, and air above the foot
    foot, size = wrapped([FOOT], 78, 48)[0], 9.5 if narrow else 12
    foot_inches = LINE_SPACING * size / 72 * (foot.count("\n") + 1)
    with styled():
        inches = 0.4 * height + foot_inches if narrow else WALL_INCHES
        figure, axes = drawing(inches)
        axes.set_xlim(left, columns + 1.9)
        axes.set_ylim(height * inches / (inches - foot_inches) - 2.9, -2.9)
        axes.axis("off")

        def line(y: float, text: str, size: float, letters: int, **looks: Any) -> None:
            """A line of its own: else the layout would take width from the chart to make room for it."""
            words = wrapped([text], 78, letters)[0]
            axes.text(left, y, words, fontsize=size, va="top", in_layout=False, **looks)

        line(-2.8, "How long have we got?", 16 if narrow else 23, 99, fontweight="bold")
        of = "Plants lost of 100 if repaired within … (begun at the worst hour)"
        line(-1.75 if not narrow else -1.9, of, 9.5 if narrow else 12.5, 48)
        for column, hours in enumerate(tried):
            axes.text(
                column + 0.5, -0.05, f"{number(hours)}{'' if narrow else ' '}h", ha="center", va="bottom",
                fontsize=9.5 if narrow else 13, fontweight="bold",
            )  # fmt: skip
        first = "1 in 20\ndead at" if narrow else "1 in 20\ndead after"
        axes.text(columns + 1.0, -0.05, first, ha="center", va="bottom", fontsize=9.5 if narrow else 12.5)
        top = 0.0
        for row, head, high in zip(rows, heads, lines, strict=True):
            if head:
                axes.plot([left, columns + 1.9], [top + 0.06] * 2, color=INK, linewidth=1.6)
                middle = top + 0.06 + HEAD * high / 2
                axes.text(left, middle, head, fontsize=11 if narrow else 13.5, fontweight="bold", va="center")
                top += HEAD * high
            if narrow:
                axes.text(0.03, top + 0.4, row.name.replace("\n", " "), va="center", fontsize=9.5)
            else:
                axes.text(-0.15, top + 0.5, row.name, ha="right", va="center", fontsize=12.5)
            _wall_row(axes, top + deep - 1.0, row, columns)
            top += deep
        axes.plot([left, columns + 1.9], [top + 0.08] * 2, color=INK, linewidth=1.6)
        axes.text(left, top + 0.25, foot, fontsize=size, va="top", in_layout=False)
    return figure


def _wall_row(axes: Axes, top: float, row: WallRow, columns: int) -> None:
    from matplotlib.patches import Rectangle

    for column, share in enumerate(row.shares):
        of_100 = 0 if share is None else round(100 * share)
        field, ink = next(((field, ink) for least, field, ink in SHADES if of_100 >= least), (PAPER, INK))
        box = Rectangle((column + 0.03, top + 0.05), 0.94, 0.9, facecolor=field, edgecolor=INK, linewidth=0.7)
        axes.add_patch(box)
        text = "–" if share is None else number(of_100)
        axes.text(
            column + 0.5, top + 0.52, text, ha="center", va="center", fontsize=10 if is_narrow() else 15, color=ink,
            fontweight="bold" if of_100 else "normal",
        )  # fmt: skip
    size = 10 if is_narrow() else 13
    axes.text(columns + 1.0, top + 0.52, row.first_die, ha="center", va="center", fontsize=size, fontweight="bold")


def kilograms_by_hours(lines: Sequence[tuple[str, Sequence[Range]]], tried: Sequence[float]) -> Figure:
    """Kilograms lost by one outage, with their ranges, against hours until repaired; a panel for each."""
    rows = -(-len(lines) // 2)
    with styled():
        figure, made = drawing(2.2 * rows + 0.6, rows=rows, columns=2)
        panels = list(made.flat)
        top = max(each.high if each.high is not None else each.mean for _, found in lines for each in found)
        low = min(each.low if each.low is not None else each.mean for _, found in lines for each in found)
        for axes, (title, found) in zip(panels, lines, strict=False):
            places = range(len(found))
            axes.axhline(0, color=INK, linewidth=0.8)
            axes.plot(places, [each.mean for each in found], color=BLUE, linewidth=1.8, marker="o", markersize=5)
            for place, each in zip(places, found, strict=True):
                if each.low is not None and each.high is not None:
                    axes.plot([place, place], [each.low, each.high], color=SKY, linewidth=3, alpha=1.0, zorder=1)
            axes.set_title(wrapped([title], 40, 44)[0], fontsize=10)
            axes.set_xticks(places, labels=[_short(hours) for hours in tried], fontsize=9.5)
            axes.set_ylim(min(low, 0) * 1.05, max(top, 1) * 1.05)
            axes.grid(axis="y")
            in_masses(axes, "y", marks=5)
        for axes in panels[len(lines) :]:
            axes.set_visible(False)
        figure.supylabel(f"greens lost by one outage, {units.unit('kg')}", fontsize=10)
        figure.supxlabel("repaired after (h: hours, d: days)", fontsize=10)
    return figure


def _short(hours: float) -> str:
    return f"{number(hours)} h" if hours < 24 else f"{number(hours / 24)} d"


def risks(outages: Outages) -> Figure:
    """Kilograms lost in a year to each machine, with the range of the average."""
    rows = sorted(outages.year.machines, key=lambda risk: -risk.lost.kg.mean)
    named = [
        (of_the_room(BY_KEY[risk.machine].many, outages.scenario), risk.lost.kg, True, _lost(risk.lost.kg))
        for risk in rows
    ]
    return _dots(named, "of greens lost a year, because it can fail", "What outages cost in a year", 0.28)


def _lost(found: Range) -> str:
    return "none clear" if found.low is not None and found.low <= 0 else mass_cell(found.mean)


def protections(outages: Outages) -> Figure:
    """Kilograms a year that each protection keeps: those to add, then those that are there."""
    rows = [
        (
            words.protection(each.protection) + ("" if each.protection.is_added else " (is there)"),
            each.worth.kg,
            each.protection.is_added,
            mass_cell(each.worth.kg.mean),
        )
        for each in sorted(outages.year.protections, key=lambda e: (not e.protection.is_added, -e.worth.kg.mean))
    ]
    return _dots(rows, "of greens kept a year", "What each protection keeps; hollow: there already")


def _dots(rows: Sequence[tuple[str, Range, bool, str]], foot: str, title: str, inches: float = 0.46) -> Figure:
    with styled():
        names = wrapped([name for name, *_ in rows], 38)
        figure, axes = drawing(1.1 + row_inches(names, inches) * len(rows))
        axes.axvline(0, color=INK, linewidth=1.0)
        for height, (_, found, is_filled, text) in enumerate(rows):
            right = found.mean
            if found.low is not None and found.high is not None:
                right = max(right, found.high)
                axes.plot([found.low, found.high], [height, height], color=BLUE, linewidth=2.2, zorder=2)
            axes.plot(
                found.mean, height, marker="o", markersize=8, color=BLUE, markeredgewidth=1.6, linestyle="none",
                markerfacecolor=BLUE if is_filled else PAPER, zorder=3,
            )  # fmt: skip
            axes.annotate(text, (right, height), (5, 0), textcoords="offset points", va="center", fontsize=9.5)
        axes.set_yticks(range(len(rows)), labels=names)
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.margins(x=0.1)
        axes.grid(axis="x")
        axes.set_xlabel(in_masses(axes, "x", foot))
        axes.set_title(title)
    return figure


def event_weeks(event: OutageEvent) -> Figure:
    """Two weeks before the outage to fourteen after it."""
    first = max(0, event.outage.start_day // 7 - WEEKS_BEFORE)
    weeks = event.weeks[first : first + WEEKS_BEFORE + WEEKS_AFTER]
    struck_at = event.outage.start_day / 7.0 - 0.5 + event.outage.start_hour / 168.0
    places = [week.week - 1 for week in weeks]
    with styled():
        figure, (upper, lower) = drawing(4.0, rows=2, height_ratios=(2, 3))
        _bars(upper, places, [week.plants_lost for week in weeks], VERMILION, "//")
        upper.set_ylabel("plants lost more")
        upper.set_title("Plants lost because of it, in each week")
        _bars(lower, places, [week.kg_missing for week in weeks], SKY, "")
        _so_far(lower, places, weeks)
        lower.set_ylabel(in_masses(lower, "y", "handed out less"))
        lower.set_title("Greens missing: bars in the week, line so far (below zero: made up)")
        legend_below(figure, 2)
        start = event.scenario.room.start_date
        labels = [short_day(start + dt.timedelta(weeks=place)) for place in places]
        for axes in (upper, lower):
            axes.axhline(0, color=INK, linewidth=0.8)
            axes.axvline(struck_at, color=INK, linewidth=1.2, linestyle=(0, (3, 2)))
            axes.set_xticks(places, labels=labels if axes is lower else [""] * len(labels), fontsize=9.5)
            axes.grid(axis="y")
        upper.annotate("it begins", (struck_at, 1.0), (3, -10), xycoords=("data", "axes fraction"),
                       textcoords="offset points", fontsize=9.5)  # fmt: skip
        lower.tick_params(axis="x", rotation=45)
        lower.set_xlabel("week from")
    return figure


def _bars(axes: Axes, places: list[int], effects: list[Effect], color: str, hatch: str) -> None:
    means = [effect.mean.mean for effect in effects]
    axes.bar(places, means, color=color, hatch=hatch, edgecolor=INK, linewidth=0.6, width=0.72)
    for place, effect in zip(places, effects, strict=True):
        if effect.mean.low is not None and effect.mean.high is not None:
            axes.plot([place, place], [effect.mean.low, effect.mean.high], color=INK, linewidth=1.0)


def _so_far(axes: Axes, places: list[int], weeks: tuple[EventWeek, ...]) -> None:
    so_far = [week.kg_missing_so_far.mean for week in weeks]
    if all(each.low is not None and each.high is not None for each in so_far):
        axes.fill_between(
            places,
            [each.low or 0.0 for each in so_far],
            [each.high or 0.0 for each in so_far],
            color=BAND,
            linewidth=0,
            zorder=0,
        )
    axes.plot(
        places, [each.mean for each in so_far], color=BLUE, linewidth=2.2, marker="o", markersize=4, label="so far"
    )
