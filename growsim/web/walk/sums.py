"""The arithmetic that stands beside a step's fields: how long trays are side by side, what so many cells give, how many
so many kilograms take. By the model's own expectation, on paper; nothing is said of a room with faults.
"""

from __future__ import annotations

import math

from growsim.scenario import on_paper
from growsim.scenario.names import ANY_CROP
from growsim.scenario.origin import is_invented
from growsim.scenario.scenario import Scenario
from growsim.scenario.size import sown_for
from growsim.units import amount, mass_text, unit
from growsim.vocabulary.days import NAME_OF_WEEKDAY
from growsim.web.walk.steps import BY_NAME, Field, Step

A_LITTLE_KG = 1.0  # told of a crop that nobody is promised


def beside(step: Step, field: Field, scenario: Scenario | None) -> str:
    """What is reckoned for a field; "" where nothing is."""
    if scenario is None:
        return ""
    if field.name == "slots":
        return _side_by_side(scenario)
    if step.rows is not None and field.row is not None and field.name.endswith(("-cells", "-kg")):
        return _cells(scenario, field.row) if step.rows.of == "cells" else _promise(scenario, field.row)
    return ""


def _side_by_side(scenario: Scenario) -> str:
    shelf = scenario.racks[0].shelves[-1]
    side = min(shelf.slot_length_cm, shelf.slot_width_cm)
    size = f"{amount(shelf.slot_length_cm, 'cm'):.0f} × {amount(shelf.slot_width_cm, 'cm'):.0f} {unit('cm')}"
    long = f"{amount(side * shelf.slots, 'cm'):.0f} {unit('cm')}"
    return f"A tray is {size}: {shelf.slots} side by side are {long} of shelf."


def _cells(scenario: Scenario, row: int) -> str:
    """What the cells of a crop give, and what is promised of it."""
    if row >= len(scenario.crops):
        return ""
    crop = scenario.crops[row]
    kg = math.fsum(line.kg for line in on_paper.weekly_plan(scenario) if line.crop.name == crop.name)
    promised = [
        f"{sown_for(scenario, crop, order.kg)}, for {partner.name}."
        for partner in scenario.partners
        for order in partner.orders
        if order.crop == crop.name and not is_invented(order.source or partner.source, "kg")
    ]
    return " ".join(
        (f"On paper these give {mass_text(kg)} a week.", *(promised or [f"{sown_for(scenario, crop, A_LITTLE_KG)}."]))
    )


def _promise(scenario: Scenario, row: int) -> str:
    orders = [(partner, order) for partner in scenario.partners for order in partner.orders]
    if row >= len(orders):
        return ""
    partner, order = orders[row]
    crops = [crop for crop in scenario.crops if order.crop in (crop.name, ANY_CROP)]
    said = "; or ".join(sown_for(scenario, crop, order.kg) for crop in crops)
    where = f"You say how many under “{BY_NAME['crops'].title}”."
    return f"For {NAME_OF_WEEKDAY[partner.weekday]}s: {said}. {where}" if said else ""
