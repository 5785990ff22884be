"""Units: conversions, and the one system in which amounts are told. No imports of ours.

All numbers inside, in files and in summary.json are SI; what people read is told in the units of the room's file.
Sources: pound = 0.45359237 kg and inch = 2.54 cm exactly (international yard and pound agreement, 1959, from memory);
US gallon = 231 cubic inches, °F = 1.8 °C + 32 (definitions); FAO-56 eq. 11 lives in growth.water, not here.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final, Literal, NamedTuple, get_args

MINUTES_PER_HOUR: Final = 60
MINUTES_PER_DAY: Final = 1440
MINUTES_PER_WEEK: Final = 7 * MINUTES_PER_DAY
KG_PER_POUND: Final = 0.45359237
GRAMS_PER_KG: Final = 1000
OUNCES_PER_POUND: Final = 16
FAHRENHEIT_PER_CELSIUS: Final = 1.8
FAHRENHEIT_AT_ZERO_CELSIUS: Final = 32.0
LITERS_PER_US_GALLON: Final = 3.785411784
CM_PER_INCH: Final = 2.54
INCHES_PER_FOOT: Final = 12

System = Literal["metric", "us"]
SYSTEMS: Final[tuple[System, ...]] = get_args(System)


class Shown(NamedTuple):
    """A unit a reader sees: an amount in it is `factor` × the amount in ours + `zero`. more: decimals it needs more."""

    name: str
    factor: float = 1.0
    zero: float = 0.0
    more: int = 0


# What a reader of US units sees, by our own unit as the models name it; "money" stands for the currency of the room.
# What is not here (W, mS/cm, µmol/m²/s, ppm, mL) is the trade's in either system and stays.
US_UNITS: Final[dict[str, Shown]] = {
    "°C": Shown("°F", FAHRENHEIT_PER_CELSIUS, FAHRENHEIT_AT_ZERO_CELSIUS),
    "°C h": Shown("°F h", FAHRENHEIT_PER_CELSIUS),
    "kg": Shown("lb", 1.0 / KG_PER_POUND),
    "kg/day": Shown("lb/day", 1.0 / KG_PER_POUND),
    "kg/week": Shown("lb/week", 1.0 / KG_PER_POUND),
    "g": Shown("oz", OUNCES_PER_POUND / (GRAMS_PER_KG * KG_PER_POUND), more=1),
    "money/kg": Shown("money/lb", KG_PER_POUND),
    "kWh/kg": Shown("kWh/lb", KG_PER_POUND),
    "L": Shown("gal", 1.0 / LITERS_PER_US_GALLON),
    "L/kg": Shown("gal/lb", KG_PER_POUND / LITERS_PER_US_GALLON, more=1),
    "cm": Shown("in", 1.0 / CM_PER_INCH),
    "m": Shown("ft", 100.0 / (INCHES_PER_FOOT * CM_PER_INCH)),
    "m²": Shown("sq ft", (100.0 / (INCHES_PER_FOOT * CM_PER_INCH)) ** 2),
}
_NOUNS: Final = (
    ("kilogram", "pound"), ("Kilogram", "Pound"), ("liter", "gallon"), ("Liter", "Gallon"), ("degrees Celsius", "°F"),
)  # fmt: skip

_shown: ContextVar[System] = ContextVar("units shown", default="metric")
_month_first: ContextVar[bool] = ContextVar("month before day", default=False)


@contextmanager
def shown_in(system: System, *, month_first: bool = False) -> Iterator[None]:
    """Within it, amounts are told in this system, and dates in this order. Ambient like a language: one page has one
    reader."""
    before = _shown.set(system), _month_first.set(month_first)
    try:
        yield
    finally:
        _shown.reset(before[0])
        _month_first.reset(before[1])


def month_first() -> bool:
    """Whether dates are told as "March 13, 2031", not as "13 March 2031"."""
    return _month_first.get()


def system() -> System:
    """The system in which amounts are told here."""
    return _shown.get()


def as_shown(ours: str) -> Shown:
    """The unit a reader sees in place of ours: itself where both systems have it."""
    return US_UNITS.get(ours, Shown(ours)) if _shown.get() == "us" else Shown(ours)


def unit(ours: str) -> str:
    """The name of the unit a reader sees."""
    return as_shown(ours).name


def amount(value: float, ours: str) -> float:
    """An amount in ours, in the reader's unit."""
    seen = as_shown(ours)
    return value * seen.factor + seen.zero


def difference(value: float, ours: str) -> float:
    """A difference of two amounts, in the reader's unit: 1 °C is 1.8 °F."""
    return value * as_shown(ours).factor


def worded(words: str) -> str:
    """Words of ours with the nouns of the reader: "a kilogram" is "a pound". Numbers are left alone."""
    if _shown.get() == "us":
        for ours, theirs in _NOUNS:
            words = words.replace(ours, theirs)
    return words


def amount_text(value: float) -> str:
    """One decimal; small amounts to three figures, large ones whole; no zeros at the end of decimals."""
    size = math.floor(math.log10(abs(value))) if value else 0
    text = f"{value:,.{max(int(size < 3), 2 - size)}f}" if size > -8 else f"{value:.3g}"
    return text.rstrip("0").rstrip(".") if "." in text and "e" not in text else text


def with_unit(words: str, ours: str) -> str:
    """Words about amounts in ours, as the reader sees them: "from 5 to 40" (°C) is "from 41 to 104 °F"."""
    seen = as_shown(ours)

    def turned(found: re.Match[str]) -> str:
        return amount_text(float(found.group()) * seen.factor + seen.zero)

    if seen.name == ours:
        return f"{words} {ours}"
    return f"{re.sub(r'-?[0-9]+(?:[.][0-9]+)?', turned, words)} {seen.name}"


def mass_text(kilograms: float) -> str:
    """A mass to a tenth: "18.0 kg"."""
    return f"{amount(kilograms, 'kg'):.1f} {unit('kg')}"


def amount_with_unit(value: float, ours: str) -> str:
    """An amount as it would be typed: "22 °C"."""
    return f"{amount(value, ours):.6g} {unit(ours)}"
