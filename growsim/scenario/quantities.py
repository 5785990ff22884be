"""Amounts as people type them: "75 F", "8 ft", "12 lb", "85 %", "$1,200", "2,5", "18:30".

One place reads them, for room files, CHANGE files and forms. A number alone is meant in the file's own unit; behind a
number may stand its unit, in any of the usual spellings. What could mean two things is read as neither.
"""

from __future__ import annotations

import math
import re
from typing import Any, Final

from growsim.units import FAHRENHEIT_AT_ZERO_CELSIUS, FAHRENHEIT_PER_CELSIUS, KG_PER_POUND, LITERS_PER_US_GALLON

Way = tuple[float, float]
"""(factor, zero): an amount typed × factor + zero is the amount in the file's unit."""

_CM_PER_INCH, _INCHES_PER_FOOT = 2.54, 12  # exact, international yard and pound agreement, 1959 (from memory)
_W_PER_BTU_H = 0.29307107  # of the International Table Btu (from memory)
_KEPT_FIGURES = 6

_FROM_FAHRENHEIT: Final[Way] = (
    1.0 / FAHRENHEIT_PER_CELSIUS,
    -FAHRENHEIT_AT_ZERO_CELSIUS / FAHRENHEIT_PER_CELSIUS,
)


def _each(*words: str, of: float) -> dict[str, float]:
    return dict.fromkeys(words, of)


_DEGREES: Final[dict[str, Way]] = {
    **dict.fromkeys(("c", "°c", "degc", "degreesc", "celsius", "degreescelsius", "°celsius"), (1.0, 0.0)),
    **dict.fromkeys(
        ("f", "°f", "degf", "degreesf", "fahrenheit", "degreesfahrenheit", "°fahrenheit"), _FROM_FAHRENHEIT
    ),
}
_KG = {
    **_each("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", of=1.0),
    **_each("g", "gram", "grams", of=1e-3),
    **_each("mg", "milligram", "milligrams", of=1e-6),
    **_each("lb", "lbs", "pound", "pounds", of=KG_PER_POUND),
    **_each("oz", "ounce", "ounces", of=KG_PER_POUND / 16.0),
}
_METERS = {
    **_each("m", "meter", "meters", "metre", "metres", of=1.0),
    **_each("cm", "centimeter", "centimeters", "centimetre", "centimetres", of=0.01),
    **_each("mm", "millimeter", "millimeters", "millimetre", "millimetres", of=0.001),
    **_each("in", "inch", "inches", '"', "″", of=_CM_PER_INCH / 100.0),
    **_each("ft", "foot", "feet", "'", "′", of=_INCHES_PER_FOOT * _CM_PER_INCH / 100.0),
}
_FT2 = (_INCHES_PER_FOOT * _CM_PER_INCH / 100.0) ** 2
_SQUARES = {**_each("m2", "sqm", of=1.0), **_each("ft2", "sqft", "squarefeet", "squarefoot", of=_FT2)}
_LITERS = {
    **_each("l", "liter", "liters", "litre", "litres", of=1.0),
    **_each("ml", "milliliter", "milliliters", "millilitre", "millilitres", of=0.001),
    **_each("m3", of=1000.0),
    **_each("gal", "gals", "gallon", "gallons", "usgal", of=LITERS_PER_US_GALLON),
}
_HOURS = {
    **_each("h", "hr", "hrs", "hour", "hours", of=1.0),
    **_each("min", "mins", "minute", "minutes", of=1.0 / 60.0),
    **_each("s", "sec", "second", "seconds", of=1.0 / 3600.0),
    **_each("d", "day", "days", of=24.0),
    **_each("week", "weeks", "wk", "wks", of=168.0),
}
_WATTS = {
    **_each("w", "watt", "watts", of=1.0),
    **_each("kw", "kilowatt", "kilowatts", of=1000.0),
    **_each("btu/h", "btu/hr", "btuh", of=_W_PER_BTU_H),
}
_SHARES = {**_each("%", "percent", "pct", "per cent", of=0.01)}


def _ways(words: dict[str, float], one: float, *, behind: tuple[str, ...] = ("",)) -> dict[str, Way]:
    return {f"{word}{each}": (factor / one, 0.0) for word, factor in words.items() for each in behind}


_A_DAY = ("/day", "aday", "perday", "/d")
WAYS: Final[dict[str, dict[str, Way]]] = {
    "°C": _DEGREES,
    "°C h": {f"{word}h": (factor, 0.0) for word, (factor, _) in _DEGREES.items()},
    "kg": _ways(_KG, 1.0),
    "kg/day": _ways(_KG, 1.0, behind=("", *_A_DAY)),
    "g": _ways(_KG, 1e-3),
    "mg": _ways(_KG, 1e-6),
    "m": _ways(_METERS, 1.0),
    "cm": _ways(_METERS, 0.01),
    "m²": _ways(_SQUARES, 1.0),
    "L": _ways(_LITERS, 1.0),
    "mL": _ways(_LITERS, 0.001),
    "h": _ways(_HOURS, 1.0),
    "min": _ways(_HOURS, 1.0 / 60.0),
    "days": _ways(_HOURS, 24.0),
    "weeks": _ways(_HOURS, 168.0),
    "W": _ways(_WATTS, 1.0),
    "kW": _ways(_WATTS, 1000.0),
    "fraction": _ways(_SHARES, 1.0),
    "%": _ways(_SHARES, 0.01),
    "money/kg": {f"{per}{word}": (1.0 / kg, 0.0) for word, kg in _KG.items() for per in ("/", "per", "a")},
}
"""Unit of the file -> unit words as typed, without spaces, dots and case -> the way to it."""

# What is typed by mistake for a unit of the file, the likeliest first: (its name, the way).
_SLIPS: Final[dict[str, tuple[tuple[str, Way], ...]]] = {
    "°C": (("°F", _FROM_FAHRENHEIT),),
    "fraction": (("%", (0.01, 0.0)),),
    "kg": (("g", (0.001, 0.0)),),
    "kg/day": (("g/day", (0.001, 0.0)),),
    "g": (("kg", (1000.0, 0.0)), ("mg", (0.001, 0.0))),
    "mg": (("g", (1000.0, 0.0)),),
    "W": (("kW", (1000.0, 0.0)),),
    "kW": (("W", (0.001, 0.0)),),
    "m": (("cm", (0.01, 0.0)), ("ft", (_METERS["ft"], 0.0))),
    "cm": (("mm", (0.1, 0.0)), ("m", (100.0, 0.0))),
    "m²": (("sq ft", (_FT2, 0.0)),),
    "L": (("mL", (0.001, 0.0)),),
    "mL": (("L", (1000.0, 0.0)),),
    "h": (("min", (1.0 / 60.0, 0.0)),),
    "min": (("s", (1.0 / 60.0, 0.0)), ("h", (60.0, 0.0))),
}

_AMOUNT = r"[+-]?[0-9][0-9.,' \u00a0\u202f]*[0-9]|[+-]?[0-9]|[+-]?[.,][0-9]+"
_SCIENTIFIC = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)[eE][+-]?\d{1,3}")
_WITH_UNIT = re.compile(rf"({_AMOUNT})\s*([^\d\s.,+-].{{0,30}})?")
_SIDES = re.compile(r"(.*\d.*?)\s*(?:x|×|\*|by)\s*(.*\d.*)", re.IGNORECASE)
_CURRENCY = re.compile(r"^(?:US\$|[$€£¥]|[A-Z]{3}\s|kr\.?\s)\s*|\s*(?:[$€£¥]|\s[A-Z]{3}|\skr\.?)$")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?\s*(am|pm|a\.m\.|p\.m\.|o'clock)?", re.IGNORECASE)


_HUNDREDTHS = ("p", "c", "ct", "cent", "cents", "pence", "¢")
_CURRENCIES = {"$": "USD", "US$": "USD", "€": "EUR", "£": "GBP", "¥": "JPY"}


def currency_in(text: str) -> str:
    """The currency an amount is typed in, "0.18 CHF" or "£1,200"; "" where it says none, or one of several ("kr")."""
    found = _CURRENCY.search(text.strip())
    sign = found[0].strip() if found else ""
    return _CURRENCIES.get(sign, sign if re.fullmatch("[A-Z]{3}", sign) else "")


class TwoMeaningsError(ValueError):
    """A text that could be two numbers. The message names both."""


def amount_in(text: str, unit: str, *, spread: bool = False, whole: bool = False) -> int | float | None:
    """The amount a text gives, in the file's unit; None where it gives none. Raises TwoMeaningsError.

    spread: whether it is a difference of temperatures, of which 1.8 °F are 1 °C. whole: whether only a whole number
    will do, so that "1,200" is no 1.2.
    """
    plain = _tidy(text)
    is_money = unit.startswith("money") and _CURRENCY.search(plain) is not None
    if is_money:
        plain = _CURRENCY.sub("", plain).strip()
    if _SCIENTIFIC.fullmatch(plain):
        return float(plain)
    if unit == "m²" and is_sides(plain):
        sides = sides_of(plain)
        return None if sides is None else _rounded(sides[0] * sides[1])
    if unit == "h" and (hour := _clock(plain)) is not None:
        return hour
    found = _WITH_UNIT.fullmatch(plain)
    if not found:
        return None
    if unit.startswith("money") and (found[2] or "").lower() in _HUNDREDTHS:
        pence = _number(found[1], whole=whole)
        return None if pence is None else _rounded(pence / 100.0)
    word = re.sub(r"[\s.]", "", found[2] or "").lower()
    way = way_of(word, unit)
    if way is None:
        return None
    number = _number(found[1], whole=whole or is_money)
    if number is None or way == (1.0, 0.0):
        return number
    factor, zero = way
    return _rounded(number * factor + (0.0 if spread else zero))


def is_sides(text: str) -> bool:
    """Whether an area is given by its two sides, "20 x 12 ft"."""
    return _SIDES.fullmatch(text) is not None


def sides_of(text: Any) -> tuple[float, float] | None:
    """The two sides (m) by which an area is given, the longer first; None where it is not. A unit behind the second
    alone holds for both."""
    found = _SIDES.fullmatch(_tidy(text)) if isinstance(text, str) else None
    if found is None:
        return None
    one, other = found[1], found[2]
    word, has_unit = _WITH_UNIT.fullmatch(other.strip()), _WITH_UNIT.fullmatch(one.strip())
    if word and has_unit and word[2] and not has_unit[2]:
        one = f"{one} {word[2]}"
    sides = amount_in(one, "m"), amount_in(other, "m")
    return None if sides[0] is None or sides[1] is None else (max(sides[0], sides[1]), min(sides[0], sides[1]))


def way_of(word: str, unit: str) -> Way | None:
    """The way from the unit a word names to the file's; None where the word is no such unit. "" is the file's own."""
    if not word:
        return 1.0, 0.0
    if word in WAYS.get(unit, {}):
        return WAYS[unit][word]
    own = re.sub(r"[\s.]", "", _tidy(unit)).lower()
    return (1.0, 0.0) if own not in ("", "-", "money") and word in (own, own.removesuffix("s"), f"{own}s") else None


def slip(value: float, unit: str, low: float, high: float) -> str:
    """What was most likely meant by a number that cannot be, or hardly is, one of its unit: "2500 W is 2.5 kW".

    low, high: between which it should lie. '' where no usual mistake leads there.
    """
    for name, (factor, zero) in _SLIPS.get(unit, ()):
        meant = value * factor + zero
        if low <= meant <= high:
            written = f"{_rounded(meant):.4g}"
            return (
                f"{value:g} {name} is written {written}"
                if unit == "fraction"
                else (f"{value:g} {name} is {written} {unit}")
            )
    return ""


def _tidy(text: str) -> str:
    plain = text.strip().replace("−", "-").replace("º", "°").replace("˚", "°").replace("µ", "u").replace("μ", "u")
    return plain.replace("²", "2").replace("³", "3")


def _clock(text: str) -> float | None:
    """An hour of the day, "18:30" or "6 pm"; None for a plain number."""
    found = _CLOCK.fullmatch(text)
    if not found or not (found[3] or ":" in text):
        return None
    hour, minutes = int(found[1]), int(found[2] or 0)
    half = (found[3] or "").lower()[:1]
    if hour > (12 if half in ("a", "p") else 24) or minutes > 59:
        return None
    if half in ("a", "p"):
        hour = hour % 12 + (12 if half == "p" else 0)
    return hour + minutes / 60.0 if minutes else hour


def _number(text: str, *, whole: bool) -> int | float | None:
    """A number with a decimal point or comma, thousands set apart by commas, points, spaces or apostrophes or not."""
    plain = re.sub(r"(?<=\d)[ '\u00a0\u202f](?=\d{3}(?!\d))", "", text)
    if " " in plain or "'" in plain:
        return None
    if "," in plain and "." in plain:
        decimal = max(",.", key=plain.rindex)
        thousands = "." if decimal == "," else ","
        if plain.count(decimal) > 1 or not re.fullmatch(rf"[+-]?\d{{1,3}}(\{thousands}\d{{3}})+\{decimal}\d+", plain):
            return None
        plain = plain.replace(thousands, "").replace(decimal, ".")
    elif re.fullmatch(r"[+-]?\d{1,3}(,\d{3}){2,}|[+-]?\d{1,3}(\.\d{3}){2,}", plain):
        plain = plain.replace(",", "").replace(".", "")
    elif re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", plain):
        if not whole:
            one, other = plain.replace(",", "."), plain.replace(",", "")
            raise TwoMeaningsError(f"could be {float(one):g} or {other}")
        plain = plain.replace(",", "")
    elif plain.count(",") == 1 and "." not in plain:
        plain = plain.replace(",", ".")
    if re.fullmatch(r"[+-]?\d{1,18}", plain):
        return int(plain)
    return float(plain) if re.fullmatch(r"[+-]?(\d{1,18}(\.\d*)?|\.\d+)", plain) else None


def _rounded(value: float) -> float:
    """To six figures, so that 75 °F is 23.8889 and not more exact than anybody measured."""
    return round(value, _KEPT_FIGURES - 1 - math.floor(math.log10(abs(value)))) if value else 0.0
