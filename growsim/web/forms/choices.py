"""What a field may be chosen from: the choices of the model, and, for names, what the room has of that name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from growsim.scenario.anatomy import Anatomy
from growsim.scenario.base import Table
from growsim.scenario.crop import Stage
from growsim.scenario.demand import Order, Sowing
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.names import ANY_CROP
from growsim.scenario.people import OfCrop
from growsim.scenario.place import Rack, Shelves
from growsim.vocabulary.days import SHORT_MONTHS
from growsim.vocabulary.machines import NAMED_PLACES
from growsim.web.forms.entries import value_at
from growsim.web.forms.words import shown

Options = tuple[tuple[str, str], ...]

# Which lists of the room a field names entries of.
NAMED: dict[tuple[type[Table], str], tuple[str, ...]] = {
    (Rack, "reservoir"): ("reservoirs",),
    (Rack, "lights"): ("lights",),
    (Stage, "tray"): ("trays",),
    (Sowing, "crop"): ("crops",),
    (Order, "crop"): ("crops",),
    (OfCrop, "crop"): ("crops",),
    (PlannedOutage, "where"): tuple(place.entries for place in NAMED_PLACES),
}


def options_of(
    model: type[Table],
    key: str,
    what: Anatomy,
    path: tuple[str | int, ...],
    raw: Mapping[str, Any],
    present: Sequence[str],
) -> Options:
    """(value, words) to choose from; () for a field that is typed. What is present stays among them, right or wrong."""
    if what.kind == "whole numbers" and what.bounds == {"ge": 1, "le": 12}:
        known = {str(number): month for number, month in enumerate(SHORT_MONTHS, start=1)}
    elif what.choices:
        known = {choice: shown(choice) for choice in what.choices}
    elif what.kind == "yes or no":
        known = {"true": "yes", "false": "no"}
    elif (model, key) == (Shelves, "stages"):
        known = {name: name for name in stage_names(raw)}
    elif (model, key) == (Stage, "after"):
        known = {name: name for name in _names(value_at(raw, path[:-2]))}
    elif (model, key) in NAMED:
        known = {name: name for listed in NAMED[model, key] for name in _names(raw.get(listed))}
        if (model, key) == (Order, "crop"):
            known[ANY_CROP] = "any crop"
    else:
        return ()
    if not known and what.kind == "text":
        return ()
    known |= {text: text for text in present if text and text not in known}
    return tuple(known.items())


def stage_names(raw: Mapping[str, Any]) -> list[str]:
    """Names of all crops' stages, each once, in the order of the file."""
    crops = raw.get("crops")
    found = (
        [name for crop in crops if isinstance(crop, dict) for name in _names(crop.get("stages"))]
        if isinstance(crops, list)
        else []
    )
    return list(dict.fromkeys(found))


def _names(listed: Any) -> list[str]:
    return list(_iterate(listed)) if isinstance(listed, list) else []


def _iterate(listed: list[Any]) -> Iterator[str]:
    for entry in listed:
        name = entry.get("name") if isinstance(entry, dict) else None
        if isinstance(name, str) and name.strip():
            yield name.strip()
