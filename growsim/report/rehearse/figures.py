"""Figures of a rehearsal: shelves through the year, crew hours, how the warm-up was judged, where every seed went,
losses and failures of one rehearsed year.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from growsim.ledger.outcome import Outage, Outcome
from growsim.report import summaries
from growsim.report.figures import (
    BAND,
    BLUE,
    GREEN,
    INK,
    ON_DARK,
    ON_PALE,
    PAPER,
    QUIET,
    VERMILION,
    beside,
    drawing,
    in_masses,
    is_narrow,
    legend_below,
    month_axis,
    months_to_name,
    row_inches,
    styled,
    wrapped,
)
from growsim.report.words import number, of_the_room
from growsim.scenario.scenario import Scenario
from growsim.units import MINUTES_PER_WEEK
from growsim.vocabulary.losses import FATES, PLANT_LOSSES
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_ROWS = 30
_PALE_TO_DEEP = ["#f7f7f4", "#d5e3ee", "#9fc3de", "#5f9cc6", "#2a72a8", "#0b4a7d"]


def shelf_rows(outcomes: Sequence[Outcome], scenario: Scenario) -> list[tuple[str, summaries.Array, int]]:
    """(what, slots in use by week, slots there are for it): each rack, then its stages where it holds several.

    Where racks are many: the room as a whole and its stages.
    """
    used = summaries.slots_used(outcomes, scenario)
    racks = summaries.racks_used(used, scenario)
    rows: list[tuple[str, summaries.Array, int]] = []
    for rack, (total, has) in racks.items():
        stages = [(stage, series) for (its_rack, stage), series in used.items() if its_rack == rack]
        if len(stages) == 1:
            rows.append((f"{rack}, {stages[0][0]}", total, has))
            continue
        rows.append((f"{rack}, all", total, has))
        rows += [(f"– {stage}", series, summaries.slots_for(scenario, rack, stage)) for stage, series in stages]
    if len(rows) <= MOST_ROWS:
        return rows
    whole = np.sum([total for total, _ in racks.values()], axis=0)
    gathered = [("whole room, all", whole, sum(has for _, has in racks.values()))]
    for stage in summaries.stages_of(scenario):
        series = [row for (_, its_stage), row in used.items() if its_stage == stage]
        if series:
            slots = sum(summaries.slots_for(scenario, rack, stage) for rack in racks)
            gathered.append((f"– {stage}", np.sum(series, axis=0), slots))
    return gathered


def room_map(outcomes: Sequence[Outcome], scenario: Scenario) -> Figure:
    """Slots in use by rack and stage, week by week; the month's mean number of slots written on the strip."""
    from matplotlib.colors import LinearSegmentedColormap

    weeks = summaries.week_count(outcomes)
    months = summaries.months(scenario, weeks)
    rows = shelf_rows(outcomes, scenario)
    shades = LinearSegmentedColormap.from_list("pale to deep", _PALE_TO_DEEP)
    with styled():
        names = wrapped([what for what, _, _ in rows])
        figure, axes = drawing(1.0 + row_inches(names, 0.33) * max(1, len(rows)))
        for height, (_, series, slots) in enumerate(rows):
            share = np.clip(series / slots if slots else np.ones(weeks), 0, 1)
            axes.pcolormesh(
                np.arange(weeks + 1) - 0.5,
                [height - 0.42, height + 0.42],
                share[np.newaxis, :],
                cmap=shades,
                vmin=0,
                vmax=1,
                edgecolors="face",
                linewidth=0.2,
            )
            for month in months_to_name(months):
                at = float(series[list(month.weeks)].mean())
                middle = (month.weeks[0] + month.weeks[-1]) / 2
                dark = (at / slots if slots else 1) > 0.7
                axes.text(
                    middle,
                    height,
                    number(at),
                    ha="center",
                    va="center",
                    fontsize=9.5,
                    color=ON_DARK if dark else ON_PALE,
                )
            beside(axes, weeks - 0.5, height, f"of {slots}")
        for month in months:
            axes.axvline(month.weeks[0] - 0.5, color=PAPER, linewidth=0.8)
        axes.set_yticks(range(len(rows)), labels=names)
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.tick_params(axis="y", length=0)
        axes.set_title("Slots in use (number: month's average)")
        for side in ("left", "bottom"):
            axes.spines[side].set_visible(False)
        month_axis(axes, months, weeks)
    return figure


def crew_hours(outcomes: Sequence[Outcome], scenario: Scenario) -> Figure:
    """Hours of work falling due, hours present and hours worked, week by week, means over replications."""
    weeks = summaries.week_count(outcomes)
    needed, present, worked = (
        summaries.weekly_mean(outcomes, f"crew_hours_{kind}") for kind in ("needed", "present", "worked")
    )
    when = np.arange(weeks)
    top = 1.28 * max(float(needed.max()), float(present.max()), float(worked.max()), 1.0)
    with styled():
        figure, axes = drawing(3.6)
        axes.bar(when, worked, width=0.86, color=BAND, edgecolor=GREEN, linewidth=0.5, label="worked")
        axes.step(when, present, where="mid", color=BLUE, linewidth=2, label="present")
        axes.plot(when, needed, color=INK, linewidth=1.8, linestyle=(0, (4, 2)), label="falling due")
        short = needed > present
        if short.any():
            axes.plot(
                when[short],
                np.full(int(short.sum()), 0.93 * top),
                linestyle="none",
                marker="v",
                markersize=6,
                color=VERMILION,
                label="more due than present",
            )
        axes.set_ylim(0, top)
        axes.grid(axis="y")
        axes.set_ylabel("person-hours in the week")
        axes.set_title("Crew hours: falling due, present and worked (average of all rehearsals)")
        month_axis(axes, summaries.months(scenario, weeks), weeks)
        legend_below(figure, 4)
    return figure


def warm_up(series: Sequence[float], truncation_week: int | None, warm_up_weeks: float) -> Figure:
    """Output week by week from the first week on, where it becomes steady and where counting starts."""
    values = np.asarray(series, dtype=float)
    top = 1.3 * max(float(values.max()) if len(values) else 0.0, 0.1)
    with styled():
        figure, axes = drawing(2.5)
        axes.plot(np.arange(1, len(values) + 1), values, color=BLUE, linewidth=1.8)
        if truncation_week is not None:
            axes.axvline(truncation_week + 0.5, color=VERMILION, linestyle="--", linewidth=1.4)
            beside(axes, truncation_week + 0.5, 0.1 * top, "steady from here on", VERMILION)
        if warm_up_weeks > 0:
            axes.axvline(warm_up_weeks + 0.5, color=INK, linestyle=":", linewidth=1.6)
            beside(axes, warm_up_weeks + 0.5, 0.92 * top, "counting starts here")
        axes.set_ylim(0, top)
        axes.grid(axis="y")
        axes.set_xlabel("week of the rehearsal")
        axes.set_ylabel(in_masses(axes, "y", "packed", 4))  # few marks are short ones: the label stays in sight
        axes.set_title("Does counting start in a filled room?")
    return figure


def every_seed(outcomes: Sequence[Outcome]) -> Figure:
    """Of 100 seeds sown of each crop, what became of them: one bar a crop, all crops first."""
    fates = summaries.fate_means(outcomes)
    rows = {"all crops": summaries.all_crops(fates), **fates} if len(fates) > 1 else dict(fates)
    shown = [fate for fate in FATES if any(row[fate.key] > 0.002 * math.fsum(row.values()) for row in rows.values())]
    with styled():
        names, columns = wrapped(list(rows)), 1 if is_narrow() else 2
        figure, axes = drawing(1.5 + row_inches(names, 0.52) * len(rows) + 0.22 * -(-len(shown) // columns))
        for height, row in enumerate(rows.values()):
            sown = math.fsum(row.values())
            left = 0.0
            for fate in shown:
                share = 100 * row[fate.key] / sown if sown else 0.0
                axes.barh(
                    height,
                    share,
                    left=left,
                    color=fate.color,
                    hatch=fate.hatch,
                    edgecolor=INK,
                    linewidth=0.6,
                    height=0.7,
                )
                if share >= (9 if is_narrow() else 4):
                    axes.text(
                        left + share / 2,
                        height,
                        number(share),
                        ha="center",
                        va="center",
                        fontsize=10,
                        color=ON_PALE,
                        bbox={"boxstyle": "round,pad=0.15", "facecolor": ON_DARK, "edgecolor": "none"},
                    )
                left += share
        axes.set_yticks(range(len(rows)), labels=names)
        axes.invert_yaxis()
        axes.set_xlim(0, 100)
        axes.set_xlabel("of 100 seeds sown")
        axes.set_title("Where every seed went")
        for fate in shown:
            axes.bar(0, 0, color=fate.color, hatch=fate.hatch, edgecolor=INK, linewidth=0.6, label=fate.label)
        legend_below(figure, columns, handleheight=1.1)
    return figure


def _outage_rows(outages: Sequence[Outage], scenario: Scenario) -> dict[str, list[Outage]]:
    rows: dict[str, list[Outage]] = {}
    for outage in outages:
        rows.setdefault(of_the_room(BY_KEY[outage.machine].at(outage.where), scenario), []).append(outage)
    return rows


def losses_and_failures(outcome: Outcome, scenario: Scenario) -> Figure:
    """One rehearsed year on a time line: plants lost each week by cause, and the machines that were down below."""
    weeks = summaries.week_count([outcome])
    rows = _outage_rows(outcome.counted_outages, scenario)
    months = summaries.months(scenario, weeks)
    with styled():
        names = wrapped(list(rows))
        high = row_inches(names, 0.36) * max(1, len(rows))
        figure, (upper, lower) = drawing(
            (4.1 if is_narrow() else 3.3) + high, rows=2, height_ratios=[2.3, high + 0.2], hspace=0.02
        )
        under, edges = np.zeros(weeks), np.repeat(np.arange(weeks + 1) - 0.5, 2)[1:-1]
        for loss in PLANT_LOSSES:
            series = np.array(outcome.weeks.get(loss.series, (0.0,) * weeks)[:weeks])
            if not series.any():
                continue
            upper.fill_between(
                edges,
                np.repeat(under, 2),
                np.repeat(under + series, 2),
                facecolor=loss.color,
                hatch=loss.hatch,
                edgecolor=INK,
                linewidth=0.5,
                label=loss.label,
            )
            under += series
        upper.set_ylim(0, max(1.0, 1.1 * float(under.max())))
        upper.set_ylabel("plants lost in the week")
        upper.grid(axis="y")
        figure.suptitle(f"Losses and failures in one rehearsal, number {outcome.replication}", x=0.01, ha="left")
        upper.yaxis.get_major_locator().set_params(integer=True)
        if under.any():
            legend_below(figure, 2, handleheight=1.1)
        month_axis(upper, months, weeks, named=False)
        end = weeks * MINUTES_PER_WEEK
        for lane, outages in enumerate(rows.values()):
            for outage in outages:
                begin = outage.down_minute / MINUTES_PER_WEEK - 0.5
                until = (outage.repaired_minute if outage.repaired_minute is not None else end) / MINUTES_PER_WEEK - 0.5
                lower.barh(
                    lane,
                    max(until - begin, 0.15),
                    left=begin,
                    height=0.55,
                    color=VERMILION,
                    edgecolor=INK,
                    linewidth=0.6,
                )
        lower.set_yticks(range(len(rows)), labels=names)
        lower.set_ylim(len(rows) - 0.4 if rows else 0.6, -0.6)
        if not rows:
            lower.set_yticks([])
            lower.text(
                0.5, 0.5, "no machine was down", transform=lower.transAxes, ha="center", va="center", color=QUIET
            )
        lower.grid(axis="x")
        lower.set_xlabel("machines down (a bar from failure to repair)")
        month_axis(lower, months, weeks)
    return figure
