"""Every caution, to its full text, for every task, machine, table, question and region that needs it.

What is said is common practice of workplaces, no source; limits and their sources: growsim.vocabulary.regions.
"""

from __future__ import annotations

from types import ModuleType
from typing import get_args

import pytest

from growsim.report import cautions
from growsim.units import shown_in
from growsim.vocabulary.dangers import OF_TABLE, Danger
from growsim.vocabulary.machines import BY_KEY
from growsim.vocabulary.questions import QUESTIONS
from growsim.vocabulary.regions import REGION_NAMES
from growsim.vocabulary.tasks import TASKS

FULL: dict[Danger, str] = {
    "carbon dioxide": "Carbon dioxide in a closed room can kill without warning. Install a monitor with an alarm, "
    "ventilate before going in and never enter on an alarm. Keep below the limits of the authority for workplaces.",
    "alone": "Alone. Nobody works alone with water beside electricity, acids, sanitizer, gas, ladders or heavy loads. "
    "A second person stays within call; somebody outside knows when the work should be over.",
    "water and power": "Electricity beside water. Pumps, timers and lights hang over reservoirs: outlets guarded "
    "against earth faults, drip loops, plugs above the flood line. Before hands go into a reservoir, unplug its pump "
    "with dry hands or switch it off at the breaker; a licensed electrician does the wiring.",
    "sanitizer": "Sanitizer. Bleach never meets an acid (what lowers pH is one) or ammonia: the gas can kill. One "
    "product at a time, thinned as its label says, with gloves, eye protection and fresh air. Rinse and drain before "
    "plants or food touch it again.",
    "chemicals": "Nutrient salts, acids and bases. Gloves and eye protection; acid into water, never water into acid; "
    "never mix concentrates. Keep an eye wash at hand and read each product's safety data sheet.",
    "lifting": "Lifting. A full reservoir or a wet tray is heavier than it looks: a liter of water weighs a kilogram. "
    "Never lift or drag a filled reservoir: drain it first. Two people for what is awkward, no lifting above the "
    "shoulder, a steady step to the top shelf.",
    "load": "Load of circuits and floor. Before a rack, a light or a machine is added, a licensed electrician says "
    "what the circuit carries. Whoever knows the building says what the floor carries: a liter of water weighs a "
    "kilogram, and a filled rack stands on four small feet. Fix tall racks to a wall.",
    "hot room": "Heat. When cooling fails the room can grow hot with the lights on: lights off first, then see to the "
    "plants. Drink, take breaks and leave when dizzy.",
    "glare": "Glare. Do not look into grow lights; wear shaded glasses when working under them and turn them down for "
    "close work.",
    "food": "Food safety. Clean hands, clean knives and crates, water fit to drink; nobody who is ill handles greens. "
    "Harvested greens need a cold chain: as cold as the food authority asks; note lot and date. Which rules hold for "
    "greens handed out is for the local authority to say.",
}
SHORT: dict[Danger, str] = {
    "carbon dioxide": "Carbon dioxide: look at the monitor and ventilate before going in; never enter on an alarm.",
    "alone": "No lead comes: nobody works here alone. Wait until there are two, and tell somebody outside when you "
    "will be done.",
    "water and power": "Water and electricity: unplug with dry hands, or at the breaker, before hands go into a "
    "reservoir.",
    "sanitizer": "Sanitizer: bleach never with acid (what lowers pH is one) or ammonia. Gloves, eye protection, fresh "
    "air; rinse.",
    "chemicals": "Nutrients and what sets pH: gloves, eye protection; acid into water, never water into acid; never "
    "mix concentrates.",
    "lifting": "Lifting: never a filled reservoir, drain it first; two for what is awkward; a steady step to the top "
    "shelf.",
    "load": "Load: no further plug on a circuit, nor weight on a floor, that nobody has checked.",
    "hot room": "Heat: drink, take breaks and leave when dizzy.",
    "glare": "Glare: do not look into the lights; shaded glasses, or lights turned down, for close work.",
    "food": "Food: clean hands, knives and crates; nobody who is ill; greens into the cold at once; note lot and date.",
}


def test_every_caution_is_held_to_its_full_text() -> None:
    """Word for word, the worst first whatever the order asked for."""
    assert set(FULL) == set(SHORT) == set(get_args(Danger))
    assert cautions.beside(reversed(FULL), "elsewhere") == tuple(FULL.values())
    assert cautions.in_short(reversed(SHORT)) == tuple(SHORT.values())


def test_what_each_task_machine_table_and_question_is_cautioned_of() -> None:
    """Who washes is told of sanitizer, who fills of acids, who adds a rack of circuits and floor."""
    assert {key: set(row.dangers) for key, row in TASKS.items()} == {
        "sow": set(),
        "thin": set(),
        "transplant": {"lifting", "glare"},
        "harvest": {"food"},
        "pack": {"food"},
        "wash": {"sanitizer", "lifting"},
        "top up": {"water and power", "chemicals"},
        "change solution": {"water and power", "sanitizer", "chemicals", "lifting"},
    }
    assert {key: set(row.dangers) for key, row in BY_KEY.items()} == {
        "pump": {"water and power", "lifting"},
        "timer": {"water and power"},
        "reservoir leak": {"water and power", "lifting", "chemicals"},
        "power": {"water and power"},
        "heat pump": {"hot room", "water and power"},
        "lights": {"water and power", "glare", "lifting"},
        "co2": {"carbon dioxide", "water and power"},
        "door": {"water and power"},
    }
    assert {table for table, dangers in OF_TABLE.items() if "load" in dangers} == {
        "racks", "reservoirs", "lights", "climate", "power",
    }  # fmt: skip
    assert {table for table, dangers in OF_TABLE.items() if "food" in dangers} == {"crops", "harvest", "partners"}
    assert {table for table, dangers in OF_TABLE.items() if "sanitizer" in dangers} == {"reservoirs", "trays"}
    assert OF_TABLE["co2"] == ("carbon dioxide",) and "alone" in OF_TABLE["crew"]
    assert {each.name for each in QUESTIONS if each.dangers} == {
        "rehearse", "compare", "crew", "outage", "sow", "learn", "promise", "sheet",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("region", "cold", "gas"),
    [
        ("US", "5 °C or below for cut leafy greens (FDA Food Code 3-501.16)",
         "Limits: 5,000 ppm over eight hours (OSHA); 40,000 ppm is immediately dangerous (NIOSH)."),
        ("UK", "8 °C or below for food that harmful germs can grow in (Food Standards Agency, May 2016; Scotland names "
         "no figure)", "Limits: 5,000 ppm over eight hours (HSE, EH40/2005); 15,000 ppm over 15 minutes (HSE, "
         "EH40/2005)."),
        ("EU", "as cold as the food authority asks", "Limits: 5,000 ppm over eight hours (Directive 2006/15/EC)."),
        ("Norway", "4 °C or below for perishable food (Mattilsynet, 2020)",
         "Limits: 5,000 ppm over eight hours (Arbeidstilsynet)."),
        ("Canada", "4 °C or below for ready-to-eat cut vegetables (CFIA)",
         "Keep below the limits of the authority for workplaces."),
        ("Australia and New Zealand", "5 °C or below for potentially hazardous food (Food Standards Code 3.2.2, "
         "Australia)", "Limits: 5,000 ppm over eight hours (Safe Work Australia)."),
        ("elsewhere", "as cold as the food authority asks", "Keep below the limits of the authority for workplaces."),
    ],
)  # fmt: skip
def test_each_region_cites_its_own_limits_or_none(region: str, cold: str, gas: str) -> None:
    """Norway does not read of the FDA, nor anybody of OSHA but the US."""
    (air, food) = cautions.beside(["food", "carbon dioxide"], region)
    everything = " ".join((air, food, cautions.warm_greens(region)))

    assert food.startswith(FULL["food"].partition(": ")[0] + f": {cold}; note lot and date.")
    assert air.endswith(f"on an alarm. {gas}")
    foreign = ("FDA", "OSHA", "NIOSH", "CFR") if region != "US" else ("Mattilsynet", "HSE", "CFIA")
    assert not any(whose in everything for whose in foreign)


def test_every_region_is_tried() -> None:
    """A further one gets a line above."""
    (mark,) = [each for each in test_each_region_cites_its_own_limits_or_none.pytestmark if each.name == "parametrize"]
    assert {row[0] for row in mark.args[1]} == set(REGION_NAMES)


def test_a_limit_is_told_in_the_readers_units() -> None:
    """41 °F and 5 °C are the Food Code's own pair (3-501.16); a US gallon of water weighs 8.3 lb (3.785 kg)."""
    with shown_in("us"):
        (lifting, food) = cautions.beside(["food", "lifting"], "US")
        assert "a cold chain: 41 °F or below" in food
        assert "a gallon of water weighs 8.3 lb." in lifting
        assert cautions.warm_greens("US") == (
            "Greens that have been above 41 °F for more than 4 hours are thrown away (FDA Food Code 3-501.19)."
        )
    assert cautions.warm_greens("Norway") == (
        "Greens that have stood warm are thrown away once they have for as long as the food authority allows."
    )


def test_gas_is_cautioned_of_where_it_is_supplied(made_up: ModuleType) -> None:
    """Beside the machines, the worst first."""
    room = made_up.tiny_room()
    fed = room.model_copy(update={"co2": room.co2.model_copy(update={"supply_kg_per_day": 1.0})})
    always = ("water and power", "chemicals", "hot room", "glare")

    assert cautions.beside_machines(room) == tuple(FULL[key] for key in FULL if key in always)
    assert cautions.beside_machines(fed) == (FULL["carbon dioxide"], *cautions.beside_machines(room))
