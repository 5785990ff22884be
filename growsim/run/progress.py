"""How far a run is: a bar with the time left, on stderr and only where a person is looking; or a file, for who attends.

Whoever starts growsim and attends to it sets GROWSIM_ATTENDED to a file for the progress and gives it a pipe as stdin.
When that pipe closes, because the other program wants it so or is no more, the run is interrupted as by Ctrl-C: nobody
is left computing for somebody who has gone.
"""

from __future__ import annotations

import _thread
import json
import math
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from growsim import units
from growsim.run.intervals import FEWEST, mean_interval

if TYPE_CHECKING:
    from growsim.ledger.outcome import Outcome
    from growsim.run.rehearsers import Progress

LAYOUT = "{desc}: {percentage:3.0f}% |{bar}| {n_fmt} of {total_fmt} {unit}, {remaining} left{postfix}"
ATTENDED = "GROWSIM_ATTENDED"
SELDOM_SECONDS = 0.25
ORDERS, HANDED_OUT = "orders_filled_fraction", "kg_handed_out_per_week"
_MODEST = 10  # nice(): whoever attends, and everybody else on this computer, goes first
_SO_FAR: ContextVar[Callable[[str], None]] = ContextVar("growsim_so_far", default=lambda words: None)


def tell_so_far(words: str) -> None:
    """The answer so far, to whoever sees how far it is: "93 to 97% of orders filled, of 12 years". Like the progress
    it changes nothing, so a study hands it on to nobody: a `progress_bar` around it takes it."""
    _SO_FAR.get()(words)


@contextmanager
def progress_bar(label: str, unit: str = "years", stream: TextIO | None = None) -> Iterator[Progress]:
    """A callback for (done, total). Draws nothing unless `stream` (stderr by default) is a terminal.

    Where another program attends (see `attended`), it is told through its file instead. Either shows the answer so
    far, where somebody tells it within the block.
    """
    attended = progress_file()
    if attended is not None:
        file = ProgressFile(attended, label, unit)
        with _told(file.so_far):
            yield file.tell
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

        with _told(lambda words: bar.set_postfix_str(f"so far {words}")):
            yield move


@contextmanager
def _told(listener: Callable[[str], None]) -> Iterator[None]:
    before = _SO_FAR.set(listener)
    try:
        yield
    finally:
        _SO_FAR.reset(before)


class SoFar:
    """Looks at years as they come in and tells, not more often than somebody would look, what they say so far.

    whose: what goes before it, where that is not the answer itself: "today ". room: whose years count; None for all.
    """

    def __init__(self, whose: str = "", room: str | None = "") -> None:
        self._whose, self._room = whose, room
        self._seen: list[Outcome] = []
        self._last = -math.inf
        self.is_over = False

    def see(self, room: str, outcomes: Sequence[Outcome]) -> None:
        """More years."""
        if self._room not in (None, room) or self.is_over:
            return
        self._seen += outcomes
        now = time.monotonic()
        if len(self._seen) >= FEWEST and now - self._last >= SELDOM_SECONDS:
            self._last = now
            tell_so_far(self._whose + in_words(self._seen))


def in_words(outcomes: Sequence[Outcome]) -> str:
    """The range of the mean of orders filled, or of what is handed out where nothing is ordered: "93 to 97% of orders
    filled (12 years)"."""
    years = f"({len(outcomes)} years)"
    if all(ORDERS in outcome.measures for outcome in outcomes):
        shares = [100.0 * outcome.measures[ORDERS] for outcome in outcomes]
        return f"{_ends(shares, '.0f', 0.0, 100.0)}% of orders filled {years}"
    amounts = [units.amount(outcome.measures.get(HANDED_OUT, 0.0), "kg") for outcome in outcomes]
    return f"{_ends(amounts, '.1f', 0.0)} {units.unit('kg')} a week handed out {years}"


def changed_in_words(today: Sequence[Outcome], changed: Mapping[str, Sequence[Outcome]]) -> str:
    """What changes bring, in ranges of the mean over the same years: "+1.2 to +2.4 of 100 orders filled"."""
    said = []
    for name, after in changed.items():
        pairs = list(zip(today, after, strict=True))
        if all(ORDERS in outcome.measures for outcome in (*today, *after)):
            points = [100.0 * (now.measures[ORDERS] - then.measures[ORDERS]) for then, now in pairs]
            brought = f"{_ends(points, '+.1f')} of 100 orders filled"
        else:
            kilograms = [now.measures.get(HANDED_OUT, 0.0) - then.measures.get(HANDED_OUT, 0.0) for then, now in pairs]
            brought = f"{_ends([units.difference(kg, 'kg') for kg in kilograms], '+.1f')} {units.unit('kg')} a week"
        said.append(f"{name}: {brought}" if len(changed) > 1 else brought)
    return f"{'; '.join(said)} ({len(today)} years)"


def _ends(values: Sequence[float], layout: str, least: float = -math.inf, most: float = math.inf) -> str:
    mean, low, high = mean_interval(values)
    ends = [min(most, max(least, mean if end is None else end)) for end in (low, high)]
    return " to ".join(dict.fromkeys(format(end + 0.0, layout) for end in ends))


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
    """How far a run is. part: 1 for its first piece of long work, 2 for the next. so_far: the answer so far, if any."""

    what: str
    unit: str
    part: int
    done: int
    total: int
    so_far: str = ""


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
        self._so_far = ""

    def so_far(self, words: str) -> None:
        """The answer so far; written down with the next progress."""
        self._so_far = words

    def tell(self, done: int, total: int) -> None:
        """So much of so much."""
        now = time.monotonic()
        if now - self._last < SELDOM_SECONDS and done < total:
            return
        self._last = now
        beside = self._path.with_name(f"{self._path.name}.new")
        stand = Stand(self._what, self._unit, self._part, done, total, self._so_far)
        beside.write_text(json.dumps(asdict(stand)), encoding="utf-8")
        beside.replace(self._path)


def read_progress(path: Path) -> Stand | None:
    """What a run has written of its progress; None where it has not, or not so."""
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
        part, done, total = (int(raw[name]) for name in ("part", "done", "total"))
        return Stand(str(raw["what"]), str(raw["unit"]), part, done, total, str(raw["so_far"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None
