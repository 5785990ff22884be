"""The arithmetic that stands beside a step's fields: how long trays are side by side, how many cells so many kilograms
take. By the model's own expectation, on paper; nothing is said of a room with faults.
"""

from __future__ import annotations

from growsim.report.words import long_date
from growsim.scenario.checks.closings import closings
from growsim.scenario.names import ANY_CROP
from growsim.scenario.scenario import Scenario
from growsim.scenario.size import sown_for
from growsim.units import amount, unit
from growsim.web.walk.steps import Field, Step

MOST_TOLD = 4


def beside(step: Step, field: Field, scenario: Scenario | None) -> str:
    """What is reckoned for a field; "" where nothing is."""
    if scenario is None:
        return ""
    if field.name == "slots":
        return _side_by_side(scenario)
    if field.name == "closed":
        return _closed(scenario)
    return _promise(scenario, field.row) if field.row is not None and field.name.endswith("-kg") else ""


def _closed(scenario: Scenario) -> str:
    times = closings(scenario)
    told = [long_date(first) + (f" to {long_date(last)}" if last > first else "") for first, last in times[:MOST_TOLD]]
    more = f" and {len(times) - MOST_TOLD} times more" if len(times) > MOST_TOLD else ""
    return f"Closed on {', '.join(told)}{more}." if told else ""


def _side_by_side(scenario: Scenario) -> str:
    shelf = scenario.racks[0].shelves[-1]
    side = min(shelf.slot_length_cm, shelf.slot_width_cm)
    size = f"{amount(shelf.slot_length_cm, 'cm'):.0f} × {amount(shelf.slot_width_cm, 'cm'):.0f} {unit('cm')}"
    long = f"{amount(side * shelf.slots, 'cm'):.0f} {unit('cm')}"
    return f"A tray is {size}: {shelf.slots} side by side are {long} of shelf."


def _promise(scenario: Scenario, row: int) -> str:
    orders = [(partner, order) for partner in scenario.partners for order in partner.orders]
    if row >= len(orders):
        return ""
    _, order = orders[row]
    crops = [crop for crop in scenario.crops if order.crop in (crop.name, ANY_CROP)]
    said = "; or ".join(sown_for(scenario, crop, order.kg) for crop in crops)
    return f"{said}." if said else ""
