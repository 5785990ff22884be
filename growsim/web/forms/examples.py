"""What a new entry begins with: an entry like one there is, or like the starter room's."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from typing import Any

from growsim.scenario.base import Table
from growsim.scenario.checks.all import starter_tables
from growsim.web.forms.submitted import FormPath


@lru_cache(maxsize=1)
def starter_text() -> str:
    """The room that `growsim new` writes."""
    return files("growsim.scenario").joinpath("starter", "room.toml").read_text(encoding="utf-8")


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
