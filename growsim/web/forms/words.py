"""Words of the forms: made from the models' own descriptions, so that a form says what the data dictionary says."""

from __future__ import annotations

import re
from typing import Any

from growsim import units
from growsim.report.words import upper_first
from growsim.scenario.anatomy import Anatomy, plain_number
from growsim.scenario.base import Table
from growsim.scenario.uncertain import Uncertain
from growsim.vocabulary.days import NAME_OF_WEEKDAY

# Where the name of a model is no word for one entry.
_NOUNS = {
    "Shelves": "group of shelves",
    "Sowing": "sowing line",
    "PlannedOutage": "outage",
    "WalkThrough": "look-in",
    "OfCrop": "crop",
}


def noun_of(model: type[Table]) -> str:
    """What one entry of a list is called: rack, light bank, sowing line."""
    return _NOUNS.get(model.__name__) or re.sub(r"(?<=[a-z])(?=[A-Z])", " ", model.__name__).lower()


def with_article(noun: str) -> str:
    """A rack, an order."""
    return f"{'an' if noun[0] in 'aeiou' else 'a'} {noun}"


def label_of(key: str, what: Anatomy) -> str:
    """The words before a field: its meaning up to the first semicolon, after the key where that says more."""
    meaning, _ = _split(units.worded(what.meaning))
    if not meaning:
        return key.replace("_", " ").capitalize()
    plain = "_" not in key and what.kind in ("number", "whole number")
    if plain and key.rstrip("s") not in meaning.lower():
        return f"{'Mass' if key == 'kg' else key.capitalize()}: {meaning[0].lower()}{meaning[1:]}"
    return meaning


def hint_of(what: Anatomy, *, chosen: bool = False) -> str:
    """The words under a field: the rest of its meaning, what is possible, what holds when it is left empty."""
    _, rest = _split(units.worded(what.meaning))
    words = [rest] if rest else []
    if what.limits and not chosen:
        words.append(_in_unit(what.limits, what))
    if what.kind in ("numbers", "dates") and what.most != 12:
        example = "2031-07-04, 2031-12-25" if what.kind == "dates" else "10, 15, 20"
        words.append(f"with commas between, such as {example}")
    if what.example is not None and what.required and not chosen and what.kind in ("text", "figure"):
        words.append(f"for example {_in_unit(shown(what.example), what)}")
    if not what.required and usual(what) != "none" and not chosen:
        words.append(f"left empty: {_in_unit(usual(what), what)}")
    text = "; ".join(words)
    return f"{upper_first(text)}." if text else ""


def _in_unit(words: str, what: Anatomy) -> str:
    """Words about amounts with the reader's unit: "from 5 to 40 °C". Prices are left alone."""
    if what.unit.startswith("money") or what.unit not in units.US_UNITS or not re.search(r"\d", words):
        return words
    return units.with_unit(words, what.unit)


def _split(meaning: str) -> tuple[str, str]:
    """A meaning up to its first semicolon outside brackets, and the rest."""
    text, depth = meaning.strip().rstrip("."), 0
    for at, letter in enumerate(text):
        depth += (letter == "(") - (letter == ")")
        if letter == ";" and depth == 0:
            return text[:at].strip(), text[at + 1 :].strip()
    return text, ""


def usual(what: Anatomy) -> str:
    """What holds when a key is left out."""
    default = what.default
    if isinstance(default, Uncertain):
        return plain_number(default.expected())
    if default is None:
        return "none"
    if default in ("", ()):
        return (
            "all" if "empty for all" in what.meaning else "the same" if "empty for the same" in what.meaning else "none"
        )
    return shown(default)


def shown(value: Any) -> str:
    """A value in a sentence."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return plain_number(value)
    if isinstance(value, (list, tuple)):
        return ", ".join(shown(each) for each in value)
    if isinstance(value, dict):
        return ", ".join(f"{key} {shown(inner)}" for key, inner in value.items() if key != "source")
    return NAME_OF_WEEKDAY.get(str(value), str(value))


def unit_of(what: Anatomy, currency: str = "") -> str:
    """The unit as it stands behind a box; money in the room's own currency."""
    if what.unit in ("", "-", "date"):
        return ""
    if what.unit == "fraction":
        return "(0 to 1)" if what.bounds.get("le") == 1 else "(share: 1 is all)"
    return re.sub(r"^money", currency or "money", units.unit(what.unit))
