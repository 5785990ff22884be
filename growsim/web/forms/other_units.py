"""The other reader's unit in a form: an amount in °C shown in °F beside its box, and read where °F was typed into it.

A number alone is meant in the file's own unit; behind a number stands its unit, in any of the usual spellings. The file
keeps its own unit.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from growsim.scenario.anatomy import Anatomy
from growsim.scenario.quantities import TwoMeaningsError, amount_in
from growsim.units import FAHRENHEIT_AT_ZERO_CELSIUS, FAHRENHEIT_PER_CELSIUS, KG_PER_POUND, OTHER_UNITS, amount_text

_WHOLE = re.compile(r"[+-]?\d{1,30}")
_DECIMAL = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,4})?")
_WITH_UNIT = re.compile(r"([+-]?(?:\d{1,30}\.?\d{0,30}|\.\d{1,30}))\s*([^\d\s.,+-].{0,30})")
_MOST_SHOWN = 1e12
_KEPT_DECIMALS = {"°C": 2, "°C h": 1, "kg": 3, "kg/day": 3, "g": 1, "money/kg": 4}  # of what was typed otherwise
_LEAST_FIGURES = 4
NOT_READ = "cannot be read"
_EXAMPLES = {"°C": "75 F", "°C h": "108 F h", "kg": "12 lb", "kg/day": "2 lb/day", "g": "5 oz", "money/kg": "1.20/lb"}

# Unit words as typed, without spaces, dots and case: (factor, zero) of the way to the unit they are listed under.
_FROM_FAHRENHEIT = (1.0 / FAHRENHEIT_PER_CELSIUS, -FAHRENHEIT_AT_ZERO_CELSIUS / FAHRENHEIT_PER_CELSIUS)
_DEGREES = {
    **dict.fromkeys(("c", "°c", "degc", "degreesc", "celsius", "degreescelsius", "°celsius"), (1.0, 0.0)),
    **dict.fromkeys(
        ("f", "°f", "degf", "degreesf", "fahrenheit", "degreesfahrenheit", "°fahrenheit"), _FROM_FAHRENHEIT
    ),
}
_MASSES_KG = {
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"), 1.0),
    **dict.fromkeys(("g", "gram", "grams"), 0.001),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), KG_PER_POUND),
    **dict.fromkeys(("oz", "ounce", "ounces"), KG_PER_POUND / 16.0),
}
_A_DAY = ("/day", "aday", "perday", "/d", "")
_PER = ("/", "per", "a")

_READ: dict[str, dict[str, tuple[float, float]]] = {
    "°C": _DEGREES,
    "°C h": {f"{word}h": (factor, 0.0) for word, (factor, _) in _DEGREES.items()},
    "kg": {word: (kg, 0.0) for word, kg in _MASSES_KG.items()},
    "kg/day": {f"{word}{day}": (kg, 0.0) for word, kg in _MASSES_KG.items() for day in _A_DAY},
    "g": {word: (kg * 1000.0, 0.0) for word, kg in _MASSES_KG.items()},
    "money/kg": {f"{per}{word}": (1.0 / kg, 0.0) for word, kg in _MASSES_KG.items() for per in _PER},
}


def unit_typed(what: Anatomy) -> str:
    """The unit of amounts typed into a field: its own; of one without, °C where its meaning speaks of °C.

    (The setting of a protection is hours, minutes or °C: what is typed with °F behind it can only be a temperature.)
    """
    return what.unit or ("°C" if "°C" in what.meaning else "")


def is_read(unit: str) -> bool:
    """Whether amounts of this unit may be typed in another one too."""
    return unit in _READ


def number_in(text: str, unit: str = "", *, spread: bool = False) -> int | float | str:
    """The number in a box, in the file's own unit; other text as it stands.

    unit: of the file. spread: whether it is a difference of temperatures, of which 1.8 °F are 1 °C.
    """
    text = text.strip()
    if _WHOLE.fullmatch(text):
        return int(text)
    if _DECIMAL.fullmatch(text):
        return float(text)
    amount, word = _apart(text)
    way = _READ.get(unit, {}).get(word)
    if way is None:
        return _otherwise(text, unit, spread=spread)
    factor, zero = way
    if factor == 1.0 and zero == 0.0:
        return number_in(amount)
    return _rounded(float(amount) * factor + (0.0 if spread else zero), _KEPT_DECIMALS[unit])


def _otherwise(text: str, unit: str, *, spread: bool) -> int | float | str:
    """What a room file would understand: a decimal comma, a percentage, a price with its sign; else as it stands."""
    try:
        amount = amount_in(text, unit, spread=spread)
    except TwoMeaningsError:
        return text
    return text if amount is None else amount


def numbers_in(texts: Sequence[str], unit: str = "") -> list[int | float | str]:
    """The numbers of a list; a unit behind the last alone holds for all of them, behind some of them for none."""
    words = [_apart(text)[1] for text in texts]
    if words and words[-1] and not any(words[:-1]):
        return [
            number_in(f"{text} {words[-1]}" if not word else text, unit)
            for text, word in zip(texts, words, strict=True)
        ]
    if any(words) and not all(words):
        return [text if not word else number_in(text, unit) for text, word in zip(texts, words, strict=True)]
    return [number_in(text, unit) for text in texts]


def beside(texts: Sequence[str], unit: str, currency: str = "", *, spread: bool = False, joined: str = ", ") -> str:
    """What stands beside a box: the amount in the unit it was not typed in; '' where there is nothing to say.

    "24" °C: "75.2 °F"; "75 F": "23.89 °C"; a list: "50, 68 °F". currency: of the room, for prices.
    """
    values = numbers_in(texts, unit) if len(texts) != 1 else [number_in(texts[0], unit, spread=spread)]
    numbers = [value for value in values if not isinstance(value, str) and abs(value) < _MOST_SHOWN]
    if unit not in OTHER_UNITS or not numbers or len(numbers) != len(values):
        return ""
    other = OTHER_UNITS[unit]
    if any(_is_otherwise(text, unit) for text in texts):
        return f"{joined.join(f'{value:.7g}' for value in numbers)} {named(unit, currency)}"
    zero = 0.0 if spread else other.zero
    shown = joined.join(amount_text(value * other.factor + zero) for value in numbers)
    return f"{shown} {named(other.name, currency)}"


def said_beside(texts: Sequence[str], unit: str, currency: str = "", *, spread: bool = False) -> str:
    """The same as it stands on the page, "= 75.2 °F", or that it cannot be read."""
    said = beside(texts, unit, currency, spread=spread)
    wrong = not said and is_read(unit) and any(isinstance(value, str) for value in numbers_in(texts, unit))
    return NOT_READ if wrong else f"= {said}" if said else ""


def may_be_typed(units: Sequence[str]) -> str:
    """How the amounts of a form may be typed; '' where none has another unit."""
    examples = [_EXAMPLES[unit] for unit in dict.fromkeys(units) if unit in _EXAMPLES and unit != "°C h"]
    if not examples:
        return ""
    such_as = " or ".join([", ".join(examples[:-1]), examples[-1]] if len(examples) > 1 else examples)
    return f"A number alone is taken in the unit beside it; a number with its own unit, such as {such_as}, is read too."


def cannot_be_read(text: str, unit: str, currency: str = "") -> str:
    """One sentence for what stands in a box and is no amount of its unit."""
    own, example = named(unit, currency), _EXAMPLES[unit]
    return (
        f"“{text.strip()[:40]}” cannot be read here: give a number, which is taken as {own}, or one with its unit "
        f"behind it, such as {example}."
    )


def named(unit: str, currency: str) -> str:
    """The unit as people read it; money in the room's own currency."""
    return re.sub(r"^money", currency or "money", unit)


def _apart(text: str) -> tuple[str, str]:
    """A number and the unit word behind it, without spaces, dots and case; ('', '') where it is not that."""
    plain = text.strip().replace("−", "-").replace("º", "°").replace("˚", "°")
    found = _WITH_UNIT.fullmatch(plain)
    return (found.group(1), re.sub(r"[\s.]", "", found.group(2)).lower()) if found else ("", "")


def _is_otherwise(text: str, unit: str) -> bool:
    """Whether a text gives its amount in another unit than the file's."""
    way = _READ.get(unit, {}).get(_apart(text)[1])
    return way is not None and way != (1.0, 0.0)


def _rounded(value: float, decimals: int) -> float:
    """To so many decimals, but never to fewer than four figures, so that a little does not become nothing."""
    size = math.floor(math.log10(abs(value))) if value else 0
    return round(value, max(decimals, _LEAST_FIGURES - 1 - size))
