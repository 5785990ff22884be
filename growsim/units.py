"""Conversions between units. Pure functions, no imports of ours.

Sources: pound = 0.45359237 kg exactly (international yard and pound agreement, 1959, from memory);
°F = 1.8 °C + 32 (definition); FAO-56 eq. 11 lives in growth.water, not here.
"""

from __future__ import annotations

from typing import Final

MINUTES_PER_HOUR: Final = 60
MINUTES_PER_DAY: Final = 1440
MINUTES_PER_WEEK: Final = 7 * MINUTES_PER_DAY
KG_PER_POUND: Final = 0.45359237
GRAMS_PER_KG: Final = 1000
LITRES_PER_US_GALLON: Final = 3.785411784


def pounds(kilograms: float) -> float:
    """Kilograms to avoirdupois pounds."""
    return kilograms / KG_PER_POUND


def fahrenheit(celsius: float) -> float:
    """Degrees Celsius to degrees Fahrenheit."""
    return celsius * 1.8 + 32.0


def daily_light_integral_mol_m2(ppfd_umol_m2_s: float, hours: float) -> float:
    """Mol of photons per m² and day from a PPFD held for `hours`."""
    return ppfd_umol_m2_s * hours * 3600.0 / 1e6
