"""Files kept in a room's home: changes to try, counts of the shelves, and its record."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

from growsim.errors import RoomFileError
from growsim.scenario.change import load_change
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.record.files import ENDINGS
from growsim.study.standing import RECORDS, SHELVES
from growsim.web.folder import RoomFolder, is_plain_name

TABLES = (".csv", ".xlsx", ".xlsm", ".tsv", ".txt")
MOST_LISTED = 200


def loaded(room: RoomFolder) -> tuple[LoadedRoom | None, list[str]]:
    """The room, or what has to be corrected in it first. Read again only when its file has changed."""
    try:
        found = room.file.stat()
    except OSError:
        return None, [f"{room.name}: there is no such file any more."]
    whole, faults = _loaded(room.file, found.st_mtime_ns, found.st_size, found.st_ino)
    return whole, [said_here(room, fault) for fault in faults]


@lru_cache(maxsize=32)
def _loaded(file: Path, *_: int) -> tuple[LoadedRoom | None, tuple[str, ...]]:
    try:
        return load_scenario(file), ()
    except RoomFileError as refusal:
        return None, tuple(str(fault) for fault in refusal.faults)


def said_here(room: RoomFolder, said: str) -> str:
    """Sentences that name files of the room's home, without the way there."""
    return said.replace(f"{room.home}/", "").replace(str(room.file), room.name)


def change_files(room: RoomFolder) -> list[Path]:
    """The CHANGE files kept with a room, by name: what is listed can be asked with, handed out, made, removed."""
    return [path for path in _files(room.changes, (".toml",)) if is_plain_name(path.name)]


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


def table_files(room: RoomFolder) -> list[Path]:
    """Tables in the room's folder that may be a count of the shelves."""
    return [path for folder in (room.home, room.home / SHELVES) for path in _files(folder, TABLES)[:MOST_LISTED]]


def record_tables(room: RoomFolder) -> list[Path]:
    """Tables of the record kept with the room."""
    return [path for path in _files(room.home / RECORDS, ENDINGS) if is_plain_name(path.name)]


def _files(folder: Path, endings: Sequence[str]) -> list[Path]:
    if not folder.is_dir() or folder.is_symlink():
        return []
    return sorted(
        path
        for path in folder.iterdir()
        if path.suffix.lower() in endings and not path.name.startswith(".") and path.is_file() and not path.is_symlink()
    )
