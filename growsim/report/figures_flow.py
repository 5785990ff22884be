"""Figures of plants and greens: weekly output, where every seed went, losses and failures of one rehearsed year."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from growsim.ledger.catalogue import FATE_LABELS, FATES
from growsim.ledger.outcome import Outage, Outcome
from growsim.report import summaries
from growsim.report.figures import (
    BAND,
    BLUE,
    FATE_LOOKS,
    INK,
    ON_DARK,
    ON_PALE,
    QUIET,
    VERMILION,
    drawing,
    in_pounds,
    legend_above,
    month_axis,
    styled,
)
from growsim.report.words import number
from growsim.spec.scenario import Scenario
from growsim.units import MINUTES_PER_WEEK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

LOSSES = tuple(fate for fate in FATES if fate not in ("cut", "not_emerged", "thinned"))


def weekly_output(outcomes: Sequence[Outcome], on_paper: Outcome, scenario: Scenario) -> Figure:
    """Greens packed week by week: median, range of one week, the plan on paper and what partners order."""
    weeks = summaries.week_count(outcomes)
    packed = summaries.band(outcomes, "kg_cut")
    paper = np.array(on_paper.weeks.get("kg_cut", (0.0,) * weeks)[:weeks])
    ordered = summaries.weekly_mean(outcomes, "kg_ordered")
    when = np.arange(weeks)
    top = 1.12 * max(float(packed.high.max()), float(paper.max()), float(ordered.max()), 0.1)
    with styled():
        figure, axes = drawing(3.7)
        axes.fill_between(when, packed.low, packed.high, color=BAND, linewidth=0, label="8 weeks in 10")
        axes.plot(when, packed.median, color=BLUE, linewidth=2.2, label="middle of all rehearsals")
        axes.plot(when, paper, color=INK, linewidth=1.3, linestyle=(0, (5, 3)), label="plan on paper")
        if ordered.any():
            axes.step(
                when, ordered, where="mid", color=VERMILION, linewidth=1.8, linestyle=(0, (1, 1.2)), label="ordered"
            )
        legend_above(axes)
        axes.set_ylim(0, top)
        axes.grid(axis="y")
        axes.set_ylabel("kg packed in the week")
        axes.set_title("Greens packed each week", pad=26)
        month_axis(axes, summaries.months(scenario, weeks), weeks)
        in_pounds(axes, "right").set_ylabel("lb packed in the week")
    return figure


def every_seed(outcomes: Sequence[Outcome]) -> Figure:
    """Of 100 seeds sown of each crop, what became of them: one bar a crop, all crops first."""
    fates = summaries.fate_means(outcomes)
    rows = {"all crops": summaries.all_crops(fates), **fates} if len(fates) > 1 else dict(fates)
    order = ("cut", "growing_at_end", *LOSSES, "thinned", "not_emerged")
    shown = [fate for fate in order if any(row[fate] > 0.002 * sum(row.values()) for row in rows.values())]
    with styled():
        figure, axes = drawing(1.5 + 0.52 * len(rows) + 0.22 * -(-len(shown) // 2))
        for height, row in enumerate(rows.values()):
            sown = sum(row.values())
            left = 0.0
            for fate in shown:
                share = 100 * row[fate] / sown if sown else 0.0
                colour, hatch = FATE_LOOKS[fate]
                axes.barh(height, share, left=left, color=colour, hatch=hatch, edgecolor=INK, linewidth=0.6, height=0.7)
                if share >= 4:
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
        axes.set_yticks(range(len(rows)), labels=list(rows))
        axes.invert_yaxis()
        axes.set_xlim(0, 100)
        axes.set_xlabel("of 100 seeds sown")
        axes.set_title("Where every seed went")
        for fate in shown:
            colour, hatch = FATE_LOOKS[fate]
            axes.bar(0, 0, color=colour, hatch=hatch, edgecolor=INK, linewidth=0.6, label=FATE_LABELS[fate])
        figure.legend(loc="outside lower left", ncols=2, handlelength=2.6, handleheight=1.1)
    return figure


def _outage_rows(outages: Sequence[Outage]) -> dict[str, list[Outage]]:
    rows: dict[str, list[Outage]] = {}
    for outage in outages:
        rows.setdefault(f"{outage.machine}, {outage.where}" if outage.where else outage.machine, []).append(outage)
    return rows


def losses_and_failures(outcome: Outcome, scenario: Scenario) -> Figure:
    """One rehearsed year on a time line: plants lost each week by cause, and the machines that stood still below."""
    weeks = summaries.week_count([outcome])
    rows = _outage_rows(outcome.outages)
    months = summaries.months(scenario, weeks)
    with styled():
        lanes = max(1, len(rows))
        figure, (upper, lower) = drawing(
            2.9 + 0.36 * lanes + 0.4, rows=2, height_ratios=[2.3, 0.36 * lanes + 0.2], hspace=0.02
        )
        under, edges = np.zeros(weeks), np.repeat(np.arange(weeks + 1) - 0.5, 2)[1:-1]
        for fate in LOSSES:
            series = np.array(outcome.weeks.get(f"lost:{fate}", (0.0,) * weeks)[:weeks])
            if not series.any():
                continue
            colour, hatch = FATE_LOOKS[fate]
            upper.fill_between(
                edges,
                np.repeat(under, 2),
                np.repeat(under + series, 2),
                facecolor=colour,
                hatch=hatch,
                edgecolor=INK,
                linewidth=0.5,
                label=FATE_LABELS[fate],
            )
            under += series
        upper.set_ylim(0, max(1.0, 1.1 * float(under.max())))
        upper.set_ylabel("plants lost in the week")
        upper.grid(axis="y")
        figure.suptitle(f"Losses and failures in one rehearsal, number {outcome.replication}", x=0.01, ha="left")
        upper.yaxis.get_major_locator().set_params(integer=True)
        if under.any():
            legend_above(upper, columns=3)
        else:
            upper.text(0.5, 0.5, "no plant lost once it was up", transform=upper.transAxes, ha="center", color=QUIET)
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
        lower.set_yticks(range(len(rows)), labels=list(rows))
        lower.set_ylim(len(rows) - 0.4 if rows else 0.6, -0.6)
        if not rows:
            lower.set_yticks([])
            lower.text(
                0.5, 0.5, "no machine stood still", transform=lower.transAxes, ha="center", va="center", color=QUIET
            )
        lower.grid(axis="x")
        lower.set_xlabel("machines standing still (a bar from failure to repair)")
        month_axis(lower, months, weeks)
    return figure
