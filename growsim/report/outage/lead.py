"""The page of the answer about outages: what they cost, how long there is, what is worth having, machine by machine."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.front import AnswerTable, Cell, Column, Front, Row, in_brackets
from growsim.report.outage import words
from growsim.report.outage.tables import lost_cell, ranged
from growsim.report.outage.wall import Urgency, by_urgency
from growsim.report.words import counted, listed, mass, mass_cell, money, number, rehearsals, too_few, upper_first
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY, MACHINES, MachineKind

if TYPE_CHECKING:
    from growsim.study.outage.question import Outages
    from growsim.study.outage.year import MachineRisk, ProtectionWorth
    from growsim.study.pay_back import Range

AS_IT_IS = "the room as it is"
FEW_YEARS = 10  # with fewer years in which a machine failed, little can be said of it


def front(outages: Outages) -> Front:
    """The page of the answer."""
    said = tuple(each for each in (worth_having(outages), worth_keeping(outages)) if each)
    return Front(headline(outages), said, table(outages), how_sure(outages), why(outages))


def headline(outages: Outages) -> str:
    """To what most is lost for certain in a year, and how soon 1 plant in 20 is dead."""
    worst, years = _costliest(outages), rehearsals(outages.replications, outages.plan.days)
    if worst is None:
        said = "By the room file no machine ever fails and the power never goes out: nothing is lost to outages."
    elif (worst.lost.kg.low or 0.0) > 0:
        said = f"Most is lost to {BY_KEY[worst.machine].many}: {_greens(worst.lost.kg)}."
    else:
        most = worst.lost.kg.high or 0.0
        said = f"In {years} outages cost no greens for certain" + (
            f"; {BY_KEY[worst.machine].many} at most {mass(most)} a year." if most > 0 else "."
        )
    return f"{said}{_first_to_die(outages)}"


def _costliest(outages: Outages) -> MachineRisk | None:
    """What costs most: of what is clear of chance, else of what may cost most; None where nothing fails."""
    return max(
        outages.year.machines,
        key=lambda risk: ((risk.lost.kg.low or 0.0) > 0, risk.lost.kg.mean, risk.lost.kg.high or 0.0),
        default=None,
    )


def why(outages: Outages) -> str:
    """How often and how long what costs most is down, and whether plants last as long."""
    worst = _costliest(outages)
    if worst is None or worst.hours_down is None:
        return ""
    kind, lasts = BY_KEY[worst.machine], words.hours_left(worst.hours_down)
    said = f"{upper_first(kind.many)}: {number(worst.failures.mean, 1)} times a year, for {lasts} on average"
    here = (each.first_die for each in by_urgency(outages) if each.machine == kind.trial)
    dead = min((hours for hours in here if hours is not None), default=math.inf)
    return f"{said}, longer than plants last at worst." if dead < worst.hours_down else f"{said}."


def _first_to_die(outages: Outages) -> str:
    urgent = next((each for each in by_urgency(outages) if each.first_die is not None), None)
    if urgent is None:
        return " No outage kills a plant within a week."
    when = f" in {MONTHS[urgent.month]}" if urgent.by_month else ""
    down = BY_KEY[urgent.machine].down
    return f" With {down}{when} 1 plant in 20 is dead {words.after(urgent.first_die)}, at worst."


def worth_having(outages: Outages) -> str:
    """The protection that brings most of those surely worth adding, and what to add to it; or that none is surely."""
    offered = sorted((e for e in outages.year.protections if e.protection.is_added), key=lambda each: -_worth(each))
    if not offered:
        return ""
    good = [each for each in offered if words.verdict(each) == "worth it"]
    if not good:
        sure = (
            "Nothing more can be shown to be worth buying"
            if _are_priced(outages)
            else "Nothing more surely keeps greens"
        )
        said = f"{sure} in {rehearsals(outages.replications, outages.plan.days)}."
        likely = next((each for each in offered if words.verdict(each) == "may be worth it"), None)
        return said if likely is None else f"{said} The likeliest is {_what_it_brings(likely, outages)}"
    best = good[0]
    kind = "Worth buying" if best.protection.cost_per_year != 0 else "Worth doing, at no price"
    return f"{kind}: {_what_it_brings(best, outages)}{_as_well(best, outages)}"


def _are_priced(outages: Outages) -> bool:
    """Whether any protection that could be added has a price."""
    return any(each.net is not None for each in outages.year.protections if each.protection.is_added)


def _what_it_brings(each: ProtectionWorth, outages: Outages) -> str:
    left, keeps = _left(each, outages.scenario.prices.currency), words.keeps(each.protection)
    said = f"{words.protection(each.protection)}. {'They keep' if keeps == 'keep' else 'It keeps'}"
    return f"{said} {_greens(each.worth.kg)}{f', {left}' if left else ''}."


def _as_well(best: ProtectionWorth, outages: Outages) -> str:
    """What to add to the best: of the pairs that were tried the one that surely leaves something, and more than it."""
    for pair in outages.year.pairs:
        left = pair.worth.money if pair.net is None else pair.net
        if best.protection in (pair.first, pair.second) and (left.low or 0.0) > 0 and left.mean > _worth(best):
            other = pair.second if pair.first == best.protection else pair.first
            both = _money(left, outages.scenario.prices.currency)
            return f" Add {words.protection(other)}: together they leave {both}."
    return ""


def _worth(each: ProtectionWorth) -> float:
    return each.worth.money.mean if each.net is None else each.net.mean


def _left(each: ProtectionWorth, currency: str) -> str:
    """ "and leaves USD 20 (3 to 37) once paid"; of no price, what it may cost at most."""
    if each.net is None:
        return f"and may cost up to {_money(each.worth.money, currency)}"
    once = " once paid" if each.protection.cost_per_year else ""
    leave = "leave" if words.keeps(each.protection) == "keep" else "leaves"
    return f"and {leave} {_money(each.net, currency)}{once}" if each.net.mean > 0 else ""


def worth_keeping(outages: Outages) -> str:
    """What is there and keeps most, against the same years without it; "" where none can be shown to."""
    there = [each for each in outages.year.protections if not each.protection.is_added]
    shown = [each for each in there if each.worth.kg.low is not None and each.worth.kg.low > 0]
    if not shown:
        return ""
    best = max(shown, key=lambda each: each.worth.kg.mean)
    it = "them" if words.keeps(best.protection) == "keep" else "it"
    return f"Keep {words.protection(best.protection)}: without {it} {_greens(best.worth.kg)} more would be lost."


def table(outages: Outages) -> AnswerTable:
    """A kind of machine a line: how often, how long there is, what it costs, what helps most and what that leaves."""
    currency = outages.scenario.prices.currency
    urgent = {each.machine: each for each in reversed(by_urgency(outages))}
    risks = {risk.machine: risk for risk in outages.year.machines}
    kinds = [kind for kind in MACHINES if kind.key in risks or kind.key in urgent]
    kinds.sort(key=lambda kind: -risks[kind.key].lost.kg.mean if kind.key in risks else 0.0)
    priced = _are_priced(outages)
    rows = [_row(kind, risks.get(kind.key), urgent.get(kind.trial), outages) for kind in kinds]
    helps = f"{AS_IT_IS} with the protection, less {AS_IT_IS}, in the same years"
    return AnswerTable(
        "What is lost to outages in a year, and what helps",
        (
            Column("times a year", AS_IT_IS),
            Column("1 plant in 20 dead after", f"{AS_IT_IS}, at the worst hour and in the worst month"),
            Column(f"greens lost, {units.unit('kg')}", f"{AS_IT_IS}, less the room in which it cannot fail"),
            Column("best protection to add", helps),
            *([Column(f"left after its price, {currency}", helps)] if priced else []),
        ),
        tuple(row if priced else Row(row.label, row.cells[:-1]) for row in rows),
        "Average and range; none clear: the range reaches zero."
        + (" Left: greens kept at what they cost to grow here, less its price." if priced else ""),
        "what fails",
    )


def _row(kind: MachineKind, risk: MachineRisk | None, urgency: Urgency | None, outages: Outages) -> Row:
    often = Cell("not in the room file")
    lost = Cell("")
    if risk is not None:
        found = risk.failures
        text = number(found.mean, 1) if risk.years_with else f"not seen in {counted(risk.lost.years, 'year')}"
        often = Cell(text, found.mean, found.low, found.high, "outages/year")
        lost = lost_cell(risk.lost.kg, mass_cell, "kg/year")
    first = Cell("")
    if urgency is not None:
        when = f" ({MONTHS[urgency.month]})" if urgency.by_month and urgency.first_die is not None else ""
        text = "none dies" if urgency.first_die is None else words.hours_left(urgency.first_die)
        first = Cell(f"{text}{when}", urgency.first_die, unit="h")
    best = max((each for each in outages.year.protections if _is_of(kind, each)), key=_worth, default=None)
    if best is None:
        return Row(kind.many, (often, first, lost, Cell(""), Cell("")))
    leaves = ranged(best.net, number, "money/year") if best.net is not None else Cell("no price given")
    return Row(kind.many, (often, first, lost, Cell(words.protection(best.protection)), leaves))


def _is_of(kind: MachineKind, each: ProtectionWorth) -> bool:
    """Whether it could be added against that kind, keeps greens and is not surely dearer than they are."""
    touches = each.protection.touches
    about = each.protection.is_added and (touches is None or kind.key in touches)
    return about and each.worth.kg.mean > 0 and words.verdict(each) not in ("never called on", "not worth its price")


def how_sure(outages: Outages) -> str:
    """What it rests on, and of which machines too little was seen."""
    n = outages.replications
    said = f"From {rehearsals(n, outages.plan.days)}, the same years with and without{too_few(n)}."
    rare = [BY_KEY[risk.machine].many for risk in outages.year.machines if risk.years_with < FEW_YEARS]
    return f"{said} Ask for more years: too few had an outage of {listed(rare)}." if rare else said


def _greens(found: Range) -> str:
    """ "4.5 kg of greens a year (1.2 to 7.8)"."""
    return f"{mass(found.mean)} of greens a year{in_brackets(found.mean, found.low, found.high, mass_cell)}"


def _money(found: Range, currency: str) -> str:
    return f"{money(found.mean, currency, 0)}{in_brackets(found.mean, found.low, found.high, number)}"
