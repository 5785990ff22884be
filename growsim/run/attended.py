"""A run that another program attends: it is told how far the run is, and ends the run by letting go of its stdin.

Whoever starts growsim so sets GROWSIM_ATTENDED to a file for the progress and gives it a pipe as stdin. When that pipe
closes, because the other program wants it so or is no more, the run is interrupted as by Ctrl-C: nobody is left
computing for somebody who has gone.
"""

from __future__ import annotations

import _thread
import json
import os
import signal
import threading
import time
from dataclasses import asdict, dataclass
from pathlib import Path

ATTENDED = "GROWSIM_ATTENDED"
SELDOM_SECONDS = 0.25
_MODEST = 10  # nice(): whoever attends, and everybody else on this computer, goes first


@dataclass(frozen=True)
class Stand:
    """How far a run is. part: 1 for its first piece of long work, 2 for the next."""

    what: str
    unit: str
    part: int
    done: int
    total: int


def progress_file() -> Path | None:
    """Where to write progress, if anybody attends."""
    name = os.environ.get(ATTENDED, "")
    return Path(name) if name else None


def attend() -> None:
    """If this run is attended: step back for others, and end when its stdin is let go of.

    It can be interrupted even where growsim was begun deaf to Ctrl-C, as scripts begin what is to go on behind them.
    """
    if progress_file() is None:
        return
    signal.signal(signal.SIGINT, signal.default_int_handler)
    if hasattr(os, "nice"):
        os.nice(_MODEST)
    threading.Thread(target=_end_with_stdin, daemon=True).start()


def _end_with_stdin() -> None:
    try:
        while os.read(0, 1024):
            pass
    except OSError:  # closed from this side: nobody attends any more
        return
    _thread.interrupt_main()


class ProgressFile:
    """Writes progress to a file, not more often than somebody would look."""

    parts = 0  # pieces of long work begun in this process

    def __init__(self, path: Path, what: str, unit: str) -> None:
        ProgressFile.parts += 1
        self._path, self._what, self._unit = path, what, unit
        self._part = ProgressFile.parts
        self._last = 0.0

    def tell(self, done: int, total: int) -> None:
        """So much of so much."""
        now = time.monotonic()
        if now - self._last < SELDOM_SECONDS and done < total:
            return
        self._last = now
        beside = self._path.with_name(f"{self._path.name}.new")
        beside.write_text(json.dumps(asdict(Stand(self._what, self._unit, self._part, done, total))), encoding="utf-8")
        beside.replace(self._path)


def read_progress(path: Path) -> Stand | None:
    """What a run has written of its progress; None where it has not, or not so."""
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
        return Stand(str(raw["what"]), str(raw["unit"]), int(raw["part"]), int(raw["done"]), int(raw["total"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
