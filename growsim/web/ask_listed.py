"""Files of a room's home that a question can be asked with: changes to try, and counts of the shelves."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from growsim.errors import RoomFileError
from growsim.spec.change import load_change
from growsim.web.folder import Room

TABLES = (".csv", ".xlsx", ".xlsm", ".tsv", ".txt")
SHELVES = "shelves"  # the folder, in a room's home, in which counts of the shelves are kept
MOST_LISTED = 200


def change_files(room: Room) -> list[Path]:
    """The CHANGE files of a room, by name."""
    return _files(room.changes, (".toml",))


def change_title(path: Path) -> str:
    """What a CHANGE file calls itself, or else its name in words."""
    try:
        return _title(path, path.stat().st_mtime_ns)
    except OSError:
        return path.stem


@lru_cache(maxsize=256)
def _title(path: Path, _: int) -> str:
    try:
        title = load_change(path).title
    except RoomFileError:
        title = path.stem
    return title.replace("-", " ") if title == path.stem else title


def table_files(room: Room) -> list[Path]:
    """Tables in the room's folder that may be a count of the shelves."""
    return [*_files(room.home, TABLES), *_files(room.home / SHELVES, TABLES)]


def _files(folder: Path, endings: Sequence[str]) -> list[Path]:
    if not folder.is_dir() or folder.is_symlink():
        return []
    inside = [
        path
        for path in folder.iterdir()
        if path.suffix.lower() in endings and not path.name.startswith(".") and path.is_file() and not path.is_symlink()
    ]
    return sorted(inside)[:MOST_LISTED]
