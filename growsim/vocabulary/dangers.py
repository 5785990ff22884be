"""What can hurt whoever works in the room: one row a danger, with all that is said of it.

Tasks (`vocabulary.tasks`), machines (`vocabulary.machines`), questions and tables of the room file name their dangers;
sheet, report and form take the words from these rows, by way of `growsim.report.cautions`, which fills in the room's
own units and the limits of its region (`vocabulary.regions`). No text here is from a standard: common practice of
workplaces, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

Danger = Literal[
    "carbon dioxide",
    "alone",
    "water and power",
    "sanitizer",
    "chemicals",
    "lifting",
    "load",
    "hot room",
    "glare",
    "food",
]
DANGERS: Final[tuple[Danger, ...]] = get_args(Danger)
"""The worst first: in this order they stand where several do."""


@dataclass(frozen=True)
class DangerRow:
    """One danger. text: in full, for a report or a form. short: one line, for a shift's sheet.

    Both may hold {guarded}, {water}, {limits}, {chilled}, {rules}: see growsim.report.cautions.
    """

    text: str
    short: str


ROWS: Final[dict[Danger, DangerRow]] = {
    "carbon dioxide": DangerRow(
        "Carbon dioxide in a closed room can kill without warning. Install a monitor with an alarm, ventilate before "
        "going in and never enter on an alarm. {limits}",
        "Carbon dioxide: look at the monitor and ventilate before going in; never enter on an alarm.",
    ),
    "alone": DangerRow(
        "Alone. Nobody works alone with water beside electricity, acids, sanitizer, gas, ladders or heavy loads. A "
        "second person stays within call; somebody outside knows when the work should be over.",
        "No lead comes: nobody works here alone. Wait until there are two, and tell somebody outside when you will be "
        "done.",
    ),
    "water and power": DangerRow(
        "Electricity beside water. Pumps, timers and lights hang over reservoirs: {guarded}, drip loops, plugs above "
        "the flood line. Before hands go into a reservoir, unplug its pump with dry hands or switch it off at the "
        "breaker; a licensed electrician does the wiring.",
        "Water and electricity: unplug with dry hands, or at the breaker, before hands go into a reservoir.",
    ),
    "sanitizer": DangerRow(
        "Sanitizer. Bleach never meets an acid (what lowers pH is one) or ammonia: the gas can kill. One product at a "
        "time, thinned as its label says, with gloves, eye protection and fresh air. Rinse and drain before plants or "
        "food touch it again.",
        "Sanitizer: bleach never with acid (what lowers pH is one) or ammonia. Gloves, eye protection, fresh air; "
        "rinse.",
    ),
    "chemicals": DangerRow(
        "Nutrient salts, acids and bases. Gloves and eye protection; acid into water, never water into acid; never "
        "mix concentrates. Keep an eye wash at hand and read each product's safety data sheet.",
        "Nutrients and what sets pH: gloves, eye protection; acid into water, never water into acid; never mix "
        "concentrates.",
    ),
    "lifting": DangerRow(
        "Lifting. A full reservoir or a wet tray is heavier than it looks: {water}. Never lift or drag a filled "
        "reservoir: drain it first. Two people for what is awkward, no lifting above the shoulder, a steady step to "
        "the top shelf.",
        "Lifting: never a filled reservoir, drain it first; two for what is awkward; a steady step to the top shelf.",
    ),
    "load": DangerRow(
        "Load of circuits and floor. Before a rack, a light or a machine is added, a licensed electrician says what "
        "the circuit carries. Whoever knows the building says what the floor carries: {water}, and a filled rack "
        "stands on four small feet. Fix tall racks to a wall.",
        "Load: no further plug on a circuit, nor weight on a floor, that nobody has checked.",
    ),
    "hot room": DangerRow(
        "Heat. When cooling fails the room can grow hot with the lights on: lights off first, then see to the plants. "
        "Drink, take breaks and leave when dizzy.",
        "Heat: drink, take breaks and leave when dizzy.",
    ),
    "glare": DangerRow(
        "Glare. Do not look into grow lights; wear shaded glasses when working under them and turn them down for close "
        "work.",
        "Glare: do not look into the lights; shaded glasses, or lights turned down, for close work.",
    ),
    "food": DangerRow(
        "Food safety. Clean hands, clean knives and crates, water fit to drink; nobody who is ill handles greens. "
        "Harvested greens need a cold chain: {chilled}; note lot and date. {rules} is for the local authority to say.",
        "Food: clean hands, knives and crates; nobody who is ill; greens into the cold at once; note lot and date.",
    ),
}

OF_TABLE: Final[dict[str, tuple[Danger, ...]]] = {
    "racks": ("water and power", "lifting", "load"),
    "reservoirs": ("water and power", "sanitizer", "chemicals", "lifting", "load"),
    "trays": ("sanitizer", "lifting"),
    "lights": ("water and power", "load", "hot room", "glare"),
    "climate": ("water and power", "load", "hot room"),
    "co2": ("carbon dioxide",),
    "power": ("water and power", "load"),
    "crew": ("alone", "chemicals", "lifting", "hot room"),
    "crops": ("food",),
    "harvest": ("food",),
    "partners": ("food",),
}
"""Tables of the room file -> the dangers of who changes or makes what they describe."""

SHELVES: Final[tuple[Danger, ...]] = ("sanitizer", "lifting")
HARVEST: Final[tuple[Danger, ...]] = ("food",)
"""Dangers of who moves and washes trays, and of who harvests, packs and hands out."""
