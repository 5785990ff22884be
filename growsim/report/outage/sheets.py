"""The pages to print: the chart for the wall on one sheet, and a sheet of what to do first for each machine."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions
from growsim.report.outage import words as outage_words
from growsim.report.outage.wall import Urgency, by_urgency
from growsim.report.page import environment
from growsim.report.words import counted, listed, number
from growsim.study.outage.protections import reliabilities
from growsim.units import LITERS_PER_US_GALLON
from growsim.vocabulary.days import MONTHS

if TYPE_CHECKING:
    from growsim.scenario.scenario import Scenario
    from growsim.scenario.uncertain import Uncertain
    from growsim.study.outage.question import Outages

# --- What to do first, machine by machine: plain steps with the room's own numbers in them, and the cautions.

HYGIENE = (
    "Clean hands before touching plants or trays; solution from the floor never goes back into a reservoir. Greens "
    "that have "
    "been above 41 °F (5 °C) for more than 4 hours are thrown away (FDA Food Code 3-501.19)."
)


@dataclass(frozen=True)
class Sheet:
    """One page. time_left: in large letters. facts: what the hours are. steps: in order. afterwards: once it runs."""

    title: str
    time_left: str
    facts: tuple[str, ...]
    steps: tuple[str, ...]
    afterwards: tuple[str, ...]
    cautions: tuple[str, ...]


def sheets(outages: Outages) -> list[Sheet]:
    """A sheet for each machine, the one with least time left first."""
    made: dict[str, Sheet] = {}
    for urgent in by_urgency(outages):
        if urgent.machine in made:
            continue
        made[urgent.machine] = _SHEETS[urgent.machine](outages, urgent)
        if urgent.machine == "pump":
            made["timer"] = _timer(outages, urgent)
            made["reservoir leak"] = _leak(outages, urgent)
    return list(made.values())


def _pump(outages: Outages, urgent: Urgency) -> Sheet:
    return Sheet(
        "A pump is dead",
        _time(urgent),
        _dry_facts(outages, urgent),
        (
            "Switch its outlet off, before a hand goes into the reservoir.",
            "Is the plug in? Has the ground-fault outlet tripped? Reset it once. If it trips again, leave it off and "
            "call a licensed electrician.",
            "Is the pump under water, its inlet free of roots and dirt? Clear it, switch on, watch a flood.",
            _part(outages.scenario, "pump", "spare pump"),
            _by_hand(outages),
        ),
        (_flood_at_once(outages.scenario), _reorder(outages.scenario, "pump")),
        (cautions.WATER_AND_POWER, cautions.LIFTING, HYGIENE),
    )


def _timer(outages: Outages, urgent: Urgency) -> Sheet:
    reservoir = outages.scenario.reservoirs[0]
    return Sheet(
        "A timer is dead: no flood comes",
        _time(urgent),
        _dry_facts(outages, urgent),
        (
            "Is the timer set to automatic, and does its clock show the right time?",
            "Has the ground-fault outlet tripped? Reset it once. If it trips again, leave it off and call a licensed "
            "electrician.",
            f"Flood by hand now: switch the pump on for {number(reservoir.flood_minutes)} minutes, then again every "
            f"{number(reservoir.flood_every_hours)} hours, by day and by night. Write on the door who does it next.",
            _part(outages.scenario, "timer", "spare timer"),
        ),
        ("Set the new timer's clock, and watch it start one flood.", _reorder(outages.scenario, "timer")),
        (cautions.WATER_AND_POWER, HYGIENE),
    )


def _leak(outages: Outages, urgent: Urgency) -> Sheet:
    largest = max(reservoir.capacity_l for reservoir in outages.scenario.reservoirs)
    return Sheet(
        "A reservoir leaks",
        _time(urgent),
        _dry_facts(outages, urgent),
        (
            "Power off first: stand on dry floor, and switch off what hangs over or stands in the water. If you cannot "
            "reach the switch with dry feet, switch the room off at the panel.",
            "Stop the leak: close the valve, refit the drain hose, or lift what still stands in the reservoir out of "
            "it. "
            "Mop up; wet floors are slippery.",
            "Save what solution is clean in buckets with lids; what has been on the floor is lost.",
            _by_hand(outages),
            f"Mend or change the reservoir, fill it ({number(largest)} L, {number(largest / LITERS_PER_US_GALLON)} US "
            "gallons) and set the strength as on the label of the reservoir.",
        ),
        (_flood_at_once(outages.scenario),),
        (cautions.WATER_AND_POWER, cautions.LIFTING, cautions.CHEMICALS),
    )


def _power(outages: Outages, urgent: Urgency) -> Sheet:
    battery = outages.scenario.power.battery_pump_hours
    runs = (
        f"The battery runs pumps and timers for {number(battery)} hours; plan to flood by hand after that."
        if battery
        else "There is no battery: no pump runs, no flood comes."
    )
    return Sheet(
        "The power is out",
        _time(urgent),
        (
            runs,
            *_dry_facts(outages, urgent),
            "In the dark plants drink less: there is a little more time than with a dead pump.",
        ),
        (
            "Is it only this room? Look at the panel. A breaker that trips again after one reset stays off: call a "
            "licensed electrician. If the street is dark, ask the utility how long.",
            "Switch off lights and heat pump, so that all does not come back at once.",
            _by_hand(outages),
            "Leave the cooler shut, and note the time.",
            "No generator, heater or stove in the room: fumes kill. A generator runs outdoors, and is connected by an "
            "electrician only.",
        ),
        (
            "Heat pump first, then the pumps, then the lights, one bank after the other.",
            "Set every timer's clock: many lose the time. " + _flood_at_once(outages.scenario),
            "Read the cooler's thermometer, and throw away what is too old or was too warm.",
        ),
        (cautions.WATER_AND_POWER, HYGIENE),
    )


def _heat_pump(outages: Outages, urgent: Urgency) -> Sheet:
    scenario = outages.scenario
    limit = min(crop.heat_limit_c for crop in scenario.crops)
    facts = []
    for month, (lit, dark) in outages.warming.items():
        with_lights = (
            f"with the lights on the air passes {outage_words.degrees(limit)} {outage_words.after(lit)}"
            if lit is not None
            else f"the air stays below {outage_words.degrees(limit)} even with the lights on"
        )
        without = (
            ""
            if lit is None
            else (
                "; with the lights out it stays below"
                if dark is None
                else f"; with the lights out {outage_words.after(dark)}"
            )
        )
        facts.append(f"In {MONTHS[month]} {with_lights}{without}.")
    cut_out = scenario.climate.lights_off_above_c
    if cut_out is not None:
        facts.append(f"The thermostat puts the lights out by itself above {outage_words.degrees(cut_out)}.")
    return Sheet(
        "The heat pump is dead: it grows warm",
        _time(urgent),
        tuple(facts),
        (
            "Put all lights out now: they are what heats the room. A dark day costs a day; heat costs the plants.",
            "Leave the fans on. If it is cooler outside, open the doors, and put somebody at them.",
            "Look at the heat pump: is there power, has its breaker tripped, is the filter blocked, is there ice or an "
            "error on the display? Note the error; open no cover.",
            "Call the heating and cooling technician. " + _part(scenario, "heat pump", "spare part"),
            "If it takes days: lights at half their hours, by night, as long as the air stays below "
            f"{outage_words.degrees(limit - 2)}. Read the thermometer every hour at first.",
        ),
        ("Lights on again one bank after the other, once the room is back at its set-point.",),
        (cautions.HEAT, cautions.WATER_AND_POWER),
    )


def _lights(outages: Outages, urgent: Urgency) -> Sheet:
    return Sheet(
        "Lights stay dark",
        "No plant dies of it. Growth is down.",
        ("Each day in the dark puts the harvest of the plants under these lights off by about a day.",),
        (
            "Does the clock say they should be on? Look at their timer first.",
            "Has the ground-fault outlet or the breaker tripped? Reset it once. If it trips again, leave it off and "
            "call a licensed electrician.",
            "Did the thermostat put them out? Read the room's thermometer: if it is warm, go to the sheet of the heat "
            "pump.",
            _part(outages.scenario, "lights", "spare driver")
            + " Power off at the outlet before anything is unplugged.",
            "If it lasts more than two days, tell the partners which greens will be late, and by how much.",
        ),
        ("Set the timer's clock, and leave the hours of light as they were.",),
        (cautions.WATER_AND_POWER, cautions.GLARE, cautions.LIFTING),
    )


def _co2(outages: Outages, urgent: Urgency) -> Sheet:
    return Sheet(
        "The CO2 supply is out, or its alarm rings",
        "No plant dies of it. People can.",
        ("Without extra CO2 plants only grow more slowly.",),
        (
            "If the alarm rings: out, everybody, and keep others out. Do not go in to look.",
            "Close the supply from outside, ventilate, and go in only once the monitor reads as on a usual day.",
            "No alarm: ventilate first, then look at bottle, valve and regulator. A hissing leak is for the supplier.",
            _part(outages.scenario, "co2", "spare part"),
        ),
        ("Test the monitor before the supply is opened again.",),
        (cautions.CARBON_DIOXIDE,),
    )


_SHEETS = {
    "pump": _pump,
    "power": _power,
    "heat pump": _heat_pump,
    "lights": _lights,
    "co2": _co2,
}


def _time(urgent: Urgency) -> str:
    when = f" in {MONTHS[urgent.month]}" if urgent.by_month else ""
    if urgent.first_die is None:
        return f"No plant dies within a week, even{when} at worst." if when else "No plant dies within a week."
    half = "" if urgent.half_dead is None else f", half {outage_words.after(urgent.half_dead)}"
    return f"The first plants die {outage_words.after(urgent.first_die)}{half}, at worst{when}."


def _dry_facts(outages: Outages, urgent: Urgency) -> tuple[str, ...]:
    """Stage by stage, the one with least time first."""
    from growsim.study.outage.clock import of_stage

    lines = [line for line in outages.clock if (line.machine, line.month) == (urgent.machine, urgent.month)]
    stages = list(dict.fromkeys(line.stage for line in lines))
    found = {stage: of_stage(lines, stage)[1].worst for stage in stages}
    stages.sort(key=lambda stage: math.inf if found[stage] is None else found[stage] or 0.0)
    said = [f"{stage}: {outage_words.after(found[stage])}" for stage in stages]
    return (f"The first die, stage by stage: {'; '.join(said)}.",)


def _by_hand(outages: Outages) -> str:
    """Watering by hand, how often and in which order."""
    order = thirst_order(outages)
    hours = outages.wet_plug_hours[order[0]]
    often = f"every {number(math.floor(hours))} hours" if hours >= 2 else "every hour"
    return (
        "Until it runs: pour solution over the trays by hand until every plug is wet, "
        f"{listed(order, 'then')} in this order. A wet plug lasts the thirstiest of them "
        f"{outage_words.hours_left(hours)} in the light: do it {often}. Lights out makes them last longer."
    )


def thirst_order(outages: Outages) -> list[str]:
    """Stages, the one whose plugs are dry soonest first."""
    return sorted(outages.wet_plug_hours, key=lambda stage: outages.wet_plug_hours[stage])


def _part(scenario: Scenario, machine: str, name: str) -> str:
    """Where the part is, or how long it takes."""
    found = reliabilities(scenario, machine)
    spares, days, hours = min(r.spares for r in found), found[0].delivery_days, found[0].repair_hours
    if all(each.running_hours_to_failure is None for each in found):
        return f"Is there a {name} on the shelf? If not, order one now, and ask how long it takes to come."
    work = f"Fitting it takes about {_about(hours, 'hour')}."
    if spares > 0:
        return f"A {name} is on the shelf: fit it. {work}"
    return f"There is no {name} on the shelf: order it now, it takes {_span(days)} to come. {work}"


def _reorder(scenario: Scenario, machine: str) -> str:
    first = reliabilities(scenario, machine)[0]
    days = first.delivery_days
    if first.running_hours_to_failure is None:
        return "Order the next spare the same day."
    return f"Order the next spare the same day: it takes {_span(days)} to come."


def _about(figure: Uncertain, unit: str) -> str:
    value = figure.expected()
    return counted(value, unit, decimals=0 if value == round(value) else 1)


def _span(days: Uncertain) -> str:
    low, high = days.limits()
    if math.isfinite(low) and math.isfinite(high) and low != high:
        return f"{number(low)} to {number(high)} days"
    return _about(days, "day")


def _flood_at_once(scenario: Scenario) -> str:
    pause = max(reservoir.flood_every_hours for reservoir in scenario.reservoirs)
    return f"Flood at once by hand; the timer's next flood may be {number(pause)} hours off."


FOOT = (
    "Worked out by growsim from the room's own description: a guide, not a promise, and no safety limit. Follow the "
    "local code; wiring and the heat pump are for licensed people."
)


def wall_page(outages: Outages, figure_folder: Path) -> str:
    """The chart for the wall as a page of its own. `figure_folder` holds wall.svg."""
    svg = (figure_folder / "wall.svg").read_text(encoding="utf-8")
    return (
        environment()
        .get_template("wall.html")
        .render(
            room=outages.scenario.room.name,
            note=outages.scenario.room.note,
            svg=svg[svg.index("<svg") :],
            caution=cautions.WATER_AND_POWER,
            foot=FOOT,
        )
    )


def first_pages(outages: Outages) -> str:
    """A sheet for each machine, in the order of time left."""
    return (
        environment()
        .get_template("first.html")
        .render(
            room=outages.scenario.room.name,
            note=outages.scenario.room.note,
            sheets=sheets(outages),
            foot=FOOT,
        )
    )
