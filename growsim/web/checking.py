"""A room's text looked at as `growsim check` looks at it: the same faults, in the same sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from growsim.errors import Fault, RoomFileError
from growsim.run.look_ahead import warnings_with_growth
from growsim.run.prepare import prepare_room
from growsim.scenario import reading
from growsim.scenario.load import room_from, tables_in
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.expand import expand
from growsim.scenario.short.follow import followed
from growsim.web.folder import RoomFolder


@dataclass(frozen=True)
class Checked:
    """A room file as it stands.

    raw: its tables in full, with what follows; None where it cannot be read as TOML. told: the same without what
    follows. scenario: None where faulty. usual: path of each usual value in `raw` -> its source.
    """

    content: bytes
    raw: dict[str, Any] | None
    faults: tuple[Fault, ...] = ()
    warnings: tuple[Fault, ...] = ()
    scenario: Scenario | None = field(default=None, repr=False)
    usual: Mapping[tuple[str | int, ...], str] = field(default_factory=dict, repr=False)
    told: Mapping[str, Any] = field(default_factory=dict, repr=False)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the bytes."""
        return reading.fingerprint(self.content)

    @property
    def text(self) -> str:
        """The text as it stands, line ends and all."""
        return self.content.decode("utf-8", errors="replace")


def label_of(room: RoomFolder) -> str:
    """How the room's file is called in sentences."""
    return room.name if room.name.endswith(".toml") else f"{room.name}/{room.file.name}"


@lru_cache(maxsize=32)
def checked(content: bytes, label: str) -> Checked:
    """Look at a room's bytes; `label` names the file in every sentence. Kept for the next page: nobody changes raw."""
    try:
        raw = tables_in(Path(label), content)
    except RoomFileError as refusal:
        return Checked(content, None, refusal.faults)
    try:
        found = room_from(raw, Path(label), "", in_full=True)
        warnings = warnings_with_growth(found, prepare_room(found))
    except RoomFileError as refusal:
        told = expand(raw)
        full, follows = followed(told.tables)
        return Checked(content, full, refusal.faults, usual={**told.usual, **follows}, told=told.tables)
    return Checked(content, dict(found.full), (), warnings, found.scenario, found.usual, found.raw)


def checked_room(room: RoomFolder) -> Checked:
    """Look at a room of the folder. Raises RoomFileError where its file cannot be read at all."""
    return checked(reading.whole_file(room.file), label_of(room))
