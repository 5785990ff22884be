"""What a funder is told: output, people, cost, losses and what is done about them, each with its range."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.words import counted, listed, mass, mass_range, money, number, percent, span
from growsim.report.worst import worst
from growsim.scenario.machines import machines_of
from growsim.vocabulary.losses import GROWING_AT_END, HARVESTED, PLANT_LOSSES
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.scenario import Scenario

HEADS = ("What went worst", "Food", "Partners", "People", "Cost", "Energy and water", "Losses")


def answer(rehearsal: Rehearsal) -> list[tuple[str, str]]:
    """(head, sentence) for the whole counted time. Totals are weekly figures times the weeks counted."""
    said = {
        "What went worst": " ".join(worst(rehearsal.outcomes, rehearsal.scenario, rehearsal.plan.days)),
        "Food": _food(rehearsal),
        "Partners": _partners(rehearsal),
        "People": _people(rehearsal),
        "Cost": _cost(rehearsal),
        "Energy and water": _resources(rehearsal),
        "Losses": _losses(rehearsal),
    }
    return [(head, said[head]) for head in HEADS if said[head]]


def _weeks(rehearsal: Rehearsal) -> float:
    return rehearsal.plan.days / 7.0


def _times(rehearsal: Rehearsal) -> str:
    days = rehearsal.plan.days
    return f"in {counted(days, 'day')}" if days % 7 else f"in {counted(days // 7, 'week')}"


def _mean_range(found: Estimate, scale: float) -> tuple[float, float]:
    low = found.mean if found.mean_low is None else found.mean_low
    high = found.mean if found.mean_high is None else found.mean_high
    return low * scale, high * scale


def _food(rehearsal: Rehearsal) -> str:
    weeks = _weeks(rehearsal)
    given = rehearsal.estimates.get("kg_handed_out_per_week")
    if given is None or given.mean <= 0:
        return f"No greens are handed out {_times(rehearsal)}."
    low, high = _mean_range(given, weeks)
    servings = rehearsal.estimates.get("servings_per_week")
    beside = f", {number(servings.mean * weeks)} servings (cup-equivalents of vegetables)" if servings else ""
    return (
        f"The room is expected to hand out {mass(given.mean * weeks)} of fresh greens {_times(rehearsal)}{beside}; the "
        f"average lies between {mass_range(low, high, 'and')} (95% confidence, {len(rehearsal.outcomes)} rehearsals), "
        f"and a single week brings {mass_range(given.p10, given.p90)} eight times in ten."
    )


def _partners(rehearsal: Rehearsal) -> str:
    filled, scenario = rehearsal.estimates.get("orders_filled_fraction"), rehearsal.scenario
    if filled is None or not scenario.partners:
        return ""
    return (
        f"{counted(len(scenario.partners), 'partner agency', 'partner agencies')} "
        f"{'receives' if len(scenario.partners) == 1 else 'receive'} {percent(filled.mean)} of what they order (eight "
        f"rehearsals in ten: {percent(filled.p10)} to {percent(filled.p90)})."
    )


def _people(rehearsal: Rehearsal) -> str:
    accounts = [outcome.accounts["hours:volunteers"] for outcome in rehearsal.outcomes]
    if not accounts or max(accounts) <= 0:
        return "No volunteer hours are given."
    ordered, currency = sorted(accounts), rehearsal.scenario.prices.currency
    mean = math.fsum(accounts) / len(accounts)
    low, high = ordered[len(ordered) // 10], ordered[-1 - len(ordered) // 10]
    words = (
        f"Volunteers give {number(mean)} hours {_times(rehearsal)} (eight rehearsals in ten: about {number(low)} to "
        f"{number(high)})"
    )
    hour = rehearsal.scenario.prices.volunteer_hour_value
    return (
        f"{words}, worth {money(mean * hour, currency, 0)} at {money(hour, currency, 2)} an hour."
        if hour
        else f"{words}."
    )


def _cost(rehearsal: Rehearsal) -> str:
    week, kg = rehearsal.estimates.get("cost_per_week"), rehearsal.estimates.get("cost_per_kg")
    if week is None:
        return ""
    currency = rehearsal.scenario.prices.currency
    words = f"Running costs are {money(week.mean * _weeks(rehearsal), currency, 0)} {_times(rehearsal)}"
    if kg is not None:
        mean, low, high = (money(units.amount(x, "money/kg"), currency, 2) for x in (kg.mean, kg.p10, kg.p90))
        words += f", that is {mean} a kilogram handed out (eight rehearsals in ten: {low} to {high} a kilogram)"
    return f"{units.worded(words)}; volunteers' hours are not in it, nor what the equipment cost."


def _resources(rehearsal: Rehearsal) -> str:
    kwh, liters = rehearsal.estimates.get("kwh_per_kg"), rehearsal.estimates.get("liters_per_kg")
    if kwh is None or liters is None:
        return ""
    power = [number(units.amount(x, "kWh/kg"), 1) for x in (kwh.mean, kwh.p10, kwh.p90)]
    water = [
        number(units.amount(x, "L/kg"), 1 + units.as_shown("L/kg").more) for x in (liters.mean, liters.p10, liters.p90)
    ]
    return units.worded(
        f"A kilogram takes {power[0]} kWh of electricity (eight rehearsals in ten: {power[1]} to {power[2]}) and "
        f"{water[0]} liters of water ({water[1]} to {water[2]})."
    )


def _losses(rehearsal: Rehearsal) -> str:
    each = {loss.label: rehearsal.estimates[loss.measure].mean for loss in PLANT_LOSSES}
    lost = math.fsum(each.values())
    growing = rehearsal.estimates[GROWING_AT_END.measure].mean
    up = lost + rehearsal.estimates[HARVESTED.measure].mean + growing
    if lost < 0.5:
        return "Hardly a plant is lost between germination and harvest; what is done about it stands below."
    largest = sorted((label for label in each if each[label] >= 0.5), key=lambda label: -each[label])[:2]
    mainly = f", mainly {' or '.join(largest)}" if largest else ""
    still = f"; {number(growing)} still grow at its end" if growing >= 0.5 else ""
    return (
        f"Of the plants sown {_times(rehearsal)} {number(lost)} are lost between germination and harvest "
        f"({percent(lost / up, 1)} of those that germinated and were not pulled){mainly}{still}; what is done about it "
        "stands below."
    )


def protections(scenario: Scenario) -> list[str]:
    """What the room has against losses, read from the room file."""
    machines = [(BY_KEY[each.kind].at(each.where), each.reliability) for each in machines_of(scenario)]
    alarmed = [
        f"{name} (after {span(spec.alarm_minutes)})" for name, spec in machines if spec.alarm_minutes is not None
    ]
    spared = [name for name, spec in machines if spec.spares]
    said = []
    if alarmed:
        said.append(f"An alarm watches {listed(alarmed)}.")
    if spared:
        said.append(f"Spare parts lie on the shelf for {listed(spared)}.")
    double = [reservoir.name for reservoir in scenario.reservoirs if reservoir.pump.count > 1]
    if double:
        said.append(f"{listed(double)} {'has' if len(double) == 1 else 'have'} a second pump.")
    if scenario.power.battery_pump_hours:
        said.append(f"A battery keeps the pumps going for {number(scenario.power.battery_pump_hours, 1)} hours.")
    if scenario.climate.lights_off_above_c is not None:
        said.append("A thermostat turns the lights off when the room gets too warm.")
    if scenario.crew.walk_throughs:
        said.append(
            "Somebody able looks in between shifts: "
            f"{listed([walk_through.name for walk_through in scenario.crew.walk_throughs])}."
        )
    return said or ["The room file names no protection; `growsim outage` says which would be worth buying."]
