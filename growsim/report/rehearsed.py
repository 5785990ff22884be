"""What the reports of `rehearse` and `funder` share: a rehearsal week by week, its money and its energy."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from growsim import units
from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.figures import (
    BAND,
    BLUE,
    INK,
    ORANGE,
    QUIET,
    SKY,
    VERMILION,
    beside,
    drawing,
    in_masses,
    legend_below,
    month_axis,
    styled,
    wrapped,
)
from growsim.report.frame import picture
from growsim.report.page import Block, Section, Text
from growsim.report.tables import Table
from growsim.report.words import mass_cell, money, of_the_room, sensible, short_date
from growsim.scenario.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.run.rehearse import Rehearsal


class Drawn:
    """Draws figures and makes pictures of them; leaves out those that need a whole week where there is none."""

    def __init__(self, rehearsal: Rehearsal, folder: Path) -> None:
        self.rehearsal, self.folder = rehearsal, folder
        self.has_weeks = summaries.week_count(rehearsal.outcomes) > 0

    def picture(self, name: str, draw: Callable[[], Figure], caption: str, *behind_it: Callable[[], Table]) -> Block:
        """The figure with its caption and tables, or a sentence where there is no whole week to draw."""
        if not self.has_weeks:
            return Text("No whole week was rehearsed, so there is nothing to draw here.")
        return picture(draw, self.folder, name, caption, *(make() for make in behind_it))


def output_picture(drawn: Drawn) -> Block:
    """Greens packed week by week, with their band, the plan on paper and the orders."""
    outcomes, scenario, paper = drawn.rehearsal.outcomes, drawn.rehearsal.scenario, drawn.rehearsal.on_paper
    return drawn.picture(
        "weekly-output",
        lambda: draw_weeks(outcomes, paper, scenario),
        "Greens packed in each week. Line: the middle of all rehearsals. Shaded: what eight weeks in ten bring. "
        "Dashed: on paper, nothing by chance. Dotted: what partners order.",
        lambda: _table_of_weeks(outcomes, paper, scenario),
    )


def draw_weeks(outcomes: Sequence[Outcome], on_paper: Outcome, scenario: Scenario) -> Figure:
    """Greens packed week by week: median, range of one week, the plan on paper and what partners order."""
    weeks = summaries.week_count(outcomes)
    packed = summaries.band(outcomes, "kg_packed")
    paper = np.array(on_paper.weeks.get("kg_packed", (0.0,) * weeks)[:weeks])
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
        axes.set_ylim(0, top)
        axes.grid(axis="y")
        axes.set_ylabel(in_masses(axes, "y", "packed in the week"))
        axes.set_title("Greens packed each week")
        month_axis(axes, summaries.months(scenario, weeks), weeks)
        legend_below(figure, 4)
    return figure


def _table_of_weeks(outcomes: Sequence[Outcome], on_paper: Outcome, scenario: Scenario) -> Table:
    """Week by week: range, middle, paper, ordered."""
    weeks = summaries.week_count(outcomes)
    packed, ordered = summaries.band(outcomes, "kg_packed"), summaries.weekly_mean(outcomes, "kg_ordered")
    paper = on_paper.weeks.get("kg_packed", (0.0,) * weeks)
    starts = summaries.week_starts(scenario, weeks)

    rows = tuple(
        (
            short_date(starts[week]),
            mass_cell(packed.low[week]),
            mass_cell(packed.median[week]),
            mass_cell(packed.high[week]),
            mass_cell(paper[week]),
            mass_cell(float(ordered[week])),
        )
        for week in range(weeks)
    )
    head = ("week from", "1 in 10 below", "middle", "1 in 10 above", "on paper", "ordered")
    return Table(f"Greens packed, {units.unit('kg')} in the week", head, rows)


def money_section(rehearsal: Rehearsal, drawn: Drawn) -> Section:
    """What it costs and what electricity it takes."""
    scenario, days = rehearsal.scenario, rehearsal.plan.days
    per_week, currency = summaries.accounts_per_week(rehearsal.outcomes, days), scenario.prices.currency
    accounts = {of_the_room(name, scenario): amount for name, amount in per_week.items()}
    blocks: list[Block] = [
        drawn.picture(
            "money-and-energy",
            lambda: draw_money_and_energy(accounts, currency),
            f"Average of all rehearsals. Electricity is counted at "
            f"{money(scenario.prices.electricity_per_kwh, currency)} a "
            "kWh; every price is the room file's.",
            lambda: _table_of_accounts(accounts, currency),
        )
    ]
    value = rehearsal.estimates.get("volunteer_value_per_week")
    if value is not None and value.mean > 0:
        blocks.append(
            Text(
                f"Volunteer hours are worth {money(value.mean, currency)} a week at "
                f"{money(scenario.prices.volunteer_hour_value, currency)} an hour; that is shown beside the cost and "
                f"is "
                "not in it."
            )
        )
    return Section("money", "Money and energy", tuple(blocks))


def _bars(axes: Axes, amounts: Mapping[str, float], unit: str, title: str, *, look: tuple[str, str]) -> None:
    color, hatch = look
    rows = sorted(((name, amount) for name, amount in amounts.items() if amount > 0), key=lambda row: -row[1])
    for height, (_, amount) in enumerate(rows):
        axes.barh(height, amount, color=color, hatch=hatch, edgecolor=INK, linewidth=0.6, height=0.66)
        beside(axes, amount, height, sensible(amount))
    axes.set_yticks(range(len(rows)), labels=wrapped([name for name, _ in rows]))
    axes.set_ylim(max(len(rows), 1) - 0.5, -0.5)
    axes.set_xlim(0, 1.25 * max((amount for _, amount in rows), default=1.0))
    axes.set_title(title)
    axes.set_xlabel(unit)
    axes.grid(axis="x")
    if not rows:
        axes.set_yticks([])
        axes.text(0.5, 0.5, "nothing", transform=axes.transAxes, ha="center", va="center", color=QUIET)


def draw_money_and_energy(accounts: Mapping[str, float], currency: str) -> Figure:
    """Cost a week by account and electricity a week by machine. accounts: account -> amount a week."""
    money = {name.removeprefix("money:"): value for name, value in accounts.items() if name.startswith("money:")}
    energy = {name.removeprefix("kwh:"): value for name, value in accounts.items() if name.startswith("kwh:")}
    rows = max(sum(value > 0 for value in money.values()), sum(value > 0 for value in energy.values()), 2)
    with styled():
        figure, (left, right) = drawing(1.3 + 0.36 * rows, columns=2)
        _bars(left, money, f"{currency} a week", "Cost a week", look=(ORANGE, ""))
        _bars(right, energy, "kWh a week", "Electricity a week", look=(SKY, "////"))
    return figure


def _table_of_accounts(per_week: Mapping[str, float], currency: str) -> Table:
    """Every account, a week."""
    ours = {"money": currency, "value": currency, "kwh": "kWh", "liters": "L", "kg": "kg", "hours": "h"}
    names = {
        "value:volunteers": "value of volunteer hours (not in the cost)",
        "kg:co2": "CO2 given off, for leaks and for what plants take up",
    }
    rows = []
    for name, amount in per_week.items():
        kind, _, what = name.partition(":")
        unit = ours.get(kind, kind)
        rows.append((names.get(name, what or kind), sensible(units.amount(amount, unit)), units.unit(unit)))
    return Table("Accounts (averages a week)", ("account", "amount", "unit"), tuple(rows))
