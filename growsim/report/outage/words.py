"""What an outage study is spoken of in: machines, protections, hours. Plain words, hours rounded to the safe side."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.words import a_period, counted, hour_of_day, listed, money, number, upper_first
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import ALARMS, SPARES, MachineKind, tried_with

if TYPE_CHECKING:
    from growsim.study.outage.protections import Protected
    from growsim.study.outage.question import Outages
    from growsim.study.outage.trials import Strike
    from growsim.study.outage.year import ProtectionWorth


def degrees(celsius: float) -> str:
    """ "30 °C"."""
    return f"{number(units.amount(celsius, '°C'))} {units.unit('°C')}"


def hours_left(hours: float | None) -> str:
    """Hours that are left, rounded down: "at once", "half an hour", "3 hours", "2 days"; None: "more than a week"."""
    if hours is None:
        return "more than a week"
    if hours < 0.5:
        return "at once"
    if hours < 1:
        return "half an hour"
    if hours < 36:
        return counted(math.floor(hours), "hour")
    return counted(math.floor(hours / 12) / 2, "day", decimals=0 if math.floor(hours / 12) % 2 == 0 else 1)


def after(hours: float | None) -> str:
    """ "after 3 hours", "at once", "not within a week"."""
    if hours is None:
        return "not within a week"
    return hours_left(hours) if hours < 0.5 else f"after {hours_left(hours)}"


def repaired_after(hours: float) -> str:
    """An hour of the wall chart's head: "1 h", "2 days"."""
    return f"{number(hours)} h" if hours < 24 else counted(hours / 24, "day")


def tried(row: MachineKind) -> str:
    """What one trial stands for: "pump, timer or leak"."""
    return listed([each.label for each in tried_with(row)], "or")


def struck(strike: Strike, several_months: bool) -> str:
    """Name of a strike: "pump, timer or leak of one reservoir like narrow one", "heat pump, July"."""
    row, name = strike.row, tried(strike.row)
    if strike.like_it > 1:
        name = f"{name} of one {row.place.word} like {strike.where}"
    elif strike.where:
        name = row.at(strike.where) if row.is_its_place else f"{name} of {_named(row.place.word, strike.where)}"
    return f"{name}, {MONTHS[strike.month]}" if several_months else name


def _named(word: str, name: str) -> str:
    """ "the reservoir narrow one", and "reservoir A" for one whose name says what it is."""
    return name if name.lower().startswith(word) else f"the {word} {name}"


def protection(step: Protected) -> str:
    """A protection as a thing: "a spare pump for every reservoir", "the thermostat set to 30 °C, not 33 °C"."""
    if step.name == "thermostat":
        assert step.setting is not None
        if step.was is not None:
            return f"the thermostat set to {degrees(step.setting)} instead of {degrees(step.was)}"
        return f"{'a' if step.is_added else 'the'} thermostat that turns the lights off above {degrees(step.setting)}"
    if step.name == "daily walk-through":
        if not step.is_added:
            return "the walk-throughs between shifts"
        assert step.setting is not None
        return f"one more walk-through every day, at {hour_of_day(step.setting)}"
    if step.name == "battery for pumps":
        assert step.setting is not None
        longer = "" if step.was is None else f", not {number(step.was)}"
        return f"{_a(step)} battery that keeps pumps going for {number(step.setting)} hours{longer}"
    if step.name == "second pump":
        return f"{_a(step)} second pump on every reservoir"
    if step.name in SPARES:
        row = SPARES[step.name]
        word = row.place.word
        return f"{_a(step)} {row.part} for every {word}" if row.place.entries else f"{row.part}s for {row.many}"
    watched = next(alarm.on for alarm in ALARMS if alarm.name == step.name)
    return f"{_an(step)} alarm on {watched}"


def keeps(step: Protected) -> str:
    """ "keeps", or "keep" where the protection is several things."""
    return "keep" if protection(step).startswith(("spare parts", "the walk-throughs")) else "keeps"


def _a(step: Protected) -> str:
    return "a" if step.is_added else "the"


def _an(step: Protected) -> str:
    return "an" if step.is_added else "the"


def dry_without_outage(outages: Outages) -> str:
    """Plants that die of thirst though every machine runs: a rehearsal counts them as dried, this study nowhere."""
    dried = outages.estimates.get("plants_dried_low_reservoir")
    if dried is None or dried.mean < 1:
        return ""
    plants = f"{counted(dried.mean, 'plant')} {a_period(outages.plan.days)}"
    return (
        f"{upper_first(plants)} dry out because nobody fills their reservoir in time: that is no outage and "
        "not counted here."
    )


def verdict(each: ProtectionWorth) -> str:
    """ "worth it", "may be worth it", "not worth its price", "cannot be told", "never called on"."""
    kg, net = each.worth.kg, each.net
    if is_nought(each):
        return "never called on"
    if kg.low is not None and kg.low > 0 and (net is None or net.mean > 0):
        return "worth it" if net is None or (net.low is not None and net.low > 0) else "may be worth it"
    if net is not None and net.high is not None and net.high < 0:
        return "not worth its price"
    if net is not None and net.mean > 0 and kg.mean > 0:
        return "may be worth it"
    return "cannot be told"


def is_nought(each: ProtectionWorth) -> bool:
    """Whether it was never called on."""
    worth = each.worth
    return worth.kg.mean == worth.plants.mean == worth.money.mean == 0.0 and worth.kg.low == worth.kg.high


def price(each: ProtectionWorth, currency: str) -> str:
    """Price a year of a protection."""
    cost = each.protection.cost_per_year
    if cost is None:
        return "not given"
    return "none" if cost == 0 else money(cost, currency, 0)


def years_seen(each: ProtectionWorth) -> str:
    """In how many years it could matter at all."""
    worth = each.worth
    return f"{worth.years - worth.years_alike} of {counted(worth.years, 'year')}"
