"""Opening a room for a command: read, checked, and its crops' growth found."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from growsim.run.prepare import Prepared
    from growsim.spec.load import LoadedRoom


def open_room(path: Path) -> tuple[LoadedRoom, Prepared]:
    """The room and its growth curves. Raises RoomFileError with every fault."""
    from growsim.run.prepare import prepare_room
    from growsim.spec.load import load_scenario

    room = load_scenario(path)
    return room, prepare_room(room)
