"""Cross-check of what a room says of itself: words of the starter room that were left behind in somebody's own."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from functools import lru_cache
from importlib.resources import files
from typing import Any

from growsim.spec.scenario import Scenario
from growsim.spec.wording import Finding


def still_the_starters(scenario: Scenario) -> Iterator[Finding]:
    """Warning: a room with a name of its own still has the starter's `about` or `note`, which every report shows."""
    starter = starter_tables()
    own = starter["room"]
    if scenario.room.name == own["name"]:
        return
    head = f"and stands at the head of every report on {scenario.room.name}"
    if scenario.about == starter["about"]:
        yield "about", f"is still the starter room's, {head}", "say what your room is, or take it out"
    if scenario.room.note == own["note"]:
        yield "room.note", f"is still the starter room's, {head}", "say where your figures come from, or take it out"


@lru_cache(maxsize=1)
def starter_tables() -> dict[str, Any]:
    """The tables of the room that `growsim new` writes."""
    return tomllib.loads(files("growsim.spec").joinpath("starter", "room.toml").read_text(encoding="utf-8"))
