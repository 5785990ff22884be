"""Differences as words: "5.2 kg (11.5 lb)", "+4 points". A difference has a sign, and the units of both readers."""

from __future__ import annotations

from growsim.ledger.catalogue import CATALOGUE
from growsim.report.words import money, number
from growsim.units import FAHRENHEIT_PER_CELSIUS, KG_PER_POUND, ounces, pounds


def plus(value: float, decimals: int) -> str:
    """A number with its sign: "+2.3", "-0.4", "0.0"."""
    text = number(value, decimals)
    return f"+{text}" if value > 0 and float(text.replace(",", "")) != 0 else text


def signed(key: str, value: float | None, currency: str) -> str:
    """A difference in a figure of the catalogue, signed, in the units both kinds of reader use."""
    if value is None:
        return "–"
    measure = CATALOGUE[key]
    if measure.unit == "fraction":
        return f"{plus(100 * value, 1)} points"
    if measure.unit.startswith("kg/"):
        decimals = max(measure.decimals, 2 if 0 < abs(value) < 0.1 else 0)
        return f"{plus(value, decimals)} ({plus(pounds(value), decimals)} lb)"
    if measure.unit == "°C":
        return f"{plus(value, 1)} ({plus(value * FAHRENHEIT_PER_CELSIUS, 1)} °F)"
    if measure.unit == "g":
        return f"{plus(value, measure.decimals)} ({plus(ounces(value), 1)} oz)"
    if measure.unit.startswith("money/"):
        per_pound = f" ({plus(value * KG_PER_POUND, 2)} per lb)" if measure.unit == "money/kg" else ""
        return f"{currency} {plus(value, 2)}{per_pound}"
    if measure.unit.endswith("/kg"):
        return f"{plus(value, measure.decimals)} ({plus(value * KG_PER_POUND, measure.decimals)} per lb)"
    return plus(value, measure.decimals)


def signed_alone(key: str, value: float, currency: str) -> str:
    """The same where no column's head says the unit: "+0.5 kg (+1.0 lb)", "-11 kWh", "+4 g (+0.1 oz)"."""
    unit, said = CATALOGUE[key].unit, signed(key, value, currency)
    if unit == "g" or unit.startswith("kg/"):
        return said.replace(" (", f" {unit.split('/')[0]} (", 1)
    return f"{said} kWh" if unit == "kWh/week" else said


def amount(key: str, size: float, currency: str) -> str:
    """The size of a difference with its unit, unsigned: "5.2 kg (11.5 lb)", "4.1 points", "3.1 hours", "USD 0.21"."""
    unit = CATALOGUE[key].unit
    if unit == "fraction":
        return f"{number(100 * size, 1)} points"
    if unit.startswith("kg/"):
        return f"{_kg(size)} kg ({_kg(pounds(size))} lb)"
    if unit == "h/week":
        return f"{number(size, 1)} hours"
    if unit == "money/kg":
        return money(size, currency)
    raise ValueError(f"no words for a difference in {unit!r}")


def sizes(key: str, low: float, high: float, currency: str) -> str:
    """Two sizes of a difference that are both unsigned: "4.1 to 6.3 kg, 9.0 to 13.9 lb"."""
    unit = CATALOGUE[key].unit
    if unit == "fraction":
        return f"{number(100 * low, 1)} to {number(100 * high, 1)} points"
    if unit.startswith("kg/"):
        return f"{_kg(low)} to {_kg(high)} kg, {_kg(pounds(low))} to {_kg(pounds(high))} lb"
    if unit == "h/week":
        return f"{number(low, 1)} to {number(high, 1)} hours"
    if unit == "money/kg":
        return f"{money(low, currency)} to {number(high, 2)}"
    raise ValueError(f"no words for a difference in {unit!r}")


def _kg(size: float) -> str:
    """Kilograms or pounds; small amounts with two decimals, so that none reads as nought."""
    return number(size, 2 if 0 < size < 0.1 else 1)
