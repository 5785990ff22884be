"""CO2 that the plants of a plan leave in the room, in sentences: what a rehearsal leaves out, on paper.

A rehearsal reckons with the CO2 of the room file. Typical days that were noted down in this very room have its thin
air in them already; of a change see `compare_air`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from growsim.growth.canopy import CanopyAir, air_changes_for, canopy_air
from growsim.run.prepare import Prepared
from growsim.scenario.checks.figures import plain_lives
from growsim.scenario.size import paces_stated, size_of, size_sentences
from growsim.units import pounds

NOTICED = 0.03  # growth lost, as a share, from which a thin air is told of
NEXT_TO_NOTHING = 0.05
DANGER = (
    "Extra CO2 in a closed room is a danger to people: a monitor with an alarm, ventilate before going in, keep below "
    "the limits (5,000 ppm over eight hours, OSHA), and follow the local code."
)


def room_on_paper(prepared: Prepared, raw: Mapping[str, Any] | None = None) -> list[str]:
    """The answer of `growsim check`: the room's size and, where it matters, its air and what lives are taken for.

    raw: the room's tables as written.
    """
    scenario = prepared.scenario
    *said, plain_sums = size_sentences(scenario.room.name, size_of(scenario), paces_stated(scenario))
    noted = [thin_air(prepared), plain_lives(raw or {})]
    return [*said, *(each for each in noted if each), plain_sums]


def thin_air(prepared: Prepared) -> str:
    """Where the plants would draw the room's CO2 noticeably below the CO2 reckoned with: how far, what it costs, what
    brings it back. "" elsewhere."""
    scenario, air = prepared.scenario, canopy_air(prepared.scenario, prepared.curves)
    if air.growth > 1.0 - NOTICED:
        return ""
    fed = scenario.co2.supply_kg_per_day > 0 and scenario.co2.setpoint_ppm >= air.reckoned_ppm
    short = (
        f"the supply of {scenario.co2.supply_kg_per_day:g} kg a day is too weak for them"
        if fed
        else f"{scenario.room.air_changes_per_hour:g} air changes an hour bring in too little"
    )
    pace = f"grow about {1.0 - air.growth:.0%} slower" if air.growth > NEXT_TO_NOTHING else "all but stop growing"
    return (
        f"CO2: these plants would take up about {_mass(air.uptake_kg_per_day)} a day, and {short}. About "
        f"{air.lit_ppm:.0f} ppm would be left while the lights are on, not the {air.reckoned_ppm:.0f} ppm that growth "
        f"is reckoned with, and they would {pace} (typical days noted down in this very room have that in them "
        f"already). {_what_helps(prepared, air)} {DANGER}"
    )


def _what_helps(prepared: Prepared, air: CanopyAir) -> str:
    supply = f"a supply that can give {_mass(air.supply_kg_per_day)} a day holds it"
    changes = _air_changes(prepared, air)
    return f"{changes}, or {supply}." if changes else f"{supply[0].upper()}{supply[1:]}."


def _air_changes(prepared: Prepared, air: CanopyAir) -> str:
    """What more outside air would do; "" where it cannot bring what is reckoned with."""
    if air.reckoned_ppm > prepared.scenario.co2.outdoor_ppm:
        return ""
    changes = air_changes_for(prepared.scenario, prepared.curves, 1.0 - NOTICED)
    if changes is None:
        return ""
    return f"About {changes:.2g} air changes an hour, to be warmed or cooled, bring nearly all of it back"


def _mass(kg: float) -> str:
    return f"{kg:.2g} kg ({pounds(kg):.2g} lb)"
