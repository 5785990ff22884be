"""The accounts of the window: electricity, water, nutrient, seed, plugs, packing, hours, and what they cost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.ledger.events import Cut, HandedOut, MetersRead, Packed, Repaired, ShiftHeld, Sown, TaskDue, ToppedUp

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.spec.scenario import Scenario


def accounts_of(book: Book, scenario: Scenario, end: int) -> dict[str, float]:
    """Account -> total over [0, end); units in the account's name (see ledger.outcome)."""
    totals = dict.fromkeys(
        ("litres:tubs", "litres:washing", "hours:volunteers", "hours:lead", "kg:handed out", "kg:packed", "plants:cut",
         "money:seed", "money:plugs", "money:repairs"), 0.0,
    )  # fmt: skip
    prices = scenario.prices
    seed_price = {crop.name: crop.seed_price_per_1000 / 1000.0 for crop in scenario.crops}
    for record in book.records:
        if not 0 <= record.minute < end:
            continue
        match record:
            case ToppedUp():
                totals["litres:tubs"] += record.added_ml / 1000.0
            case TaskDue() if record.task == "wash":
                totals["litres:washing"] += record.units * prices.wash_litres_per_tray
            case ShiftHeld():
                totals["hours:volunteers"] += record.volunteer_minutes / 60.0
                totals["hours:lead"] += record.lead_minutes / 60.0
            case HandedOut():
                totals["kg:handed out"] += record.grams / 1000.0
            case Packed():
                totals["kg:packed"] += record.grams / 1000.0
            case Cut():
                totals["plants:cut"] += record.plants
            case Sown():
                totals["money:seed"] += record.seeds * seed_price[record.crop]
                totals["money:plugs"] += record.cells * prices.plug_each
            case Repaired():
                totals["money:repairs"] += record.price
            case _:
                pass
    totals.update(_metered(book, end))
    kwh = sum(amount for account, amount in totals.items() if account.startswith("kwh:"))
    litres = totals["litres:tubs"] + totals["litres:washing"]
    totals["kg:nutrient"] = totals["litres:tubs"] * prices.nutrient_g_per_l / 1000.0
    totals["money:electricity"] = kwh * prices.electricity_per_kwh
    totals["money:water"] = litres / 1000.0 * prices.water_per_m3
    totals["money:nutrient"] = totals["kg:nutrient"] * prices.nutrient_per_kg
    totals["money:packing"] = totals["kg:packed"] * prices.packing_per_kg
    totals["money:co2"] = totals["kg:co2"] * prices.co2_per_kg
    totals["money:lead"] = totals["hours:lead"] * prices.lead_hour
    totals["money:fixed"] = end / 10080.0 * prices.fixed_per_week
    totals["value:volunteers"] = totals["hours:volunteers"] * prices.volunteer_hour_value
    return totals


def _metered(book: Book, end: int) -> dict[str, float]:
    """Differences of the meters between the readings at the start and at the end of the window."""
    readings = list(book.of(MetersRead))
    first = next(reading for reading in readings if reading.minute >= 0)
    last = next(reading for reading in reversed(readings) if reading.minute <= end)
    return {
        "kwh:lights": last.kwh_lights - first.kwh_lights,
        "kwh:pumps": last.kwh_pumps - first.kwh_pumps,
        "kwh:heat pump": last.kwh_heat_pump - first.kwh_heat_pump,
        "kwh:fans": last.kwh_fans - first.kwh_fans,
        "kg:co2": (last.co2_g - first.co2_g) / 1000.0,
    }
