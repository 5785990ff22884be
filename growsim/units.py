"""Conversions between units. Pure functions, no imports of ours.

Sources: pound = 0.45359237 kg exactly (international yard and pound agreement, 1959, from memory);
°F = 1.8 °C + 32 (definition); FAO-56 eq. 11 lives in growth.water, not here.
"""

from __future__ import annotations

import math
import re
from typing import Final, NamedTuple

MINUTES_PER_HOUR: Final = 60
MINUTES_PER_DAY: Final = 1440
MINUTES_PER_WEEK: Final = 7 * MINUTES_PER_DAY
KG_PER_POUND: Final = 0.45359237
GRAMS_PER_KG: Final = 1000
OUNCES_PER_POUND: Final = 16
FAHRENHEIT_PER_CELSIUS: Final = 1.8
FAHRENHEIT_AT_ZERO_CELSIUS: Final = 32.0
LITERS_PER_US_GALLON: Final = 3.785411784


def pounds(kilograms: float) -> float:
    """Kilograms to avoirdupois pounds."""
    return kilograms / KG_PER_POUND


def ounces(grams: float) -> float:
    """Grams to avoirdupois ounces (16 to the pound)."""
    return pounds(grams / GRAMS_PER_KG) * OUNCES_PER_POUND


def fahrenheit(celsius: float) -> float:
    """Degrees Celsius to degrees Fahrenheit."""
    return celsius * FAHRENHEIT_PER_CELSIUS + FAHRENHEIT_AT_ZERO_CELSIUS


class OtherUnit(NamedTuple):
    """The unit of the other reader: an amount in it is `factor` × the amount in ours + `zero`."""

    name: str
    factor: float
    zero: float


# What is shown in two units, by our own unit as the models name it; "money" stands for the currency of the room.
OTHER_UNITS: Final[dict[str, OtherUnit]] = {
    "°C": OtherUnit("°F", FAHRENHEIT_PER_CELSIUS, FAHRENHEIT_AT_ZERO_CELSIUS),
    "°C h": OtherUnit("°F h", FAHRENHEIT_PER_CELSIUS, 0.0),
    "kg": OtherUnit("lb", 1.0 / KG_PER_POUND, 0.0),
    "kg/day": OtherUnit("lb/day", 1.0 / KG_PER_POUND, 0.0),
    "kg/week": OtherUnit("lb/week", 1.0 / KG_PER_POUND, 0.0),
    "g": OtherUnit("oz", OUNCES_PER_POUND / (GRAMS_PER_KG * KG_PER_POUND), 0.0),
    "money/kg": OtherUnit("money/lb", KG_PER_POUND, 0.0),
    "kWh/kg": OtherUnit("kWh/lb", KG_PER_POUND, 0.0),
    "L/kg": OtherUnit("L/lb", KG_PER_POUND, 0.0),
}


def amount_text(value: float) -> str:
    """One decimal; small amounts to three figures, large ones whole; no zeros at the end of decimals."""
    size = math.floor(math.log10(abs(value))) if value else 0
    text = f"{value:,.{max(int(size < 3), 2 - size)}f}" if size > -8 else f"{value:.3g}"
    return text.rstrip("0").rstrip(".") if "." in text and "e" not in text else text


def in_other_words(words: str, unit: str) -> str:
    """Words about amounts, every number of them in the other unit: "from 5 to 40" (°C) is "from 41 to 104 °F".

    Raises KeyError where `unit` has no other.
    """
    other = OTHER_UNITS[unit]

    def turned(found: re.Match[str]) -> str:
        return amount_text(float(found.group()) * other.factor + other.zero)

    return f"{re.sub(r'-?[0-9]+(?:[.][0-9]+)?', turned, words)} {other.name}"


def mass_in_both(kilograms: float) -> str:
    """A mass to a tenth, in both units: "18.0 kg (39.7 lb)"."""
    return f"{kilograms:.1f} kg ({pounds(kilograms):.1f} lb)"


def in_both(value: float, unit: str) -> str:
    """An amount as it would be typed, in both units: "22 °C (71.6 °F)". Raises KeyError where `unit` has no other."""
    other = OTHER_UNITS[unit]
    return f"{value:.6g} {unit} ({amount_text(value * other.factor + other.zero)} {other.name})"
