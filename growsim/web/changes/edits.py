"""Edits of a room as a CHANGE: the small set of tables that names only what differs."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from growsim.errors import InputError
from growsim.scenario.change import REMOVE, apply_change
from growsim.scenario.toml.edit import Add, Edit, Give, LeaveOut, applied
from growsim.scenario.toml.lines import Path
from growsim.web.forms.entries import value_at


def change_tables(raw: Mapping[str, Any], edits: Sequence[Edit]) -> dict[str, Any]:
    """The tables of a CHANGE that does to a room what the edits do.

    Raises InputError where no CHANGE can: an entry under another name, or one without a name.
    """
    tables: dict[str, Any] = {}
    for edit in edits:
        if _renames(raw, edit):
            raise InputError("A change to try cannot rename anything; leave the name as it is, or save it in the room.")
        if isinstance(edit, Add):
            added = _holder(tables, raw, edit.path[:-1]).setdefault(str(edit.path[-1]), [])
            added.append(copy.deepcopy(dict(edit.table)))
        elif isinstance(edit, Give):
            _holder(tables, raw, edit.path[:-1])[str(edit.path[-1])] = copy.deepcopy(edit.value)
        elif isinstance(edit, LeaveOut):
            _holder(tables, raw, edit.path[:-1])[str(edit.path[-1])] = {REMOVE: True}
        else:
            _holder(tables, raw, edit.path)[REMOVE] = True
    if _loose(apply_change(dict(raw), tables)) != _loose(applied(raw, edits)):
        raise InputError("This cannot be said in a change to try; save it in a copy of the room instead.")
    return tables


def _renames(raw: Mapping[str, Any], edit: Edit) -> bool:
    if not isinstance(edit, (Give, LeaveOut)) or len(edit.path) < 2 or not isinstance(edit.path[-2], int):
        return False
    return edit.path[-1] in ("name", "crop") and _by(raw, edit.path[:-1]) == edit.path[-1]


def _holder(tables: dict[str, Any], raw: Mapping[str, Any], path: Path) -> dict[str, Any]:
    """The table of the CHANGE that stands for the room's table at `path`, made where it is not there yet."""
    here: Any = tables
    for depth, step in enumerate(path):
        if isinstance(step, str):
            following = path[depth + 1] if depth + 1 < len(path) else None
            here = here.setdefault(step, [] if isinstance(following, int) else {})
            continue
        entry = value_at(raw, path[: depth + 1])
        marks = _marks(raw, path[: depth + 1], entry)
        found = next((each for each in here if all(each.get(key) == value for key, value in marks.items())), None)
        if found is None:
            found = marks
            here.append(found)
        here = found
    assert isinstance(here, dict)
    return here


def _by(raw: Mapping[str, Any], path: Path) -> str:
    entry = value_at(raw, path)
    return "name" if isinstance(entry, dict) and "name" in entry else "crop"


def _marks(raw: Mapping[str, Any], path: Path, entry: Any) -> dict[str, Any]:
    """What an entry is known by: its name, or an order's crop and months."""
    by = _by(raw, path)
    name = entry.get(by) if isinstance(entry, dict) else None
    if not isinstance(name, str) or not name.strip():
        raise InputError("Something here has no name yet; give it one in the room first.")
    marks: dict[str, Any] = {by: name}
    listed = value_at(raw, path[:-1])
    if by == "crop" and sum(1 for each in listed if isinstance(each, dict) and each.get("crop") == name) > 1:
        marks["months"] = copy.deepcopy(entry.get("months", []))
    return marks


def _loose(value: Any) -> Any:
    """Tables for comparing: an empty list or table is the same as none."""
    if isinstance(value, dict):
        return {key: loose for key, inner in value.items() if (loose := _loose(inner)) not in ({}, [])}
    return [_loose(each) for each in value] if isinstance(value, list) else value
