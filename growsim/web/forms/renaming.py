"""A thing under a new name keeps its place: whatever names it is changed along with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from growsim.scenario.anatomy import anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.scenario import Scenario
from growsim.scenario.toml.edit import Edit, Give
from growsim.scenario.toml.lines import Path
from growsim.web.forms.choices import NAMED
from growsim.web.forms.entries import value_at


def with_namesakes(raw: Mapping[str, Any], edits: Sequence[Edit]) -> list[Edit]:
    """The edits, and for each reservoir, light bank, tray, crop or stage renamed by them, edits of all that
    names it.
    """
    given = {edit.path for edit in edits if isinstance(edit, Give)}
    more: list[Edit] = []
    for edit in edits:
        if not isinstance(edit, Give) or edit.path[-1] != "name" or not isinstance(edit.value, str):
            continue
        old = value_at(raw, edit.path)
        if isinstance(old, str) and old.strip() and edit.value.strip():
            more += [each for each in _along(raw, edit.path, old.strip(), edit.value) if each.path not in given]
    return [*edits, *more]


def _along(raw: Mapping[str, Any], path: Path, old: str, new: str) -> Iterator[Give]:
    listed = path[:-2]
    if _count(raw, listed, old) != 1:  # of two with one name it cannot be told which is meant
        return
    if len(listed) == 1:
        for at, value in _references(raw, str(listed[0])):
            if isinstance(value, str) and value.strip() == old:
                yield Give(at, new)
    elif len(listed) == 3 and listed[0] == "crops" and listed[2] == "stages":
        yield from _stage(raw, listed, old, new)


def _references(raw: Mapping[str, Any], listed: str) -> Iterator[tuple[Path, Any]]:
    """Every field that names an entry of a list of the room."""
    for model, key in (pair for pair, lists in NAMED.items() if listed in lists):
        for at in _tables_of(Scenario, model, raw, ()):
            yield (*at, key), value_at(raw, (*at, key))


def _tables_of(here: type[Table], wanted: type[Table], value: Any, at: Path) -> Iterator[Path]:
    """Where in the room the tables of a model stand."""
    if here is wanted:
        yield at
    if not isinstance(value, Mapping):
        return
    for key, field in here.model_fields.items():
        what = anatomy_of(field)
        inner = value.get(key)
        if what.table is None or what.kind == "figure":
            continue
        if what.kind == "table":
            yield from _tables_of(what.table, wanted, inner, (*at, key))
        elif isinstance(inner, list):
            for place, entry in enumerate(inner):
                yield from _tables_of(what.table, wanted, entry, (*at, key, place))


def _stage(raw: Mapping[str, Any], listed: Path, old: str, new: str) -> Iterator[Give]:
    """A stage of a crop: the stage after it, and the shelves, unless another crop has a stage of that name."""
    for place, stage in enumerate(value_at(raw, listed)):
        if isinstance(stage, dict) and stage.get("after") == old:
            yield Give((*listed, place, "after"), new)
    crops = value_at(raw, ("crops",))
    others = sum(_count(raw, ("crops", place, "stages"), old) for place in range(len(crops)))
    for rack, shelf in (at for at in _shelves(raw) if others == 1):
        path: Path = ("racks", rack, "shelves", shelf, "stages")
        stages = value_at(raw, path)
        if isinstance(stages, list) and old in stages:
            yield Give(path, [new if each == old else each for each in stages])


def _shelves(raw: Mapping[str, Any]) -> Iterator[tuple[int, int]]:
    racks = value_at(raw, ("racks",))
    for rack in range(len(racks)) if isinstance(racks, list) else ():
        shelves = value_at(raw, ("racks", rack, "shelves"))
        for shelf in range(len(shelves)) if isinstance(shelves, list) else ():
            yield rack, shelf


def _count(raw: Mapping[str, Any], listed: Path, name: str) -> int:
    entries = value_at(raw, listed)
    names = [each.get("name") for each in entries if isinstance(each, dict)] if isinstance(entries, list) else []
    return sum(1 for each in names if isinstance(each, str) and each.strip() == name)
