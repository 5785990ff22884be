"""The accounts of the window: electricity, water, nutrient, seed, plugs, packing, hours, and what they cost."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from growsim.ledger.events import HandedOut, Harvested, MetersRead, Packed, Repaired, ShiftHeld, Sown, ToppedUp

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.scenario.scenario import Scenario


def accounts_of(book: Book, scenario: Scenario, end: int) -> dict[str, float]:
    """Account -> total over [0, end); units in the account's name (see ledger.outcome)."""
    totals = dict.fromkeys(
        ("liters:reservoirs", "liters:washing", "hours:volunteers", "hours:lead", "kg:handed out", "kg:packed",
        "plants:harvested",
         "money:seed", "money:plugs", "money:repairs"), 0.0,
    )  # fmt: skip
    prices = scenario.prices
    wash_liters = prices.wash_liters_per_tray
    for topped in book.between(ToppedUp, 0, end):
        totals["liters:reservoirs"] += topped.added_ml / 1000.0
    for _, task, _, units, _, _, _ in book.due(0, end):
        if task == "wash":
            totals["liters:washing"] += units * wash_liters
    for shift in book.between(ShiftHeld, 0, end):
        totals["hours:volunteers"] += shift.volunteer_minutes / 60.0
        totals["hours:lead"] += shift.lead_minutes / 60.0
    for given in book.between(HandedOut, 0, end):
        totals["kg:handed out"] += given.grams / 1000.0
    for packed in book.between(Packed, 0, end):
        totals["kg:packed"] += packed.grams / 1000.0
    for cut in book.between(Harvested, 0, end):
        totals["plants:harvested"] += cut.plants
    for _, account, money in paid_at_once(book, scenario, end):
        totals[account] += money
    totals.update(_metered(book, end))
    kwh = math.fsum([amount for account, amount in totals.items() if account.startswith("kwh:")])
    liters = totals["liters:reservoirs"] + totals["liters:washing"]
    totals["kg:nutrient"] = totals["liters:reservoirs"] * prices.nutrient_g_per_l / 1000.0
    totals["money:electricity"] = kwh * prices.electricity_per_kwh
    totals["money:water"] = liters / 1000.0 * prices.water_per_m3
    totals["money:nutrient"] = totals["kg:nutrient"] * prices.nutrient_per_kg
    totals["money:packing"] = totals["kg:packed"] * prices.packing_per_kg
    totals["money:co2"] = totals["kg:co2"] * prices.co2_per_kg
    totals["money:lead"] = totals["hours:lead"] * prices.lead_hour
    totals["money:fixed"] = end / 10080.0 * prices.fixed_per_week
    totals["value:volunteers"] = totals["hours:volunteers"] * prices.volunteer_hour_value
    return totals


def paid_at_once(book: Book, scenario: Scenario, end: int) -> Iterator[tuple[int, str, float]]:
    """Minute, account and money of what is sown and repaired in [0, end)."""
    plug_price = {crop.name: 0.0 if crop.sown_by == "tray" else scenario.prices.plug_each for crop in scenario.crops}
    seed_price = {crop.name: crop.seed_price for crop in scenario.crops}
    for sown in book.between(Sown, 0, end):
        yield sown.minute, "money:seed", sown.seeds * seed_price[sown.crop]
        yield sown.minute, "money:plugs", sown.cells * plug_price[sown.crop]
    for repaired in book.between(Repaired, 0, end):
        yield repaired.minute, "money:repairs", repaired.price


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
