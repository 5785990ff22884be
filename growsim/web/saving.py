"""Saving a room: whole or not at all, one window at a time, and never over what another window has saved."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

from growsim.errors import InputError
from growsim.run.writing import write_bytes
from growsim.scenario import reading
from growsim.web.checking import Checked
from growsim.web.folder import RoomFolder

_LOCK = threading.Lock()
_MOST_SEEN = 100


class StaleError(InputError):
    """The file is no longer the one that was shown."""


class Seen:
    """The tables of room files as they were shown, by fingerprint, so that who changed what can be told apart."""

    def __init__(self) -> None:
        self._tables: OrderedDict[str, dict[str, Any]] = OrderedDict()

    def note(self, room: Checked) -> None:
        """Remember a file that is being shown."""
        if room.raw is not None:
            self._tables[room.fingerprint] = room.raw
            self._tables.move_to_end(room.fingerprint)
            while len(self._tables) > _MOST_SEEN:
                self._tables.popitem(last=False)

    def tables(self, fingerprint: str) -> dict[str, Any] | None:
        """The tables shown under a fingerprint; None where they are not known any more."""
        return self._tables.get(fingerprint)


def seen_by(app: Any) -> Seen:
    """What this page has shown so far."""
    if not hasattr(app.state, "seen"):
        app.state.seen = Seen()
    seen: Seen = app.state.seen
    return seen


def save(room: RoomFolder, expected: str, content: bytes) -> None:
    """Write the file if it is still the one expected. Raises StaleError where it is not, InputError where it cannot."""
    with _LOCK:
        if reading.fingerprint(reading.whole_file(room.file)) != expected:
            raise StaleError("The room file has been changed by another window or program meanwhile.")
        _written(lambda: write_bytes(room.file, content))


def create(room: RoomFolder, content: bytes) -> None:
    """Write a new room file in a folder of its own. Raises InputError where there is something of that name already."""
    with _LOCK:
        if room.home.exists() or room.home.is_symlink() or room.file.exists():
            raise InputError(f"There is something called “{room.title}” in the folder already; give another name.")

        def write() -> None:
            room.home.mkdir()
            try:
                write_bytes(room.file, content)
            except BaseException:
                room.home.rmdir()
                raise

        _written(write)


def taken_away(room: RoomFolder, is_as_shown: Callable[[], bool], move: Callable[[], Path]) -> Path:
    """Move a room away while nobody can save it; gives where it lies now. Raises StaleError if it is not as shown."""
    with _LOCK:
        if not is_as_shown():
            raise StaleError(f"“{room.title}” is no longer as it was shown.")
        return move()


def brought_back(move: Callable[[], None]) -> None:
    """Move a removed room back while nobody can make one in its place."""
    with _LOCK:
        move()


def _written(write: Callable[[], None]) -> None:
    try:
        write()
    except OSError as refusal:
        why = (refusal.strerror or "refused by the system").lower()
        raise InputError(f"The file cannot be written ({why}); nothing was changed.") from None
