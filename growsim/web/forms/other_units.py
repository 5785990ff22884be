"""Units in a form: boxes show the room's units; either system is read where its unit stands behind the number.

A number alone is meant in the unit shown beside its box; behind a number stands its unit, in any of the usual
spellings. The file keeps SI.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from growsim.scenario.anatomy import Anatomy
from growsim.scenario.quantities import TwoMeaningsError, amount_in, is_sides, sides_of, way_of
from growsim.units import as_shown
from growsim.units import unit as unit_shown

_WHOLE = re.compile(r"[+-]?\d{1,30}")
_DECIMAL = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,4})?")
_WITH_UNIT = re.compile(r"([+-]?(?:\d{1,30}\.?\d{0,30}|\.\d{1,30}))\s*([^\d\s.,+-].{0,30})")
_NO_UNIT = re.compile(r"[+-]?[\d.,' \u00a0\u202f]+")
_MOST_SHOWN = 1e12
_KEPT_DECIMALS = {"°C": 2, "°C h": 1, "kg": 3, "kg/day": 3, "g": 1, "money/kg": 4, "L": 1, "cm": 1, "m": 2, "m²": 2}
_LEAST_FIGURES = 4
NOT_READ = "cannot be read"
# As somebody of the US and somebody else would type it.
_EXAMPLES = {
    "°C": ("75 F", "24 C"),
    "°C h": ("108 F h", "60 C h"),
    "kg": ("12 lb", "5 kg"),
    "kg/day": ("2 lb/day", "1 kg/day"),
    "g": ("5 oz", "140 g"),
    "money/kg": ("1.20/lb", "2.60/kg"),
    "L": ("20 gal", "75 L"),
    "cm": ("21 in", "53 cm"),
    "m": ("8 ft", "2.4 m"),
    "m²": ("300 sq ft", "28 m²"),
}


def unit_typed(what: Anatomy) -> str:
    """The unit of amounts typed into a field: its own; of one without, °C where its meaning speaks of °C.

    (The setting of a protection is hours, minutes or °C: what is typed with °F behind it can only be a temperature.)
    """
    return what.unit or ("°C" if "°C" in what.meaning else "")


def is_read(unit: str) -> bool:
    """Whether amounts of this unit may be typed in another one too."""
    return unit in _EXAMPLES


def number_in(text: str, unit: str = "", *, spread: bool = False, alone: str | None = None) -> int | float | str:
    """The number in a box, in the file's own unit; other text as it stands.

    unit: of the file; a number alone is in the reader's, of `alone` where that is another. spread: whether it is a
    difference of temperatures, of which 1.8 °F are 1 °C.
    """
    text = text.strip()
    plain = _bare_number(text)
    if not isinstance(plain, str):
        own = unit if alone is None else alone
        seen = as_shown(own)
        if seen.name == own:
            return plain
        return _rounded((plain - (0.0 if spread else seen.zero)) / seen.factor, _KEPT_DECIMALS[unit])
    text = _with_a_unit(text)
    try:  # as a room file would understand it
        amount = amount_in(text, unit, spread=spread)
    except TwoMeaningsError:
        return text
    if amount is None:
        return text
    is_turned = unit in _KEPT_DECIMALS and way_of(_apart(text)[1], unit) not in (None, (1.0, 0.0))
    return _rounded(amount, _KEPT_DECIMALS[unit]) if is_turned else amount


def _bare_number(text: str) -> int | float | str:
    """A number without a unit, with decimal point or comma; other text, or what may be two numbers, as it stands."""
    plain = _plain_number(text)
    if not isinstance(plain, str) or not _NO_UNIT.fullmatch(text):
        return plain
    try:
        amount = amount_in(text, "")
    except TwoMeaningsError:
        return text
    return text if amount is None else amount


def sides_in(text: str) -> str | None:
    """The sides of a floor as a file keeps them, "6 x 3.5 m"; None for other text. Without a unit they are in the
    reader's."""
    text = _with_a_unit(text.strip())
    return text if sides_of(text) is not None else None


def _with_a_unit(text: str) -> str:
    alone = is_sides(text) and not re.search(r"[a-wyz'\"]", text.replace("by", "x"), re.IGNORECASE)
    return f"{text} {as_shown('m').name}" if alone else text


def as_typed(value: float, unit: str, *, spread: bool = False) -> str:
    """A number of the file as its box shows it, in the reader's unit. unit: of the file."""
    seen = as_shown(unit)
    if seen.name == unit:
        return repr(value)
    shown = value * seen.factor + (0.0 if spread else seen.zero)
    return f"{_rounded(shown, 1):.10g}" if math.isfinite(shown) else repr(value)


def _plain_number(text: str) -> int | float | str:
    if _WHOLE.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) else text


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


def beside(texts: Sequence[str], unit: str, currency: str = "", *, spread: bool = False) -> str:
    """What stands beside a box into which another unit than the reader's was typed: the amount in the reader's.

    "75 F" for °C: "23.89 °C"; '' where there is nothing to say. currency: of the room, for prices.
    """
    values = numbers_in(texts, unit) if len(texts) != 1 else [number_in(texts[0], unit, spread=spread)]
    numbers = [value for value in values if not isinstance(value, str) and abs(value) < _MOST_SHOWN]
    if not numbers or len(numbers) != len(values) or not any(_is_otherwise(text, unit) for text in texts):
        return ""
    seen = as_shown(unit)
    shown = [_rounded(value * seen.factor + (0.0 if spread else seen.zero), 2) for value in numbers]
    return f"{', '.join(f'{value:.7g}' for value in shown)} {named(seen.name, currency)}"


def said_beside(texts: Sequence[str], unit: str, currency: str = "", *, spread: bool = False) -> str:
    """The same as it stands on the page, "= 75.2 °F", or that it cannot be read."""
    said = beside(texts, unit, currency, spread=spread)
    wrong = not said and is_read(unit) and any(isinstance(value, str) for value in numbers_in(texts, unit))
    return NOT_READ if wrong else f"= {said}" if said else ""


def may_be_typed(units: Sequence[str]) -> str:
    """How the amounts of a form may be typed; '' where none has another unit."""
    examples = [
        _EXAMPLES[unit][as_shown(unit).name != unit]
        for unit in dict.fromkeys(units)
        if unit in _EXAMPLES and unit != "°C h"
    ]
    if not examples:
        return ""
    such_as = " or ".join([", ".join(examples[:-1]), examples[-1]] if len(examples) > 1 else examples)
    return f"A number alone is taken in the unit beside it; a number with its own unit, such as {such_as}, is read too."


def cannot_be_read(text: str, unit: str, currency: str = "") -> str:
    """One sentence for what stands in a box and is no amount of its unit."""
    own, example = named(unit_shown(unit), currency), _EXAMPLES[unit][as_shown(unit).name != unit]
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
    """Whether a text gives its amount in another unit than the reader's."""
    if unit == "m²" and is_sides(text):
        return True
    word, seen = _apart(text)[1], as_shown(unit)
    way = way_of(word, unit) if word and unit in _EXAMPLES else None
    return way is not None and not (
        math.isclose(way[0] * seen.factor, 1.0) and math.isclose(way[1], -seen.zero / seen.factor, abs_tol=1e-9)
    )


def _rounded(value: float, decimals: int) -> float:
    """To so many decimals, but never to fewer than four figures, so that a little does not become nothing."""
    size = math.floor(math.log10(abs(value))) if value else 0
    return round(value, max(decimals, _LEAST_FIGURES - 1 - size))
