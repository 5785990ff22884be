"""Tables about promises: amounts by week and crop, deliveries, and what was tried to save them."""

from __future__ import annotations

from growsim import units
from growsim.report.promise.words import met_in_full
from growsim.report.tables import Table
from growsim.report.words import down_cell, mass_cell, number, percent, short_day
from growsim.scenario.names import ANY_CROP
from growsim.study.promise.answer import Promises
from growsim.study.promise.rescue import Rescue
from growsim.study.promised import Delivery
from growsim.vocabulary.days import SHORT_WEEKDAYS


def by_week(promises: Promises) -> Table:
    """Week by week: safe, likely and possible of everything and of each crop, beside what is ordered."""
    rows = []
    for each in promises.crops:
        week = f"week of {short_day(each.starts)}: " + (each.crop or "all greens")
        levels = (_down(each.there.safe), _down(each.there.likely), _down(each.there.possible))
        rows.append((week, *levels, _kg(each.ordered), _down(each.spare.safe)))
    return Table(
        "What there will be to hand out",
        (units.unit("kg"), "safe", "likely", "possible", "ordered", "safe on top of orders"),
        tuple(rows),
        "Safe: at least that comes in 90 of 100 rehearsals; likely: in 50; possible: in 10. Amounts are rounded down. "
        "Crops do not add up to all greens. Orders for any crop count in the line of all greens only.",
    )


def given_up(promises: Promises) -> Table:
    """Plants of the count that are past their last day."""
    return Table(
        "Counted, and past their last day",
        ("lot", "plants", "crop", "stage", "past the last day to be"),
        tuple(
            (each.lot, number(each.plants), each.crop, each.stage, "transplanted" if each.to_move else "harvested")
            for each in promises.given_up
        ),
        "By the room file's days; in each rehearsal they differ by chance.",
    )


def by_partner(promises: Promises) -> Table:
    """Every delivery of every standing order."""
    return Table(
        "Standing orders, delivery by delivery",
        (units.unit("kg"), "ordered", "safe", "likely", "met in full", "short on average", ""),
        tuple(_delivery(each) for each in promises.deliveries),
        "Safe and likely: what the partner gets of its order in 90 and in 50 of 100 rehearsals. In brackets: the 95% "
        "range of the share. At risk: met in full in fewer than 90 of 100 rehearsals.",
    )


def _delivery(each: Delivery) -> tuple[str, ...]:
    day = SHORT_WEEKDAYS[each.date.weekday()]
    crop = "any greens" if each.crop == ANY_CROP else each.crop
    chance = f"{met_in_full(each.chance.share)} ({percent(each.chance.low)} to {percent(each.chance.high)})"
    return (
        f"{day} {short_day(each.date)}, {each.partner}: {crop}",
        _kg(each.ordered),
        _down(each.gets.safe),
        _down(each.gets.likely),
        chance,
        _kg(each.short),
        "at risk" if each.is_at_risk else "",
    )


def tried(promises: Promises) -> Table:
    """Everything that was tried, the best first; what was done together stands above."""
    return Table(
        "What was tried",
        ("what", "saves", "puts at risk", "more deliveries met in full", f"more {units.unit('kg')} to partners", ""),
        tuple(_tried(rescue) for rescue in (*reversed(promises.together), *promises.rescues)),
        "Over all the weeks, average of the same rehearsals with and without; ranges hold for all lines together with "
        "95% confidence.",
    )


def _tried(rescue: Rescue) -> tuple[str, ...]:
    met, kg = rescue.met, rescue.kg
    return (
        rescue.name,
        number(len(rescue.saves)),
        number(len(rescue.risks)) if rescue.risks else "–",
        f"{number(met.mean, 1)} ({number(met.low, 1)} to {number(met.high, 1)})",
        mass_cell(kg.mean),
        "helps"
        if rescue.helps
        else "worse"
        if rescue.met.high < 0
        else "not certain"
        if rescue.met.mean
        else "no effect",
    )


def _kg(kilograms: float) -> str:
    return mass_cell(kilograms) if kilograms >= 0.05 else "–"


def _down(kilograms: float) -> str:
    """Rounded down; a promise of nothing is a dash."""
    return "–" if (text := down_cell(kilograms)) == "0.0" else text
