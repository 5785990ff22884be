"""Tables of an outage study."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.front import Cell
from growsim.report.outage import words
from growsim.report.tables import Table
from growsim.report.words import listed, mass_cell, money_per_mass, number, percent, short_date, upper_first
from growsim.study.outage.clock import Hours, of_stage
from growsim.study.outage.trials import ALL
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY, MACHINES

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.study.outage.event import OutageEvent
    from growsim.study.outage.question import Outages
    from growsim.study.pay_back import Range


def clock(outages: Outages) -> Table:
    """Hours until plants suffer, the first die and half are dead: worst case and usual case."""
    rows = []
    for machine, month in dict.fromkeys((line.machine, line.month) for line in outages.clock):
        kind = BY_KEY[machine]
        if not kind.can_kill:
            continue
        lines = [line for line in outages.clock if (line.machine, line.month) == (machine, month)]
        name = f"{words.tried(kind)}, {MONTHS[month]}"
        stages = dict.fromkeys(line.stage for line in lines) if kind.stops_water else {ALL: None}
        for stage in stages:
            suffer, first, half = of_stage(lines, stage)
            rows.append((name, stage or "all", *(_worst_usual(each) for each in (suffer, first, half))))
    return Table(
        "Hours that are left: at worst (usually)",
        ("what is down, and when", "stage", "they suffer after", "1 in 20 is dead after", "half are dead after"),
        tuple(rows),
        "At worst: the thirstiest plants of the stage, the worst hour of the day, just before a flood. Usually: the "
        "middle of all cases. They suffer: growth stops for lack of water or light, or the air is warmer "
        "or colder than the tenderest crop bears. Rounded down, as in the "
        "sentences, to be on the safe side. –: not within a week.",
    )


def _worst_usual(hours: Hours) -> str:
    def text(value: float | None) -> str:
        if value is None:
            return "–"
        if value < 0.1:
            return "at once"
        if value >= 48:
            return f"{number(math.floor(value / 2.4) / 10, 1)} days"
        return f"{number(math.floor(value))} h" if value >= 10 else f"{number(math.floor(value * 10) / 10, 1)} h"

    return "–" if hours.worst is None else f"{text(hours.worst)} ({text(hours.middle)})"


def wall_numbers(outages: Outages) -> Table:
    """The numbers behind the wall chart, with their ranges: the worst hour of the day."""
    rows = []
    harmless = listed([row.down for row in MACHINES if not row.can_kill])
    several = {s.machine for s in outages.by_hours.strikes if s.month != outages.by_hours.strikes[0].month}
    for strike in outages.by_hours.strikes:
        for stage in (ALL, *strike.stages):
            losses = outages.by_hours.of(strike, stage)
            cells = []
            for hours in outages.by_hours.trials.hours:
                here = [x for (repaired, _), x in losses.items() if repaired == hours and x.lost_share is not None]
                worst = max(here, key=lambda loss: loss.lost_share.mean if loss.lost_share else 0.0, default=None)
                cells.append("–" if worst is None or worst.lost_share is None else _percent_range(worst.lost_share))
            rows.append((words.struck(strike, strike.machine in several), stage or "all", *cells))
    return Table(
        "Plants lost, of those standing where it strikes (95% range of the average)",
        ("what is down", "stage", *(words.repaired_after(hours) for hours in outages.by_hours.trials.hours)),
        tuple(rows),
        "The worst of four hours of the day. Counted with the timer's next flood, which may come hours after the "
        f"repair: whoever floods by hand at once loses fewer. {upper_first(harmless)} kill no plant.",
    )


def _percent_range(found: Range) -> str:
    if found.low is None or found.high is None or found.high - found.low < 0.005:
        return percent(found.mean)
    return f"{number(100 * found.mean)} ({number(100 * found.low)}–{number(100 * found.high)})%"


def kilograms(outages: Outages) -> Table:
    """Greens lost by one outage, with the range."""
    several = {s.machine for s in outages.by_hours.strikes if s.month != outages.by_hours.strikes[0].month}
    rows = []
    for strike in outages.by_hours.strikes:
        found = [loss.kg for loss in outages.by_hours.kilograms if loss.strike == strike]
        rows.append(
            (
                words.struck(strike, strike.machine in several),
                *(lost_cell(each, mass_cell, "kg").text for each in found),
            )
        )
    return Table(
        f"Greens lost by one outage, {units.unit('kg')} (95% range of the average)",
        ("what is down", *(words.repaired_after(hours) for hours in outages.by_hours.trials.hours)),
        tuple(rows),
        "Handed out less until all is made up that can be, averaged over the hours of the day. None clear: the range "
        "reaches down to zero.",
    )


def ranged(found: Range, told: Callable[[float], str], unit: str) -> Cell:
    """An average with its range, under a head that says the unit."""
    return Cell.ranged(found.mean, found.low, found.high, told, unit)


def lost_cell(found: Range, told: Callable[[float], str], unit: str) -> Cell:
    """A loss with its range; "none clear (up to 3.7)" where the range does not lie above zero."""
    if found.low is None or found.high is None or found.low > 0 or found.low == found.high:
        return ranged(found, told, unit)
    return Cell(f"none clear (up to {told(max(found.high, 0.0))})", found.mean, found.low, found.high, unit)


def _kg(found: Range) -> str:
    return ranged(found, mass_cell, "kg").text


def machines(outages: Outages) -> Table:
    """What each machine's failing costs in a year, counted in the years and by single outages."""
    currency = outages.scenario.prices.currency
    rows = []
    for risk in sorted(outages.year.machines, key=lambda each: -each.lost.kg.mean):
        by_single = outages.plants_by_single_outages.get(risk.machine)
        rows.append(
            (
                BY_KEY[risk.machine].many,
                number(risk.failures.mean, 1),
                words.hours_left(risk.hours_down) if risk.hours_down is not None else "–",
                f"{risk.years_with} of {risk.lost.years}",
                lost_cell(risk.lost.kg, mass_cell, "kg").text,
                lost_cell(risk.lost.plants, number, "").text,
                "–" if by_single is None else number(by_single),
                lost_cell(risk.lost.money, number, "").text,
            )
        )
    return Table(
        "What outages cost in a year (95% range of the average, for all lines at once)",
        (
            "",
            "outages a year",
            "each lasts",
            "years with one",
            f"greens lost, {units.unit('kg')}",
            "plants killed",
            "the same, by single outages",
            f"{currency} lost",
        ),
        tuple(rows),
        "The year as it is against the year in which it cannot fail. Money: greens at "
        f"{money_per_mass(outages.year.value_per_kg, currency)}, which is what they cost to grow here, and "
        "repairs. By single outages, as a check: each outage of these years looked up among the single ones.",
    )


def _plain(found: Range) -> str:
    return ranged(found, number, "").text


def protections(outages: Outages, *, added: bool) -> Table:
    """Protections to add, or those in place, by what they leave in money after their price."""
    currency = outages.scenario.prices.currency
    rows = []
    for each in outages.year.protections:
        if each.protection.is_added != added:
            continue
        rows.append(
            (
                words.protection(each.protection),
                _kg(each.worth.kg),
                _plain(each.worth.plants),
                _plain(each.worth.money),
                words.price(each, currency),
                "–" if each.net is None else _plain(each.net),
                words.years_seen(each),
                words.verdict(each),
            )
        )
    title = "Protections to add" if added else "Protections in place: the year as it is against the year without each"
    return Table(
        f"{title} (a year; 95% range of the average, for all protections at once)",
        (
            "",
            f"greens kept, {units.unit('kg')}",
            "plants saved",
            f"{currency} saved",
            "its price",
            f"{currency} left",
            "could matter in",
            "so",
        ),
        tuple(rows),
        "Prices are the room file's, spread over the years it lasts; hours of volunteers have no price in them. "
        "Worth it: the range of greens and of what is left lies above zero. Not worth its price: what is left "
        "lies below zero. Greens have another worth than money to those who get them: read the greens kept too.",
    )


def pairs(outages: Outages) -> Table:
    """The best few protections, two at a time."""
    currency = outages.scenario.prices.currency
    rows = tuple(
        (
            f"{words.protection(pair.first)} and {words.protection(pair.second)}",
            _kg(pair.worth.kg),
            mass_cell(pair.kg_alone),
            "–" if pair.net is None else _plain(pair.net),
        )
        for pair in outages.year.pairs
    )
    return Table(
        "The best few in pairs (a year)",
        ("", f"greens kept together, {units.unit('kg')}", "sum of each alone", f"{currency} left after both prices"),
        rows,
        "Less together than the sum of each alone: they protect against the same outages.",
    )


def event_weeks(event: OutageEvent) -> Table:
    """Week by week from the outage on: plants lost, kilograms missing and missing so far."""
    import datetime as dt

    first = event.outage.start_day // 7
    start = event.scenario.room.start_date
    rows = tuple(
        (
            short_date(start + dt.timedelta(weeks=week.week - 1)),
            _plain(week.plants_lost.mean),
            _kg(week.kg_missing.mean),
            mass_cell(week.kg_missing_so_far.mean.mean),
        )
        for week in event.weeks[first : first + 16]
    )
    return Table(
        "Week by week (95% range of the average)",
        ("week from", "plants lost", f"greens missing, {units.unit('kg')}", f"{units.unit('kg')} missing so far"),
        rows,
        "Against the same year without the outage. Below zero: handed out later, so made up.",
    )
