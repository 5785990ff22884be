"""Figures of the room: shelves through the year, crew hours, money and energy, and how the run-in was judged."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.figures import (
    BLUE,
    GREEN,
    INK,
    ON_DARK,
    ON_PALE,
    ORANGE,
    PAPER,
    QUIET,
    SKY,
    VERMILION,
    beside,
    drawing,
    in_pounds,
    legend_above,
    month_axis,
    months_to_name,
    styled,
)
from growsim.report.words import number, sensible
from growsim.spec.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.axes import Axes
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
        figure, axes = drawing(1.0 + 0.33 * max(1, len(rows)))
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
        axes.set_yticks(range(len(rows)), labels=[what for what, _, _ in rows])
        axes.set_ylim(len(rows) - 0.5, -0.5)
        axes.tick_params(axis="y", length=0)
        axes.set_title("Slots in use (number: month's average; the darker, the fuller)")
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
        axes.bar(when, worked, width=0.86, color="#bfe3d6", edgecolor=GREEN, linewidth=0.5, label="worked")
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
        axes.set_title("Crew hours: falling due, present and worked (average of all rehearsals)", pad=26)
        legend_above(axes)
        month_axis(axes, summaries.months(scenario, weeks), weeks)
    return figure


def _bars(axes: Axes, amounts: Mapping[str, float], unit: str, title: str, *, look: tuple[str, str]) -> None:
    colour, hatch = look
    rows = sorted(((name, amount) for name, amount in amounts.items() if amount > 0), key=lambda row: -row[1])
    for height, (_, amount) in enumerate(rows):
        axes.barh(height, amount, color=colour, hatch=hatch, edgecolor=INK, linewidth=0.6, height=0.66)
        beside(axes, amount, height, sensible(amount))
    axes.set_yticks(range(len(rows)), labels=[name for name, _ in rows])
    axes.set_ylim(max(len(rows), 1) - 0.5, -0.5)
    axes.set_xlim(0, 1.25 * max((amount for _, amount in rows), default=1.0))
    axes.set_title(title)
    axes.set_xlabel(unit)
    axes.grid(axis="x")
    if not rows:
        axes.set_yticks([])
        axes.text(0.5, 0.5, "nothing", transform=axes.transAxes, ha="center", va="center", color=QUIET)


def money_and_energy(accounts: Mapping[str, float], currency: str) -> Figure:
    """Cost a week by account and electricity a week by machine. accounts: account -> amount a week."""
    money = {name.removeprefix("money:"): value for name, value in accounts.items() if name.startswith("money:")}
    energy = {name.removeprefix("kwh:"): value for name, value in accounts.items() if name.startswith("kwh:")}
    rows = max(sum(value > 0 for value in money.values()), sum(value > 0 for value in energy.values()), 2)
    with styled():
        figure, (left, right) = drawing(1.3 + 0.36 * rows, columns=2)
        _bars(left, money, f"{currency} a week", "Cost a week", look=(ORANGE, ""))
        _bars(right, energy, "kWh a week", "Electricity a week", look=(SKY, "////"))
    return figure


def run_in(series: Sequence[float], truncation_week: int | None, run_in_weeks: float) -> Figure:
    """Output week by week from the first week on, where it becomes steady and where counting starts."""
    values = np.asarray(series, dtype=float)
    top = 1.3 * max(float(values.max()) if len(values) else 0.0, 0.1)
    with styled():
        figure, axes = drawing(2.5)
        axes.plot(np.arange(1, len(values) + 1), values, color=BLUE, linewidth=1.8)
        if truncation_week is not None:
            axes.axvline(truncation_week + 0.5, color=VERMILION, linestyle="--", linewidth=1.4)
            beside(axes, truncation_week + 0.5, 0.1 * top, "steady from here on", VERMILION)
        if run_in_weeks > 0:
            axes.axvline(run_in_weeks + 0.5, color=INK, linestyle=":", linewidth=1.6)
            beside(axes, run_in_weeks + 0.5, 0.92 * top, "counting starts here")
        axes.set_ylim(0, top)
        axes.grid(axis="y")
        axes.set_xlabel("week of the rehearsal")
        axes.set_ylabel("kg packed")
        in_pounds(axes, "right").set_ylabel("lb packed")
        axes.set_title("Does counting start in a filled room?")
    return figure
