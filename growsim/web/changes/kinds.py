"""Changes that people often want to try, as short forms: more of something, or other figures in one column."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from growsim.errors import InputError
from growsim.scenario.anatomy import anatomy_of, field_at
from growsim.scenario.scenario import Scenario
from growsim.scenario.toml.edit import Add, Edit, Give, Remove
from growsim.web.forms.boxes import LEFT_OUT, boxes_of, value_of
from growsim.web.forms.entries import free_name, table_at, value_at
from growsim.web.forms.field import Field
from growsim.web.forms.page import titles_of
from growsim.web.forms.submitted import FormPath, Sent
from growsim.web.forms.tree import Builder


@dataclass(frozen=True)
class Kind:
    """A common change. columns: keys of the entries of a list that may be given other values; none: a copy is added.

    takes_out: whether 0, or nothing, in the first column takes the entry out.
    """

    key: str
    words: str
    about: str
    listed: FormPath
    columns: tuple[str, ...] = ()
    takes_out: bool = False


KINDS: tuple[Kind, ...] = (
    Kind(
        "rack",
        "One more rack",
        "A rack like one you have, with a reservoir and lights of its own, and, if you like, more sowing to fill it.",
        ("racks",),
    ),
    Kind(
        "mix",
        "Another crop mix",
        "Other numbers of cells in the sowing plan. 0 takes a line out.",
        ("sowing",),
        ("cells", "crop"),
        takes_out=True,
    ),
    Kind(
        "people",
        "More or fewer people",
        "Other numbers of people in the shifts.",
        ("crew", "shifts"),
        ("people", "hours"),
    ),
    Kind(
        "lights",
        "Other lights",
        "Brighter or dimmer, longer or shorter.",
        ("lights",),
        ("ppfd_umol_m2_s", "hours_per_day"),
    ),
    Kind(
        "seeds",
        "Fewer or more seeds in a cell",
        "Seeds are money; empty cells are space.",
        ("crops",),
        ("seeds_per_cell",),
    ),
    Kind(
        "reservoirs",
        "Other reservoirs",
        "Floods further apart, or reservoirs that fill themselves.",
        ("reservoirs",),
        ("flood_every_hours", "top_up"),
    ),
)
BY_KEY = {kind.key: kind for kind in KINDS}


@dataclass(frozen=True)
class Row:
    """An entry of the list, with the fields that may be changed in it."""

    title: str
    fields: tuple[Field, ...]


def rows_of(kind: Kind, raw: Mapping[str, Any], sent: Sent | None) -> list[Row]:
    """The form of a kind with columns: a row for each entry."""
    builder = Builder(raw, sent=sent)
    model = _model(kind)
    rows = []
    listed = value_at(raw, kind.listed)
    for place, title in enumerate(titles_of(listed)):
        block = builder.block(model, (*kind.listed, place), table_at(raw, (*kind.listed, place)))
        every = {field.key: field for field in (*block.fields, *block.spare)}
        rows.append(Row(title, tuple(every[key] for key in kind.columns)))
    return rows


def edits_by_columns(kind: Kind, raw: Mapping[str, Any], sent: Sent) -> list[Edit]:
    """What differs in the columns."""
    edits: list[Edit] = []
    gone: list[Edit] = []
    model = _model(kind)
    for place in range(len(titles_of(value_at(raw, kind.listed)))):
        entry = table_at(raw, (*kind.listed, place))
        for key in kind.columns:
            what, path = anatomy_of(model.model_fields[key]), (*kind.listed, place, key)
            boxes = sent.boxes(path)
            shown = boxes_of(what, entry.get(key, LEFT_OUT))
            if boxes is None or list(boxes.get("", ())) == shown.get("", []):
                continue
            value = value_of(what, boxes)
            if kind.takes_out and key == kind.columns[0] and value in (0, LEFT_OUT):
                gone.append(Remove((*kind.listed, place)))
            elif value is not LEFT_OUT:
                edits.append(Give(path, value))
    return [*edits, *reversed(gone)]


def edits_for_a_rack(raw: Mapping[str, Any], answers: Mapping[str, str]) -> list[Edit]:
    """A rack like one there is, with its reservoir and lights, and a sowing line to fill it. Raises InputError."""
    rack = _entry(raw, ("racks",), answers.get("rack", ""), "Choose a rack that it is to be like.")
    name = " ".join(answers.get("rack_name", "").split()) or free_name(
        str(rack.get("name", "rack")), _names(raw, "racks")
    )
    if name in _names(raw, "racks"):
        raise InputError(f"There is a rack called “{name}” already; give the new one another name.")
    new = {**rack, "name": name}
    edits: list[Edit] = []
    for key, listed in (("reservoir", "reservoirs"), ("lights", "lights")):
        taken = _names(raw, listed)
        there = [each for each in value_at(raw, (listed,)) or [] if isinstance(each, dict)]
        like = next((each for each in there if each.get("name") == rack.get(key)), None)
        if like is None:
            raise InputError(f"The rack “{rack.get('name')}” has no {key} to copy; correct that in the room first.")
        new[key] = name if name not in taken else free_name(name, taken)
        edits.append(Add((listed,), {**copy.deepcopy(dict(like)), "name": new[key]}))
    edits.insert(0, Add(("racks",), new))
    if answers.get("sow"):
        line = copy.deepcopy(_entry(raw, ("sowing",), answers["sow"], "Choose a sowing line that it is to be like."))
        line["name"] = free_name(str(line.get("name", "sowing")), _names(raw, "sowing"))
        for key in ("cells", "weekday"):
            what = field_at(Scenario, ("sowing", key))
            assert what is not None
            value = value_of(anatomy_of(what), {"": [answers.get(key, "")]})
            if value is not LEFT_OUT:
                line[key] = value
        edits.append(Add(("sowing",), line))
    return edits


def choices_in(raw: Mapping[str, Any], listed: str) -> list[tuple[str, str]]:
    """(place, name) of the entries of a list."""
    return [(str(place), title) for place, title in enumerate(titles_of(value_at(raw, (listed,))))]


def _model(kind: Kind) -> Any:
    field = field_at(Scenario, tuple(kind.listed))
    assert field is not None
    return anatomy_of(field).table


def _names(raw: Mapping[str, Any], listed: str) -> list[str]:
    return titles_of(value_at(raw, (listed,)))


def _entry(raw: Mapping[str, Any], listed: FormPath, place: str, problem: str) -> dict[str, Any]:
    entries: Sequence[Any] = value_at(raw, listed) or []
    number = int(place) if place.isascii() and place.isdecimal() and len(place) < 6 else len(entries)
    if number >= len(entries) or not isinstance(entries[number], dict):
        raise InputError(problem)
    return copy.deepcopy(entries[number])
