"""What to do first, machine by machine: plain steps with the room's own numbers in them, and what to do afterwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.report.outage import reservoirs
from growsim.report.outage import words as outage_words
from growsim.report.words import counted, listed, number, upper_first
from growsim.scenario.machines import machines_of
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import CO2, HEAT_PUMP, LEAK, LIGHTS, MACHINES, POWER, PUMP, TIMER, MachineKind
from growsim.vocabulary.registry import of_each

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.scenario.equipment import Reliability
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


UNPLUG = (
    "Unplug it with dry hands before a hand goes into the reservoir. If plug, outlet or floor is wet, touch none of "
    "them: switch it off at the breaker."
)
FIXTURE = (
    "Only a fixture with a plug is for volunteers. Switch it off, let it cool, unplug it with dry hands. Change it "
    "whole, two people holding it. Open none; drivers and whatever is wired are for a licensed electrician."
)


def _pump(outages: Outages) -> ToDo:
    return ToDo(
        (
            UNPLUG,
            "Is the plug in? Has the ground-fault outlet tripped? Reset it once. If it trips again, leave it off and "
            "call a licensed electrician.",
            "Is the pump under water, its inlet free of roots and dirt? Clear it, switch on, watch a flood.",
            _part(outages.scenario, PUMP),
            reservoirs.by_hand(outages),
        ),
        (reservoirs.flood_at_once(outages.scenario), _reorder(outages.scenario, PUMP)),
    )


def _timer(outages: Outages) -> ToDo:
    return ToDo(
        (
            "Is the timer set to automatic, and does its clock show the right time?",
            "Has the ground-fault outlet tripped? Reset it once. If it trips again, leave it off and call a licensed "
            "electrician.",
            reservoirs.floods_by_hand(outages),
            _part(outages.scenario, TIMER),
        ),
        ("Set the new timer's clock, and watch it start one flood.", _reorder(outages.scenario, TIMER)),
        also=": no flood comes",
    )


def _leak(outages: Outages) -> ToDo:
    return ToDo(
        (
            "Power off first: stand on dry floor, and switch off what hangs over or stands in the water. If you cannot "
            "reach the switch with dry feet, switch the room off at the panel. Touch no wet plug, cord or outlet.",
            "Stop the leak: close the valve, refit the drain hose, or lift what still stands in the reservoir out of "
            "it. Mop up; wet floors are slippery.",
            "Save what solution is clean in buckets with lids; what has been on the floor is lost.",
            reservoirs.by_hand(outages),
            reservoirs.refill(outages),
        ),
        (reservoirs.flood_at_once(outages.scenario),),
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
            reservoirs.by_hand(outages),
            "Leave the cooler shut, and note the time.",
            "No generator, heater or stove in the room: fumes kill. A generator runs outdoors, and is connected by an "
            "electrician only.",
        ),
        (
            "Heat pump first, then the pumps, then the lights, one bank after the other.",
            "Set every timer's clock: many lose the time. " + reservoirs.flood_at_once(outages.scenario),
            "Read the cooler's thermometer, and throw away what is too old or was too warm.",
        ),
        (runs, f"In the dark plants drink less: there is a little more time than with {PUMP.down}."),
    )


COLD_MARGIN_C = 5.0  # above what the tenderest crop bears: lights are on again in time
COLD_ROOM = (
    "If it grows cold: lights on day and night, they are what heats the room now. Doors and vents shut, fleece or "
    "plastic over each rack, clear of lamps. No heater that burns fuel: its fumes kill. An electric heater "
    "stands dry, clear of plants and plastic, on an outlet of its own, and is not left alone."
)


def _heat_pump(outages: Outages) -> ToDo:
    scenario = outages.scenario
    limit = min(crop.heat_limit_c for crop in scenario.crops)
    coldest = max(crop.cold_limit_c for crop in scenario.crops)
    lights_on_c = min(scenario.climate.air_temperature_c, coldest + COLD_MARGIN_C)
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
            f"Read the thermometer. Above {outage_words.degrees(scenario.climate.air_temperature_c)} and rising: turn "
            "all lights off, they are what heats the room. A day without light costs a day; heat costs the plants. "
            f"Below {outage_words.degrees(lights_on_c)}: turn them on, or leave them on; without them the room only "
            "grows colder.",
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
            FIXTURE + " " + _part(outages.scenario, LIGHTS),
            "If it lasts more than two days, tell the partners which greens will be late, and by how much.",
        ),
        ("Set the timer's clock, and leave the hours of light as they were.",),
        ("What many dark days do to plants is not in these hours: seedlings stretch and weaken first.",),
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
        warning="People can die of it.",
    )


TO_DO = of_each(
    "machine kind",
    [row.key for row in MACHINES if row.has_sheet],
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


def _part(scenario: Scenario, row: MachineKind) -> str:
    """Where the part is, or how long it takes; place by place where that differs."""

    def says(reliability: Reliability) -> str:
        name = row.part
        if reliability.running_hours_to_failure is None:
            return f"Is there a {name} on the shelf? If not, order one now, and ask how long it takes to come."
        work = f"Fitting it takes about {_about(reliability.repair_hours, 'hour')}."
        if reliability.spares > 0:
            return f"A {name} is on the shelf: fit it. {work}"
        comes = f"it takes {_span(reliability.delivery_days)} to come"
        return f"There is no {name} on the shelf: order it now, {comes}. {work}"

    return _by_place(scenario, row, says)


def _reorder(scenario: Scenario, row: MachineKind) -> str:
    def says(reliability: Reliability) -> str:
        if reliability.running_hours_to_failure is None:
            return "Order the next spare the same day."
        return f"Order the next spare the same day: it takes {_span(reliability.delivery_days)} to come."

    return _by_place(scenario, row, says)


def _by_place(scenario: Scenario, row: MachineKind, says: Callable[[Reliability], str]) -> str:
    told: dict[str, list[str]] = {}
    for machine in machines_of(scenario):
        if machine.kind == row.key:
            told.setdefault(says(machine.reliability), []).append(machine.where)
    if len(told) == 1:
        return next(iter(told))
    return " ".join(f"{upper_first(listed(where))}: {said}" for said, where in told.items())


def _about(figure: Uncertain, unit: str) -> str:
    value = figure.expected()
    return counted(value, unit, decimals=0 if value == round(value) else 1)


def _span(days: Uncertain) -> str:
    low, high = days.limits()
    if math.isfinite(low) and math.isfinite(high) and low != high:
        return f"{number(low)} to {number(high)} days"
    return _about(days, "day")
