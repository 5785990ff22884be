"""How far a run is: a bar with the time left, on stderr and only where a person is looking; or a file, for who attends.

Whoever starts growsim and attends to it sets GROWSIM_ATTENDED to a file for the progress and gives it a pipe as stdin.
When that pipe closes, because the other program wants it so or is no more, the run is interrupted as by Ctrl-C: nobody
is left computing for somebody who has gone.
"""

from __future__ import annotations

import _thread
import json
import os
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TextIO

from growsim.run.rehearsers import Progress

LAYOUT = "{desc}: {percentage:3.0f}% |{bar}| {n_fmt} of {total_fmt} {unit}, {remaining} left"
ATTENDED = "GROWSIM_ATTENDED"
SELDOM_SECONDS = 0.25
_MODEST = 10  # nice(): whoever attends, and everybody else on this computer, goes first


@contextmanager
def progress_bar(label: str, unit: str = "years", stream: TextIO | None = None) -> Iterator[Progress]:
    """A callback for (done, total). Draws nothing unless `stream` (stderr by default) is a terminal.

    Where another program attends (see `attended`), it is told through its file instead.
    """
    attended = progress_file()
    if attended is not None:
        yield ProgressFile(attended, label, unit).tell
        return
    stream = sys.stderr if stream is None else stream
    if not stream.isatty():
        yield lambda done, total: None
        return
    from tqdm import tqdm

    with tqdm(
        total=1, desc=label, unit=unit, file=stream, leave=False, dynamic_ncols=True, bar_format=LAYOUT, delay=1e-9
    ) as bar:  # the delay keeps it from drawing before the true total is known

        def move(done: int, total: int) -> None:
            bar.total = total
            bar.update(done - bar.n)
            if done == total:
                bar.refresh()

        yield move


class SharedProgress:
    """Hands out a progress callback a round.

    expected: how many there will be in all, about. sure: of these, how many come after all others, so that the end is
    never told before them. The share done, once told, does not fall again when more turn out to be needed, unless the
    end had been told already.
    """

    def __init__(self, progress: Progress | None, expected: int, sure: int = 0) -> None:
        self._progress: Progress = progress or (lambda done, total: None)
        self._expected = expected
        self._sure = sure
        self._handed_out = 0
        self._share = 0.0

    def more(self, number: int) -> Progress:
        """The callback for the next round of so many rehearsals."""
        before = self._handed_out
        self._handed_out += number
        self._expected = max(self._expected, self._handed_out + self._sure)
        return lambda done, _: self._tell(before + done)

    def spare(self, number: int) -> None:
        """So many rehearsals turn out not to be needed."""
        self._expected = max(self._handed_out, self._expected - number)

    def then(self, number: int) -> None:
        """After the next round so many follow, and no more that is known of."""
        self._sure = number
        self._expected = self._handed_out + number

    def _tell(self, done: int) -> None:
        total = self._expected
        if self._share < 1.0:
            total = max(done, min(total, int(done / self._share))) if self._share > 0.0 else total
        self._share = done / total if total else 0.0
        self._progress(done, total)


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
