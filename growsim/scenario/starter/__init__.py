"""The room that a planner starts from, as it is shipped."""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib.resources import files
from typing import Any

from growsim.scenario.short.expand import expand
from growsim.scenario.short.follow import followed


@lru_cache(maxsize=1)
def starter_text() -> str:
    """Its text."""
    return files("growsim.scenario").joinpath("starter", "room.toml").read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def starter_tables() -> dict[str, Any]:
    """Its tables in full."""
    return followed(expand(tomllib.loads(starter_text())).tables)[0]
