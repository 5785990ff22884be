"""Rooms put aside: moved with all that is theirs into `removed`, beside the other rooms, from where they can come back.

`removed/<day>/<room>`: the folder keeps its name, so that moving it back is all it takes. Nothing is ever erased.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import growsim
from growsim.errors import InputError
from growsim.report.words import counted, long_date
from growsim.scenario import reading
from growsim.study.standing import RECORDS, SHELVES
from growsim.web.ask.listed import change_files, record_tables, table_files
from growsim.web.folder import CHANGES, ROOM_FILE, Folder, NotHereError, RoomFolder
from growsim.web.runs.record import ANSWERS, runs_of

REMOVED = "removed"
SHIPPED = ("millrace", "tiny")  # the invented rooms that come with growsim, in its own folder of that name
SHIPPED_IN = "scenarios"


@dataclass(frozen=True)
class Going:
    """What goes with a room. lines: in words, one a kind of thing. seen: changes when anything of it does."""

    lines: tuple[str, ...]
    seen: str


def what_goes(room: RoomFolder) -> Going:
    """What is in the room: its description, answers, records, changes, counts of shelves, and whatever else lies there.

    Raises RoomFileError where the room file cannot be read.
    """
    fingerprint = reading.fingerprint(reading.whole_file(room.file))
    runs, records = runs_of(room), record_tables(room)
    changes, counts, others = change_files(room), table_files(room), _other_files(room)
    lines = [f"its description, the file {room.file.name}, last changed on {_day(room.file.stat().st_mtime)}"]
    if runs:
        first = _day(min(run.asked_at for run in runs))
        lines.append(f"{counted(len(runs), 'answer')}, {'asked' if len(runs) == 1 else 'the first asked'} on {first}")
    if records:
        since = _day(min(path.stat().st_mtime for path in records))
        lines.append(f"{counted(len(records), 'table')} of its record, kept since {since}")
    lines += [f"{counted(len(changes), 'change')} to try"] if changes else []
    lines += [f"{counted(len(counts), 'table')} that may be a count of the shelves"] if counts else []
    lines += [f"{counted(len(others), 'other file')}"] if others else []
    return Going(
        tuple(lines),
        f"{fingerprint} {[run.id for run in runs]} {len(records)} {len(changes)} {len(counts)} {len(others)}",
    )


def why_it_stays(folder: Folder, room: RoomFolder) -> str:
    """Why a room cannot be removed, whatever is going on just now; '' where it can."""
    shipped = Path(growsim.__file__).resolve().parents[1] / SHIPPED_IN
    if folder.path == shipped and room.title in SHIPPED:
        return (
            f"“{room.title}” came with growsim, whose instructions speak of it; it stays where it is. Copy it under "
            "another name, and the copy can be removed."
        )
    if room.file.parent == folder.path and (room.home.is_symlink() or room.home.is_file()):
        return f"What belongs to “{room.title}” lies elsewhere, behind a link; it cannot be moved from here."
    loose = folder.path / f"{room.name}.toml"
    if room.home == folder.path / room.name and loose.is_file():
        return f"“{loose.name}” keeps its answers in the same folder; remove “{loose.name}” first."
    aside = folder.path / REMOVED
    if room.home == aside or any(each.home == aside for each in folder.rooms()):
        return f"Removed rooms are kept in a folder called “{REMOVED}”, and here a room has that name; rename it first."
    if aside.is_symlink() or (aside.exists() and not aside.is_dir()):
        return (
            f"Removed rooms are kept in “{REMOVED}” beside the rooms, and that is no ordinary folder; rename it first."
        )
    return ""


def place_for(folder: Folder, room: RoomFolder) -> Path:
    """The folder that a room removed today is moved into; it is not there yet."""
    today = dt.date.today().isoformat()
    number, place = 1, folder.path / REMOVED / today
    while any((place / path.name).exists() or (place / path.name).is_symlink() for path in _moved(folder, room)):
        number += 1
        place = folder.path / REMOVED / f"{today}-{number}"
    return place


def put_aside(folder: Folder, room: RoomFolder) -> Path:
    """Move a room away, whole or not at all; gives where it lies now. Raises InputError: nothing is changed then."""
    place, done = place_for(folder, room), list[Path]()
    try:
        place.mkdir(parents=True, exist_ok=True)
        for path in _moved(folder, room):
            path.rename(place / path.name)
            done.append(path)
    except OSError as refusal:
        _moved_back(done, place)
        why = (refusal.strerror or "refused by the system").lower()
        raise InputError(f"The room cannot be moved aside ({why}); nothing was changed.") from None
    return place / room.name


@dataclass(frozen=True)
class Aside:
    """A removed room. day: the folder it lies in; name: its own."""

    day: str
    name: str

    @property
    def title(self) -> str:
        """What it was called."""
        return self.name.removesuffix(".toml")


def aside_of(folder: Folder) -> list[Aside]:
    """The removed rooms, the last on top."""
    aside = folder.path / REMOVED
    try:
        if aside.is_symlink() or not aside.is_dir():
            return []
        found = [path for path in aside.glob("*/*") if not path.is_symlink() and not path.parent.is_symlink()]
    except OSError:
        return []
    rooms = [path for path in found if (path / ROOM_FILE).is_file() or (path.suffix == ".toml" and path.is_file())]
    return [Aside(path.parent.name, path.name) for path in sorted(rooms, reverse=True)]


def bring_back(folder: Folder, day: str, name: str) -> None:
    """Move a removed room back, whole or not at all. Raises NotHereError where there is none of that name, InputError
    where another has taken its place or the system refuses."""
    if Aside(day, name) not in aside_of(folder):
        raise NotHereError("There is no removed room of that name.")
    place, done = folder.path / REMOVED / day, list[Path]()
    own = place / name.removesuffix(".toml")
    going = [place / name, *([own] if own.name != name and own.is_dir() and not (own / ROOM_FILE).is_file() else [])]
    if any((folder.path / path.name).exists() or (folder.path / path.name).is_symlink() for path in going):
        raise InputError(f"There is a room “{name}” again; copy that one under another name and remove it first.")
    try:
        for path in going:
            path.rename(folder.path / path.name)
            done.append(folder.path / path.name)
    except OSError as refusal:
        for path in done:
            path.rename(place / path.name)
        why = (refusal.strerror or "refused by the system").lower()
        raise InputError(f"The room cannot be moved back ({why}); nothing was changed.") from None
    _cleared(place)


def still_there(room: RoomFolder) -> None:
    """Raises NotHereError where another window has removed the room meanwhile."""
    if not room.file.is_file():
        raise NotHereError(f"The room “{room.title}” has been removed meanwhile.")


def _moved(folder: Folder, room: RoomFolder) -> list[Path]:
    """What is moved: the room's folder; of a room file lying loose, the file, and the folder that is its own."""
    if room.file.parent == room.home:
        return [room.home]
    shared = any(each.home == room.home and each.name != room.name for each in folder.rooms())
    return [room.file, *([room.home] if room.home.is_dir() and not shared else [])]


def _moved_back(done: Sequence[Path], place: Path) -> None:
    for path in reversed(done):
        (place / path.name).rename(path)
    _cleared(place)


def _cleared(place: Path) -> None:
    for folder in (place, place.parent):
        with contextlib.suppress(OSError):  # not empty: others lie there
            folder.rmdir()


def _other_files(room: RoomFolder) -> list[Path]:
    """Files of the room's own folder that are none of the things named."""
    named = {room.file, *table_files(room)}
    known = {room.home / name for name in (ANSWERS, RECORDS, CHANGES, SHELVES)}
    found: list[Path] = []
    for here, folders, files in os.walk(room.home):
        folders[:] = [name for name in folders if Path(here, name) not in known]
        found += [path for name in files if (path := Path(here, name)) not in named]
    return found


def _day(moment: float) -> str:
    day = dt.datetime.fromtimestamp(moment)
    return long_date(day)
