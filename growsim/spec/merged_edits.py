"""From two sets of tables, one of them with a CHANGE merged in, back to the edits of a text that lead from one to the
other, so that a room file can be changed in place and its remarks stay."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from growsim.spec.toml_edit import Add, Edit, Give, LeaveOut, Remove
from growsim.spec.toml_lines import Path


def edits_between(old: Mapping[str, Any], new: Mapping[str, Any], at: Path = ()) -> Iterator[Edit]:
    """What turns one set of tables into the other, for tables that a CHANGE was merged into."""
    for key, value in new.items():
        here, held = (*at, key), old.get(key)
        if isinstance(value, dict) and isinstance(held, dict):
            yield from edits_between(held, value, here)
        elif isinstance(held, list) and _tables(held) and _tables(value):
            yield from _list_edits(held, value, here)
        elif _tables(value) and not held:
            yield from (Add(here, entry) for entry in value)
        elif key not in old or held != value:
            yield Give(here, value)
    yield from (LeaveOut((*at, key)) for key in old if key not in new)


def _list_edits(old: list[dict[str, Any]], new: list[dict[str, Any]], at: Path) -> Iterator[Edit]:
    """Merging keeps the order: what is there is changed or gone, what is new stands at the end."""
    left = list(new)
    gone: list[Edit] = []
    for place, entry in enumerate(old):
        if left and _mark(left[0]) == _mark(entry):
            yield from edits_between(entry, left.pop(0), (*at, place))
        else:
            gone.append(Remove((*at, place)))
    yield from reversed(gone)
    yield from (Add(at, entry) for entry in left)


def _mark(entry: Mapping[str, Any]) -> Any:
    return entry.get("name", entry.get("crop"))


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)
