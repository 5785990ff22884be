"""Where a report comes from, so that anyone can make it again: version, room, seed, command, libraries; and where
its figures come from.
"""

from __future__ import annotations

import platform
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.metadata import PackageNotFoundError, version

from growsim.scenario.asked import Count
from growsim.scenario.base import Table
from growsim.scenario.origin import RoomFigure
from growsim.scenario.scenario import Scenario
from growsim.version import VERSION

LIBRARIES = ("simpy", "numpy", "pandas", "scipy", "matplotlib", "pydantic", "jinja2")


def _library_versions() -> dict[str, str]:
    found = {}
    for name in LIBRARIES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "unknown"
    return found


@dataclass(frozen=True)
class Provenance:
    """What a report says of its own making. Nothing in it names a person, a computer or a time.

    command: "rehearse", "compare", ... repeat_with: the exact command line. room_sha256: of the room file's bytes.
    figures: every figure of the room with whose it is, asked: how many of those asked for are the planner's, where that
    is known.
    """

    command: str
    repeat_with: str
    room_sha256: str
    growsim: str = VERSION
    python: str = field(default_factory=platform.python_version)
    libraries: Mapping[str, str] = field(default_factory=_library_versions)
    figures: tuple[RoomFigure, ...] = ()
    asked: Count | None = None

    def rows(self) -> tuple[tuple[str, str], ...]:
        """For the end of a report: what, and its value."""
        libraries = ", ".join(f"{name} {number}" for name, number in self.libraries.items())
        return (
            ("growsim", self.growsim),
            ("room file, SHA-256", self.room_sha256),
            ("Python", self.python),
            ("libraries", libraries),
        )


def sources_given(table: Table) -> dict[str, None]:
    """Every source text under a table, each once, in order."""
    found: dict[str, None] = {}
    if table.source:
        found[table.source] = None
    for name in type(table).model_fields:
        value = getattr(table, name)
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Table):
                found.update(sources_given(each))
    return found


def told_of(command: str, scenario: Scenario) -> str:
    """What a report tells of: only one of the same takes its place."""
    return f"{command}, {scenario.room.name}"
