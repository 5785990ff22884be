"""Values of a room file as the boxes of a form, and back. Both ways are made from the same anatomy.

A field has one box or several, each with a suffix: '' the value itself, ':low' a part of a figure, ':0' January.
Numbers stand in the room's units (`other_units`). Text in a box that is no number stays text, so that the
room's own check says what is wrong with it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import Any

from growsim.scenario.anatomy import Anatomy
from growsim.scenario.toml.text import value_text
from growsim.scenario.uncertain import NEEDS
from growsim.web.forms.other_units import as_typed, number_in, numbers_in, unit_typed

Boxes = dict[str, list[str]]

FIGURE_PARTS = ("value", "low", "likely", "high", "mean", "sd", "shape", "at_least", "at_most")
FAMILY_WORDS = {
    "fixed": "a number",
    "range": "a range",
    "uniform": "uniform (low, high)",
    "normal": "normal (mean, sd)",
    "lognormal": "lognormal (mean, sd)",
    "exponential": "exponential (mean)",
    "weibull": "weibull (mean, shape)",
    "beta": "beta (mean, sd)",
}
NUMBERS = ("numbers", "whole numbers")
SENT = ":sent"  # says that a group of tick boxes was on the form, even if none is ticked


class LeftOut:
    """Stands for a key that is not in the file."""


LEFT_OUT = LeftOut()


def widget_of(what: Anatomy) -> str:
    """How a field is shown: line, date, yes or no, choice, ticks, months, twelve, figure."""
    if what.kind in ("choices", "texts"):
        return "ticks"
    if what.kind == "whole numbers" and what.bounds == {"ge": 1, "le": 12}:
        return "months"
    if what.kind in ("numbers", "whole numbers") and what.most == 12:
        return "twelve"
    if what.kind in ("figure", "choice", "yes or no", "date"):
        return what.kind
    return "line"


def boxes_of(what: Anatomy, value: Any) -> Boxes:
    """What the boxes show for a value of the file (LEFT_OUT for none), whatever it is."""
    widget = widget_of(what)
    if widget == "figure":
        return _figure_boxes(value, what.unit)
    if widget in ("ticks", "months"):
        given = [] if value is LEFT_OUT else value if isinstance(value, (list, tuple)) else [value]
        return {"": [_shown(each, "text") for each in given], SENT: ["1"]}
    if widget == "twelve":
        return _twelve_boxes(value, what)
    if value is LEFT_OUT:
        return {"": [""]}
    if what.kind.endswith("s") and isinstance(value, (list, tuple)):
        return {"": [", ".join(_shown(each, what.kind[:-1], what.unit) for each in value)]}
    return {"": [_shown(value, what.kind, what.unit)]}


def value_of(what: Anatomy, boxes: Mapping[str, Sequence[str]]) -> Any:
    """What stands in the boxes, as the file would hold it; LEFT_OUT where they are empty."""
    widget = widget_of(what)
    if widget == "figure":
        return _figure(boxes, unit_typed(what))
    if widget in ("ticks", "months"):
        ticked = [text.strip() for text in boxes.get("", ()) if text.strip()]
        if not ticked:
            return LEFT_OUT if not what.required else []
        return [number_in(text) for text in ticked] if widget == "months" else ticked
    if widget == "twelve" and "" not in boxes:
        twelve = [text.strip() for month in range(12) for text in boxes.get(f":{month}", ())]
        return [number_in(text, unit_typed(what)) for text in twelve if text] if any(twelve) else LEFT_OUT
    text = next(iter(boxes.get("", ())), "").strip()
    if not text:
        return LEFT_OUT
    if what.kind.endswith("s"):
        pieces = pieces_of(text)
        if what.kind in NUMBERS:
            return numbers_in(pieces, unit_typed(what))
        return [_one(piece, what.kind[:-1], what) for piece in pieces]
    return _one(text, what.kind, what)


def pieces_of(text: str) -> list[str]:
    """The entries of a list typed into one box, with commas, semicolons or line ends between."""
    return [piece.strip() for piece in re.split(r"[,;\n]", text) if piece.strip()]


def _one(text: str, kind: str, what: Anatomy) -> Any:
    if kind in ("number", "whole number"):
        return number_in(text, unit_typed(what), alone=what.unit)
    if kind == "yes or no" and text in ("true", "false"):
        return text == "true"
    if kind == "date":
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            return text
    return text


def _shown(value: Any, kind: str, unit: str = "", *, spread: bool = False) -> str:
    """A value in one box. A text where no text belongs is shown in quotes, so that repair it is a change."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return value if kind in ("text", "choice", "date") else value_text(value)
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value.isoformat()
    if isinstance(value, (int, float)):
        return as_typed(value, unit, spread=spread)
    try:
        return value_text(value)
    except TypeError:  # a clock time, which nothing in a room is
        return str(value)


def _twelve_boxes(value: Any, what: Anatomy) -> Boxes:
    if value is LEFT_OUT or (isinstance(value, (list, tuple)) and not value):
        return {f":{month}": [""] for month in range(12)}
    if isinstance(value, (list, tuple)) and len(value) == 12:
        return {f":{month}": [_shown(each, what.kind[:-1], what.unit)] for month, each in enumerate(value)}
    if isinstance(value, (list, tuple)):  # too few or too many: one box, so that none is lost
        return {"": [", ".join(_shown(each, what.kind[:-1], what.unit) for each in value)]}
    return {"": [_shown(value, what.kind, what.unit)]}


def _figure_boxes(value: Any, unit: str) -> Boxes:
    boxes: Boxes = {f":{part}": [""] for part in ("kind", *FIGURE_PARTS, "source")}
    boxes[":kind"] = ["fixed"]
    if isinstance(value, dict):
        family = value.get("distribution", "range" if "low" in value or "high" in value else "fixed")
        boxes[":kind"] = [family if isinstance(family, str) else _shown(family, "text")]
        for key, part in value.items():
            if f":{key}" in boxes and key != "kind":
                own = "" if key == "shape" else unit
                boxes[f":{key}"] = [_shown(part, "text" if key == "source" else "number", own, spread=key == "sd")]
    elif value is not LEFT_OUT:
        boxes[":value"] = [_shown(value, "number", unit)]
    return boxes


def _figure(boxes: Mapping[str, Sequence[str]], unit: str) -> Any:
    """A figure; parts that its family has no use for are left behind, since the form hides their boxes."""
    texts = {part: next(iter(boxes.get(f":{part}", ())), "").strip() for part in ("kind", *FIGURE_PARTS, "source")}
    family = texts["kind"] or "fixed"
    wanted = NEEDS.get(family, FIGURE_PARTS)
    parts: dict[str, Any] = {
        part: number_in(texts[part], "" if part == "shape" else unit, spread=part == "sd")
        for part in FIGURE_PARTS
        if texts[part] and (part in wanted or (part.startswith("at_") and family != "fixed"))
    }
    if not parts:
        return LEFT_OUT if family == "fixed" else {"distribution": family}
    source = {"source": texts["source"]} if texts["source"] else {}
    if family == "fixed":
        return {**parts, **source} if source else parts["value"]
    named = {} if family == "range" and ("low" in parts or "high" in parts) else {"distribution": family}
    return {**named, **parts, **source}
