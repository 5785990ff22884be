"""What must be in the cupboard: seed, plugs, nutrient, water and packing for the weeks to come, on paper."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.ledger.events import Packed, Sown, ToppedUp

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.spec.scenario import Scenario


@dataclass(frozen=True)
class Supply:
    """So much of a thing. price: what that costs by the room's prices."""

    name: str
    amount: float
    unit: str
    price: float


def supplies_of(book: Book, scenario: Scenario, begin: int, end: int) -> tuple[Supply, ...]:
    """Supplies used in [begin, end) minutes of the log book. Whole seeds, plugs and litres."""
    prices, crops = scenario.prices, {crop.name: crop for crop in scenario.crops}
    seeds: dict[str, int] = {}
    plugs = 0
    for sown in book.of(Sown):
        if begin <= sown.minute < end:
            seeds[sown.crop] = seeds.get(sown.crop, 0) + sown.seeds
            plugs += sown.cells
    litres = sum(topped.added_ml for topped in book.of(ToppedUp) if begin <= topped.minute < end) / 1000.0
    packed = sum(packed.grams for packed in book.of(Packed) if begin <= packed.minute < end) / 1000.0
    nutrient_kg = litres * prices.nutrient_g_per_l / 1000.0
    found = [
        Supply(f"seed of {crop}", count, "seeds", count / 1000.0 * crops[crop].seed_price_per_1000)
        for crop, count in sorted(seeds.items())
    ]
    return (
        *found,
        Supply("starter plugs", plugs, "plugs", plugs * prices.plug_each),
        Supply("dry nutrient", nutrient_kg, "kg", nutrient_kg * prices.nutrient_per_kg),
        Supply("water for the tubs", math.ceil(litres), "L", litres / 1000.0 * prices.water_per_m3),
        Supply("packing, for greens of", packed, "kg", packed * prices.packing_per_kg),
    )
