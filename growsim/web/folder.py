"""The chosen folder: which rooms lie in it, and the only way from a name in an address to a file on the disk.

A room is a folder with a room.toml in it, or a room file lying loose. Names are single names: no way leads up, down or
out by a link.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from growsim.errors import InputError
from growsim.scenario.reading import LARGEST_FILE_BYTES

ROOM_FILE = "room.toml"
CHANGES = "changes"
LONGEST_NAME = 60
_NAME = re.compile(r"[^\W_][\w .,()'&+-]*", re.UNICODE)
_LOOKS_LIKE_A_ROOM = re.compile(rb"(?m)^[ \t]*\[room\]")
# Names that Windows keeps for devices.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}


class NotHereError(InputError):
    """There is nothing of that name in the chosen folder."""


@dataclass(frozen=True)
class RoomFolder:
    """A room of the chosen folder. name: as it stands in addresses. file: its room file. home: the folder that its
    changes, answers and records lie in."""

    name: str
    file: Path
    home: Path

    @property
    def title(self) -> str:
        """The name without an ending."""
        return self.name.removesuffix(".toml")

    @property
    def changes(self) -> Path:
        """Where its CHANGE files lie."""
        return self.home / CHANGES


class Folder:
    """The folder whose rooms the page shows."""

    def __init__(self, path: Path) -> None:
        self.path = path.resolve()

    def rooms(self) -> list[RoomFolder]:
        """Every room in the folder, by name."""
        try:
            inside = sorted(self.path.iterdir(), key=lambda entry: entry.name.lower())
        except OSError:
            return []
        return [room for entry in inside if (room := self._room(entry.name)) is not None]

    def room(self, name: str) -> RoomFolder:
        """The room of that name. Raises NotHereError."""
        room = self._room(name)
        if room is None:
            raise NotHereError(f"There is no room “{name[:LONGEST_NAME]}” in {self.path}.")
        return room

    def _room(self, name: str) -> RoomFolder | None:
        if not is_plain_name(name):
            return None
        entry = self.path / name
        try:
            if entry.is_symlink():
                return None
            if entry.is_dir():
                file = entry / ROOM_FILE
                return RoomFolder(name, file, entry) if file.is_file() and not file.is_symlink() else None
            if not name.endswith(".toml") or not entry.is_file() or entry.stat().st_size > LARGEST_FILE_BYTES:
                return None
            if _LOOKS_LIKE_A_ROOM.search(entry.read_bytes()) is None:
                return None
        except (OSError, ValueError):
            return None
        return RoomFolder(name, entry, self.path / name.removesuffix(".toml"))


def is_plain_name(name: str) -> bool:
    """Whether a name is a single, ordinary name of a file: no slash, no dot in front, nothing that steers."""
    return (
        len(name) <= LONGEST_NAME
        and _NAME.fullmatch(name) is not None
        and not name.endswith((".", " "))
        and name.partition(".")[0].strip().lower() not in _DEVICES
    )


def file_inside(home: Path, name: str) -> Path:
    """The file `name` in a folder of ours. Raises NotHereError where the name is not plain, or leads out by a link."""
    path = home / name
    if not is_plain_name(name) or path.is_symlink() or home.is_symlink():
        raise NotHereError(f"There is no file “{name[:LONGEST_NAME]}” here.")
    return path


def plain_name(wanted: str) -> str:
    """A name for a file from what somebody typed: "Our room!" becomes "our-room"; an ending fits behind it. Empty
    where nothing is left.
    """
    words = re.sub(r"[^\w]+", "-", wanted.strip().lower(), flags=re.UNICODE).strip("-_")
    name = words[: LONGEST_NAME - len(".toml")].strip("-_")
    return name if is_plain_name(name) else ""
