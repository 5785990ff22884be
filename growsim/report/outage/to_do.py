"""What to do first, machine by machine: plain steps with the room's own numbers in them, and what to do afterwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.report.outage import words as outage_words
from growsim.report.words import counted, listed, number, volume
from growsim.scenario.machines import reliabilities
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY, CO2, HEAT_PUMP, LEAK, LIGHTS, POWER, PUMP, TIMER, MachineKind
from growsim.vocabulary.registry import of_each

if TYPE_CHECKING:
    from growsim.scenario.scenario import Scenario
    from growsim.scenario.uncertain import Uncertain
    from growsim.study.outage.question import Outages


@dataclass(frozen=True)
class ToDo:
    """What is particular to a kind of machine on its sheet. also: after the head of the sheet. warning: after the time
    left."""

    steps: tuple[str, ...]
    afterwards: tuple[str, ...]
    facts: tuple[str, ...] = ()
    also: str = ""
    warning: str = ""


def _pump(outages: Outages) -> ToDo:
    return ToDo(
        (
            "Switch its outlet off, before a hand goes into the reservoir.",
            "Is the plug in? Has the ground-fault outlet tripped? Reset it once. If it trips again, leave it off and "
            "call a licensed electrician.",
            "Is the pump under water, its inlet free of roots and dirt? Clear it, switch on, watch a flood.",
            _part(outages.scenario, PUMP),
            _by_hand(outages),
        ),
        (_flood_at_once(outages.scenario), _reorder(outages.scenario, PUMP)),
    )


def _timer(outages: Outages) -> ToDo:
    timed = [reservoir for reservoir in outages.scenario.reservoirs if not reservoir.flows_always]
    reservoir = (timed or outages.scenario.reservoirs)[0]
    return ToDo(
        (
            "Is the timer set to automatic, and does its clock show the right time?",
            "Has the ground-fault outlet tripped? Reset it once. If it trips again, leave it off and call a licensed "
            "electrician.",
            f"Flood by hand now: switch the pump on for {number(reservoir.flood_minutes)} minutes, then again every "
            f"{number(reservoir.flood_every_hours)} hours, by day and by night. Write on the door who does it next.",
            _part(outages.scenario, TIMER),
        ),
        ("Set the new timer's clock, and watch it start one flood.", _reorder(outages.scenario, TIMER)),
        also=": no flood comes",
    )


def _leak(outages: Outages) -> ToDo:
    largest = max(reservoir.capacity_l for reservoir in outages.scenario.reservoirs)
    return ToDo(
        (
            "Power off first: stand on dry floor, and switch off what hangs over or stands in the water. If you cannot "
            "reach the switch with dry feet, switch the room off at the panel.",
            "Stop the leak: close the valve, refit the drain hose, or lift what still stands in the reservoir out of "
            "it. Mop up; wet floors are slippery.",
            "Save what solution is clean in buckets with lids; what has been on the floor is lost.",
            _by_hand(outages),
            f"Repair or replace the reservoir, fill it ({volume(largest)}) "
            "and set the strength as on the label of the reservoir.",
        ),
        (_flood_at_once(outages.scenario),),
    )


def _power(outages: Outages) -> ToDo:
    battery = outages.scenario.power.battery_pump_hours
    runs = (
        f"The battery runs pumps and timers for {number(battery)} hours; plan to flood by hand after that."
        if battery
        else "There is no battery: no pump runs, no flood comes."
    )
    return ToDo(
        (
            "Is it only this room? Look at the panel. A breaker that trips again after one reset stays off: call a "
            "licensed electrician. If the street is dark, ask the utility how long.",
            "Switch off lights and heat pump, so that they do not all start at once when the power is back.",
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
        (runs, f"In the dark plants drink less: there is a little more time than with {PUMP.down}."),
    )


COLD_ROOM = (
    "If it grows cold: lights on day and night, they are what heats the room now; doors and vents shut, a sheet of "
    "fleece or plastic over each rack, clear of lamps. No heater that burns fuel: its fumes kill. An electric heater "
    "stands dry, clear of plants and plastic, on an outlet of its own, and is not left alone."
)


def _heat_pump(outages: Outages) -> ToDo:
    scenario = outages.scenario
    limit = min(crop.heat_limit_c for crop in scenario.crops)
    coldest = max(crop.cold_limit_c for crop in scenario.crops)
    grows_cold = any(hours is not None for hours in outages.cooling.values())
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
                "; with the lights off it stays below"
                if dark is None
                else f"; with the lights off {outage_words.after(dark)}"
            )
        )
        cold = outages.cooling[month]
        below = "" if cold is None else f" It falls below {outage_words.degrees(coldest)} {outage_words.after(cold)}."
        facts.append(f"In {MONTHS[month]} {with_lights}{without}.{below}")
    cut_out = scenario.climate.lights_off_above_c
    if cut_out is not None:
        facts.append(f"The thermostat turns the lights off by itself above {outage_words.degrees(cut_out)}.")
    return ToDo(
        (
            ("If it grows warm: turn" if grows_cold else "Turn")
            + " all lights off now: they are what heats the room. A day without light costs a day; heat costs the "
            "plants.",
            "Leave the fans on. If it is cooler outside, open the doors, and put somebody at them.",
            *((COLD_ROOM,) if grows_cold else ()),
            "Look at the heat pump: is there power, has its breaker tripped, is the filter blocked, is there ice or an "
            "error on the display? Note the error; open no cover.",
            "Call the heating and cooling technician. " + _part(scenario, HEAT_PUMP),
            "If it takes days: lights at half their hours, by night, as long as the air stays below "
            f"{outage_words.degrees(limit - 2)}. Read the thermometer every hour at first.",
        ),
        ("Lights on again one bank after the other, once the room is back at its set-point.",),
        tuple(facts),
        also=": loss of cooling and heating" if grows_cold else ": loss of cooling",
    )


def _lights(outages: Outages) -> ToDo:
    return ToDo(
        (
            "Does the clock say they should be on? Look at their timer first.",
            "Has the ground-fault outlet or the breaker tripped? Reset it once. If it trips again, leave it off and "
            "call a licensed electrician.",
            "Did the thermostat turn them off? Read the room's thermometer: if it is warm, go to the sheet of the heat "
            "pump.",
            _part(outages.scenario, LIGHTS) + " Power off at the outlet before anything is unplugged.",
            "If it lasts more than two days, tell the partners which greens will be late, and by how much.",
        ),
        ("Set the timer's clock, and leave the hours of light as they were.",),
    )


def _co2(outages: Outages) -> ToDo:
    return ToDo(
        (
            "If the alarm rings: out, everybody, and keep others out. Do not go in to look.",
            "Close the supply from outside, ventilate, and go in only once the monitor reads as on a usual day.",
            "No alarm: ventilate first, then look at bottle, valve and regulator. A hissing leak is for the supplier.",
            _part(outages.scenario, CO2),
        ),
        ("Test the monitor before the supply is opened again.",),
        also=", or its alarm rings",
        warning="People can.",
    )


TO_DO = of_each(
    "machine kind",
    BY_KEY,
    {
        PUMP.key: _pump,
        TIMER.key: _timer,
        LEAK.key: _leak,
        POWER.key: _power,
        HEAT_PUMP.key: _heat_pump,
        LIGHTS.key: _lights,
        CO2.key: _co2,
    },
    "growsim.report.outage.to_do (what to do first)",
)


def _by_hand(outages: Outages) -> str:
    """Watering by hand, how often and in which order."""
    order = thirst_order(outages)
    hours = outages.wet_plug_hours[order[0]]
    often = f"every {number(math.floor(hours))} hours" if hours >= 2 else "every hour"
    return (
        "Until it runs: pour solution over the trays by hand until every plug is wet, "
        f"{listed(order, 'then')} in this order. A wet plug lasts the thirstiest of them "
        f"{outage_words.hours_left(hours)} in the light: do it {often}. Turning the lights off makes them last longer."
    )


def thirst_order(outages: Outages) -> list[str]:
    """Stages, the one whose plugs are dry soonest first."""
    return sorted(outages.wet_plug_hours, key=lambda stage: outages.wet_plug_hours[stage])


def _part(scenario: Scenario, row: MachineKind) -> str:
    """Where the part is, or how long it takes."""
    found, name = reliabilities(scenario, row), row.part
    spares, days, hours = min(r.spares for r in found), found[0].delivery_days, found[0].repair_hours
    if all(each.running_hours_to_failure is None for each in found):
        return f"Is there a {name} on the shelf? If not, order one now, and ask how long it takes to come."
    work = f"Fitting it takes about {_about(hours, 'hour')}."
    if spares > 0:
        return f"A {name} is on the shelf: fit it. {work}"
    return f"There is no {name} on the shelf: order it now, it takes {_span(days)} to come. {work}"


def _reorder(scenario: Scenario, row: MachineKind) -> str:
    first = reliabilities(scenario, row)[0]
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
    if not pause:
        return "See the water run before you leave."
    return f"Flood at once by hand; the timer's next flood may be {number(pause)} hours off."
