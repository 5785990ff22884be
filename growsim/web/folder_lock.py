"""One page at a time works on the questions of a folder; a second one there can look, and is told where to ask."""

from __future__ import annotations

from pathlib import Path
from typing import IO

from growsim.errors import InputError

NAME = ".growsim-page"


class FolderLock:
    """Held from `take` to `give_back`, or to the end of the process however that comes."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME
        self._file: IO[bytes] | None = None
        self._why_not = ""

    def take(self) -> bool:
        """Whether the folder is ours now. Where the system has no such locks (Windows), it always is."""
        try:
            file = self._path.open("ab")
        except OSError as refusal:
            self._why_not = f"{self._path.parent}: cannot be written ({(refusal.strerror or 'refused').lower()})."
            return False
        try:
            import fcntl
        except ImportError:
            self._file = file
            return True
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            file.close()
            self._why_not = (
                "Another growsim page is at work in this folder; ask there, or close it and open this one anew."
            )
            return False
        self._file = file
        return True

    def give_back(self) -> None:
        """Let another page have it."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def refuse_if_not_ours(self) -> None:
        """Raises InputError where another page has the folder."""
        if self._file is None:
            raise InputError(self._why_not or "This page is not at work yet.")
