"""The pages of a room's form, one for each table, list and entry of a list; where a fault belongs; and what a new entry
begins with: one like an entry there is, or like the starter room's.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from growsim.errors import Fault
from growsim.scenario.anatomy import anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.reading import dotted
from growsim.scenario.scenario import Scenario
from growsim.scenario.starter import starter_tables
from growsim.web.folder import NotHereError
from growsim.web.forms.submitted import FormPath
from growsim.web.pages import address

ABOUT = "about"
NEW = "new"


@dataclass(frozen=True)
class Spot:
    """A page of the form. path: of its table in the file, and the name of its fields. up: the page above, if any."""

    kind: Literal["fields", "table", "list", "entry", "new"]
    path: FormPath
    model: type[Table]
    heading: str

    @property
    def list_path(self) -> FormPath:
        """Of an entry, or a new one: the list it stands in."""
        return self.path[:-1]

    def steps(self) -> tuple[str, ...]:
        """Its address below /form/."""
        return tuple(str(step) for step in self.path) if self.path else (ABOUT,)


def spot_at(text: str, raw: Mapping[str, Any]) -> Spot:
    """The page that an address names. Raises NotHereError."""
    if text == ABOUT:
        return Spot("fields", (), Scenario, "About this room file")
    model: type[Table] = Scenario
    path: FormPath = ()
    steps = text.split("/")
    while steps:
        key = steps.pop(0)
        if key not in model.model_fields:
            break
        what = anatomy_of(model.model_fields[key])
        if what.table is None or what.kind == "figure":
            break
        path, heading = (*path, key), what.meaning.rstrip(".")
        if what.kind == "table":
            if not steps:
                return Spot("table", path, what.table, heading)
            model = what.table
            continue
        if not steps:
            return Spot("list", path, what.table, heading)
        if steps == [NEW]:
            return Spot("new", (*path, NEW), what.table, heading)
        listed = value_at(raw, path)
        if steps[0].isascii() and steps[0].isdecimal() and len(steps) == 1 and len(steps[0]) < 6:
            place = int(steps[0])
            if isinstance(listed, list) and place < len(listed):
                return Spot("entry", (*path, place), what.table, heading)
        break
    raise NotHereError("There is no such part of the room, or it has gone meanwhile.")


def value_at(raw: Any, path: FormPath) -> Any:
    """What the tables hold at a path; None where there is nothing."""
    here = raw
    for step in path:
        if isinstance(step, int):
            here = here[step] if isinstance(here, list) and step < len(here) else None
        else:
            here = here.get(step) if isinstance(here, dict) else None
    return here


def table_at(raw: Any, path: FormPath) -> Mapping[str, Any]:
    """The table at a path; an empty one where there is none."""
    found = value_at(raw, path)
    return found if isinstance(found, dict) else {}


def form_address(room: str, spot: Spot) -> str:
    """Where the page of a spot is."""
    return address(room, "form", *spot.steps())


def fault_address(room: str, fault: Fault, raw: Mapping[str, Any]) -> str:
    """The page of the form on which a fault stands."""
    best: FormPath = ()
    for path in _pages(raw):
        shown = dotted(raw, path)
        if (fault.key == shown or fault.key.startswith(f"{shown}.")) and len(path) > len(best):
            best = path
    return address(room, "form", *(str(step) for step in best)) if best else address(room, "form", ABOUT)


def _pages(raw: Mapping[str, Any]) -> Iterator[FormPath]:
    """The path of every page there is: tables, lists, entries."""
    for key, field in Scenario.model_fields.items():
        what = anatomy_of(field)
        if what.kind == "table":
            assert what.table is not None
            yield (key,)
            for inner, inner_field in what.table.model_fields.items():
                if anatomy_of(inner_field).kind == "tables":
                    yield from _entries(raw, (key, inner))
        elif what.kind == "tables":
            yield (key,)
            yield from _entries(raw, (key,))


def _entries(raw: Mapping[str, Any], path: FormPath) -> Iterator[FormPath]:
    listed = value_at(raw, path)
    for place in range(len(listed)) if isinstance(listed, list) else ():
        yield (*path, place)


def starter_entry(path: FormPath) -> Mapping[str, Any]:
    """The first entry of a list of the starter room; empty where it has none."""
    here: Any = starter_tables()
    for step in path:
        here = here.get(step) if isinstance(here, dict) else None
    return here[0] if isinstance(here, list) and here and isinstance(here[0], dict) else {}


def like_entry(model: type[Table], listed: Any, place: int | None) -> Mapping[str, Any]:
    """A copy of an entry, the last where no place is given, under a name that is free; empty where there is none."""
    entries = [each for each in listed if isinstance(each, dict)] if isinstance(listed, list) else []
    if not entries:
        return {}
    entry = copy.deepcopy(entries[place] if place is not None and place < len(entries) else entries[-1])
    name = entry.get("name")
    if isinstance(name, str) and model.model_fields["name"].annotation is str:
        entry["name"] = free_name(name, [each.get("name") for each in entries])
    else:
        entry.pop("name", None)
    return entry


def free_name(name: str, taken: list[Any]) -> str:
    """ "rack A" becomes "rack A 2", or 3, ...; within 60 characters."""
    number = 2
    while (fresh := f"{name.strip()[:55]} {number}") in taken:
        number += 1
    return fresh
