"""Usual values: profiles of crops, trays, machines, walls, weather and crews, each figure with where it comes from.

They lie beside this module as TOML and are read when one is asked for. In a profile every figure is a small table: its
`value` (or range, or distribution) and its `source`, a key of the file's [sources].
"""

from __future__ import annotations

import copy
import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any

from growsim.vocabulary.tasks import TASKS

Path = tuple[str | int, ...]

MINUTES = "common practice, no source"
NOT_TIMED = {"low": 0.5, "likely": 1.0, "high": 2.0, "source": MINUTES}
"""Nobody has timed this crew: half the usual minutes to twice, on every job of a kind alike, drawn anew each year."""
KINDS = ("crops", "trays", "reservoirs", "pumps", "timers", "lights", "climate", "crew", "walls", "weather")


@dataclass(frozen=True)
class Profile:
    """Usual values under one name.

    tables: as a room file would have them. sources: path below the profile -> where that figure comes from.
    """

    name: str
    tables: dict[str, Any] = field(default_factory=dict)
    sources: dict[Path, str] = field(default_factory=dict)


@cache
def _file(kind: str) -> dict[str, Any]:
    text = files("growsim.scenario").joinpath("usual", f"{kind}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def names(kind: str) -> list[str]:
    """The names of all profiles of a kind, in the order of the file."""
    return [name for name in _file(kind) if name != "sources"]


def sources_of(kind: str) -> dict[str, str]:
    """The sources a file of profiles names: short key -> what it says to a reader."""
    found: dict[str, str] = _file(kind)["sources"]
    return found


def raw_profile(kind: str, name: str) -> dict[str, Any]:
    """A profile as the file has it, each figure with its source's key. Raises KeyError for a name there is none of."""
    found: dict[str, Any] = copy.deepcopy(_file(kind)[name])
    return found


def profile(kind: str, name: str) -> Profile:
    """A profile as a room file would have it. Raises KeyError for a name there is none of."""
    if name not in names(kind):
        raise KeyError(name)
    sources: dict[Path, str] = {}
    tables = _plain(raw_profile(kind, name), (), sources, sources_of(kind))
    if kind == "crew":
        tables["tasks"] = [
            {"name": row.key, "minutes_per_unit": row.usual_minutes, "minutes_factor": {**NOT_TIMED}}
            for row in TASKS.values()
        ]
        sources |= {
            ("tasks", place, key): MINUTES
            for place in range(len(TASKS))
            for key in ("minutes_per_unit", "minutes_factor")
        }
    return Profile(name, tables, sources)


def _plain(value: Any, path: Path, sources: dict[Path, str], known: dict[str, str]) -> Any:
    """The value without what only profiles have; the source of each figure is noted on the way."""
    if isinstance(value, dict) and "source" in value:
        sources[path] = known[value["source"]]
        if value.keys() == {"value", "source"}:
            return value["value"]
        return {**value, "source": sources[path]}
    if isinstance(value, dict):
        return {key: _plain(inner, (*path, key), sources, known) for key, inner in value.items()}
    if isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
        return [_plain(each, (*path, place), sources, known) for place, each in enumerate(value)]
    return value
