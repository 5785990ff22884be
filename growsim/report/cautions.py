"""Cautions, shown beside the part of the report where the work can hurt. They defer to local code and licensed work.

Limits stated here: carbon dioxide, NIOSH documentation for IDLH concentrations (May 1994): OSHA limit 5,000 ppm over
eight hours, NIOSH short-term limit 30,000 ppm, immediately dangerous at 40,000 ppm. Cold holding: FDA Food Code
3-501.16, 41 °F (5 °C).
"""

from __future__ import annotations

from collections.abc import Iterable

from growsim.scenario.scenario import Scenario
from growsim.vocabulary.dangers import Danger

ALWAYS = (
    "Follow the local code and ask a licensed professional. This report helps to plan; it certifies nothing, and no "
    "figure in it is a safety limit."
)
WATER_AND_POWER = (
    "Electricity beside water. Pumps, timers and lights hang over reservoirs: ground-fault protected outlets, drip "
    "loops, "
    "plugs above the flood line, power off before hands go into a reservoir; a licensed electrician does the wiring."
)
CHEMICALS = (
    "Nutrient salts, acids and bases. Gloves and eye protection; acid into water, never water into acid; never mix "
    "concentrates; keep an eye wash at hand and read each product's safety data sheet."
)
LIFTING = (
    "Lifting. A full reservoir or a wet tray is heavier than it looks: a liter of water weighs a kilogram (8.3 lb a US "
    "gallon). Two people for a reservoir, no lifting above the shoulder, a steady step to the top shelf."
)
HEAT = (
    "Heat. When cooling fails the room can grow hot with the lights on: lights off first, then see to the plants. "
    "Drink, take breaks and leave when dizzy."
)
GLARE = (
    "Glare. Do not look into grow lights; wear shaded glasses when working under them and turn them down for "
    "close work."
)
FOOD = (
    "Food safety. Clean hands, clean knives and crates, water fit to drink. Harvested leafy greens need a cold chain: "
    "41 °F (5 °C) or below (FDA Food Code 3-501.16); note lot and date. Whether the Produce Safety Rule (21 CFR 112) "
    "applies is for the local authority to say."
)
CARBON_DIOXIDE = (
    "Carbon dioxide in a closed room can kill without warning. Install a monitor with an alarm, ventilate before "
    "going in and never "
    "enter on an alarm. Limits: 5,000 ppm over eight hours (OSHA); 40,000 ppm is immediately dangerous (NIOSH)."
)

OF_DANGER: dict[Danger, str] = {
    "water and power": WATER_AND_POWER,
    "lifting": LIFTING,
    "chemicals": CHEMICALS,
    "glare": GLARE,
    "hot room": HEAT,
    "carbon dioxide": CARBON_DIOXIDE,
    "food": FOOD,
}


def beside(dangers: Iterable[Danger]) -> tuple[str, ...]:
    """The caution of each danger."""
    return tuple(OF_DANGER[danger] for danger in dangers)


def beside_machines(scenario: Scenario) -> tuple[str, ...]:
    """Cautions for the part about pumps, reservoirs, lights and air."""
    given = [WATER_AND_POWER, CHEMICALS, HEAT, GLARE]
    if scenario.co2.supply_kg_per_day > 0:
        given.insert(0, CARBON_DIOXIDE)
    return tuple(given)


def beside_shelves() -> tuple[str, ...]:
    """Cautions for the part about trays and shelves."""
    return (LIFTING,)


def beside_harvest() -> tuple[str, ...]:
    """Cautions for the part about harvest and handing out."""
    return (FOOD,)


def all_for(scenario: Scenario) -> tuple[str, ...]:
    """Every caution that concerns this room, the general one first."""
    return (ALWAYS, *beside_machines(scenario), *beside_shelves(), *beside_harvest())
