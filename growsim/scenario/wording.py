"""From the validator's findings to our own sentences: key, what is wrong, what would be right."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from pydantic_core import ErrorDetails

from growsim.errors import Fault
from growsim.scenario.anatomy import Anatomy, anatomy_of, field_at
from growsim.scenario.base import RefusedError, Table
from growsim.scenario.quantities import slip
from growsim.scenario.reading import as_written, dotted, short
from growsim.units import as_shown, with_unit

_PIECES = ("heads", "head", "plants", "bunches", "bunch", "pieces", "count", "bags", "portions")  # no unit of an order

_SO_MANY_ARE_ONE = 4
_MOST_TOLD = 100  # more help nobody, and take minutes to word

Finding = tuple[str, str, str]  # dotted key, problem, remedy

_ARTICLE = {
    "number": "a number",
    "whole number": "a whole number",
    "text": 'text in quotes, "like this"',
    "date": "a date such as 2031-01-06",
    "yes or no": "true or false",
    "figure": "a number, a range { low = ..., likely = ..., high = ... } or a named distribution",
    "numbers": "a list of numbers such as [1, 2]",
    "whole numbers": "a list of whole numbers such as [1, 2]",
    "texts": 'a list of texts such as ["one", "two"]',
    "dates": 'a list of dates such as [2031-07-04, "2031-12-20 to 2032-01-02"]',
}


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that `word` most likely meant, or None."""
    by_lower = {name.lower(): name for name in known}
    found = difflib.get_close_matches(word.lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[found[0]] if found else None


def listing(words: Iterable[str], most: int = 12) -> str:
    """'a, b or c', cut short after `most`; with semicolons where a word has commas of its own."""
    words = [short(word, 60) for word in words]
    between = "; " if any(", " in word for word in words) else ", "
    if len(words) > most:
        return between.join([*words[:most], "..."])
    return " or ".join([between.join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def sentences(model: type[Table], raw: dict[str, Any], errors: list[ErrorDetails]) -> list[Finding]:
    """One finding a mistake. A missing key whose misspelled twin stands beside it is one mistake, not two."""
    findings: list[Finding] = []
    more, errors = len(errors[_MOST_TOLD:]), errors[:_MOST_TOLD]
    meant: set[tuple[str | int, ...]] = set()
    for error in errors:
        if error["type"] == "extra_forbidden":
            finding, right = _unknown_key(model, raw, error["loc"])
            findings.append(finding)
            if right is not None:
                meant.add((*error["loc"][:-1], right))
    for error in errors:
        if error["type"] == "extra_forbidden" or (error["type"] == "missing" and error["loc"] in meant):
            continue
        if error["type"] == "too_short" and _told_by_an_entry(error, errors):
            continue
        findings.append((dotted(raw, error["loc"]), *_one(model, error)))
    findings.sort(key=lambda finding: finding[0])
    return [*findings, ("", f"has {more:,} more faults", "correct these first")] if more else findings


def _told_by_an_entry(error: ErrorDetails, errors: list[ErrorDetails]) -> bool:
    """A faulty entry makes its list seem too short to the validator; the entry's own fault says it all."""
    here = error["loc"]
    return any(other["loc"][: len(here)] == here and len(other["loc"]) > len(here) for other in errors)


def _unknown_key(model: type[Table], raw: dict[str, Any], path: tuple[str | int, ...]) -> tuple[Finding, str | None]:
    parent = field_at(model, path[:-1])
    table = anatomy_of(parent).table if parent is not None else model
    known = [key for key in (table or model).model_fields if key != "source"]
    key = str(path[-1])
    if path[:1] == ("partners",) and "kg" in known and key.lower() in _PIECES:
        return (
            dotted(raw, path),
            "is not a key of this table: an order is in kilograms",
            _in_kilograms(raw, path),
        ), "kg"
    right = nearest(key, known)
    remedy = f"did you mean `{right}`" if right else f"take it out; known here: {listing(known)}"
    return (dotted(raw, path), "is not a key of this table", remedy), right


def _in_kilograms(raw: dict[str, Any], path: tuple[str | int, ...]) -> str:
    """What an order by the piece comes to, where the room file says what one weighs."""
    order: Any = raw
    for step in path[:-1]:
        order = order[step]
    listed = raw.get("crops")
    crops = [crop for crop in listed if isinstance(crop, dict)] if isinstance(listed, (list, tuple)) else []
    crop: dict[str, Any] = next((each for each in crops if each.get("name") == order.get("crop")), {})
    grams = crop.get("typical_mass_g")
    if isinstance(grams, dict):
        grams = grams.get("likely", grams.get("mean", grams.get("value")))
    pieces, trimmed = order.get(path[-1]), crop.get("trimmed_fraction", 0.05)
    if not (_lies(pieces, 1e6) and _lies(grams, 5000.0) and (trimmed == 0 or _lies(trimmed, 1.0))):
        return "give kg: how many, times what one weighs when packed"
    kg = pieces * grams * (1 - trimmed) / 1000
    return f"give kg = {kg:.2g}: {pieces} at {grams:g} g each, less {100 * trimmed:.3g} % trimmed off"


def _lies(given: Any, most: float) -> bool:
    """Whether it is a number above 0 and up to `most`."""
    return isinstance(given, (int, float)) and not isinstance(given, bool) and 0 < given <= most


def told_once(faults: Sequence[Fault]) -> list[Fault]:
    """The same cause in many lines of a table ("line 7, sown") as one fault that names the lines; dates may differ."""
    causes: dict[tuple[str, str, str], list[Fault]] = {}
    for fault in faults:
        line, _, column = fault.key.partition(", ")
        cause = re.sub(r"\d{4}-\d\d-\d\d", "#", fault.problem)
        causes.setdefault((column if line.startswith("line ") else fault.key, cause, fault.remedy), []).append(fault)
    told = []
    for (column, _, _), alike in causes.items():
        if len(alike) < _SO_MANY_ARE_ONE or not alike[0].key.startswith("line "):
            told += alike
            continue
        lines = [fault.key.partition(", ")[0].removeprefix("line ") for fault in alike]
        first, more = ", ".join(lines[:2]), len(lines) - 2
        key = f"lines {first} and {more} more" + (f", {column}" if column else "")
        told.append(replace(alike[0], key=key, problem=f"{alike[0].problem}, and so on"))
    return told


def _one(model: type[Table], error: ErrorDetails) -> tuple[str, str]:
    """Problem and remedy of one error other than an unknown key."""
    kind, given, context = error["type"], error["input"], error.get("ctx", {})
    field = field_at(model, error["loc"])
    what = anatomy_of(field) if field is not None else None
    refusal = context.get("error")
    if isinstance(refusal, RefusedError):
        return refusal.problem, _with_slip(refusal.remedy, given, what)
    if what is None:
        return f"is {as_written(given)}, which cannot be used here", "write it as in the room `growsim new` writes"
    in_list = isinstance(error["loc"][-1], int)
    if kind == "missing":
        return "is missing", f"give {_wanted(what)} ({_lower_first(what.meaning)})"
    if kind in {"too_short", "too_long"}:
        count = len(given) if isinstance(given, (list, tuple)) else 0
        return f"has {count} entries", f"give {_how_many(what)}{_meaning(what)}"
    if kind == "string_too_short":
        return "is empty", f"give {_lower_first(what.meaning)}"
    if kind == "string_too_long":
        return f"is {len(str(given))} characters long", f"keep it to {what.most} characters"
    if kind in ("greater_than", "greater_than_equal", "less_than", "less_than_equal"):
        remedy = f"give {_wanted(what, one=in_list)}"
        return f"is {as_written(given)}, which is not possible", _with_slip(remedy, given, what)
    if kind == "literal_error":
        right = nearest(str(given), what.choices)
        hint = f'did you mean "{right}"; ' if right else ""
        return f"is {as_written(given)}", f"{hint}give {listing(what.choices)}"
    return f"is {_described(given)}", f"give {_wanted(what, one=in_list)}"


def _described(given: Any) -> str:
    if isinstance(given, bool):
        return f"{as_written(given)}, which is no number or text"
    if isinstance(given, str):
        return f"the text {as_written(given)}"
    if isinstance(given, dict):
        return "one table"
    if isinstance(given, (list, tuple)):
        return "a list"
    return as_written(given)


def _wanted(what: Anatomy, *, one: bool = False) -> str:
    """What the key takes, with limits, unit and example."""
    kind = what.kind[:-1] if one and what.kind.endswith("s") else what.kind
    if kind == "tables":
        return "it as a list: write its heading in double brackets, [[like this]]"
    if kind == "table":
        return "a table with its own heading, [like this]"
    if kind in ("choice", "choices"):
        options = listing(what.choices)
        return options if kind == "choice" else f"a list of {options}"
    words = _ARTICLE[kind]
    if what.limits:
        words += f" {what.limits}"
    if what.unit and what.unit not in ("-", "date", "fraction"):
        words += f" ({what.unit}{_as_read(what)})"
    if what.example is not None and not isinstance(what.example, (dict, list)):
        words += f", e.g. {what.example}"
    return words


def _as_read(what: Anatomy) -> str:
    """The limits once more for who does not think in the file's unit: "; from 41 to 104 °F"."""
    if as_shown(what.unit).name == what.unit or what.unit.startswith("money") or not what.limits:
        return ""
    return f"; {with_unit(what.limits, what.unit)}"


def _how_many(what: Anatomy) -> str:
    if what.fewest is not None and what.fewest == what.most:
        return f"exactly {what.fewest}"
    if what.fewest is not None and what.most is not None:
        return f"{what.fewest} to {what.most}"
    return f"at least {what.fewest}" if what.fewest is not None else f"at most {what.most}"


def _meaning(what: Anatomy) -> str:
    return f" ({_lower_first(what.meaning)})" if what.meaning else ""


def _lower_first(text: str) -> str:
    text = text.strip().rstrip(".")
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


def _with_slip(remedy: str, given: Any, what: Anatomy | None) -> str:
    """The remedy and, where one of the usual mistakes explains the number, what was meant: "75 °F is 23.89 °C"."""
    if what is None or isinstance(given, bool) or not isinstance(given, (int, float)):
        return remedy
    low = what.bounds.get("ge", what.bounds.get("gt", -math.inf))
    high = what.bounds.get("le", what.bounds.get("lt", math.inf))
    if what.plausible is not None:
        low, high = max(low, what.plausible[0]), min(high, what.plausible[1])
    meant = slip(given, what.unit, low, high)
    return f"{remedy}; {meant}" if meant else remedy
