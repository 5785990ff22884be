"""CO2 that the plants of a plan leave in the room, in sentences, and what would bring more of it.

Every rehearsal has it in its growth; typical days are taken as noted down in this very air.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from growsim.growth.plan_air import CanopyAir, air_changes_for, canopy_air
from growsim.run.prepare import Prepared
from growsim.scenario.checks.figures import plain_lives
from growsim.scenario.size import paces_stated, size_of, size_sentences, sown_for_promises
from growsim.units import amount, unit

NOTICED = 0.03  # growth lost, as a share, from which a thin air is told of
NEXT_TO_NOTHING = 0.05
DANGER = (
    "Extra CO2 in a closed room is a danger to people. Install a monitor with an alarm, ventilate before going in, "
    "keep below the limits for workplaces, follow the local code."
)


def room_on_paper(prepared: Prepared, raw: Mapping[str, Any] | None = None) -> list[str]:
    """The answer of `growsim check`: the room's size and, where it matters, its air and what lives are taken for.

    raw: the room's tables as written.
    """
    scenario = prepared.scenario
    *said, plain_sums = size_sentences(scenario.room.name, size_of(scenario), paces_stated(scenario))
    noted = [*sown_for_promises(scenario), thin_air(prepared), plain_lives(raw or {})]
    return [*said, *(each for each in noted if each), plain_sums]


def thin_air(prepared: Prepared) -> str:
    """Where the plants draw the room's CO2 noticeably below what there would be without them: how far, what it costs,
    what brings it back. "" elsewhere."""
    scenario, air = prepared.scenario, canopy_air(prepared.scenario, prepared.curves)
    if air.growth > 1.0 - NOTICED:
        return ""
    fed = scenario.co2.supply_kg_per_day > 0 and scenario.co2.setpoint_ppm >= air.reckoned_ppm
    short = (
        f"the supply of {_mass(scenario.co2.supply_kg_per_day)} a day is too weak for them"
        if fed
        else f"{scenario.room.air_changes_per_hour:g} air changes an hour bring in too little for them"
    )
    slower = f"grow about {1.0 - air.growth:.0%} slower than with enough of it"
    pace = slower if air.growth > NEXT_TO_NOTHING else "all but stop growing"
    return (
        f"CO2: plants live on it, and these use up what comes into the room: they {pace}. All answers have this in "
        "them; typical days are taken as noted down in this air. "
        f"These plants take up about {_mass(air.uptake_kg_per_day)} a day, and {short}. About {air.lit_ppm:.0f} "
        f"ppm is left while the lights are on, not the {air.reckoned_ppm:.0f} ppm that there would be without plants. "
        f"{_typical_days(air)}{_what_helps(prepared, air)} {DANGER}"
    )


def _typical_days(air: CanopyAir) -> str:
    """That no typical days can have been seen in air so thin; "" where they can."""
    if air.kept > 1.0 - NOTICED:
        return ""
    return (
        "So little CO2 comes in that they cannot weigh what you say after their typical days. If they do, more air "
        "comes in than air_changes_per_hour says. "
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
    return f"{amount(kg, 'kg'):.2g} {unit('kg')}"
