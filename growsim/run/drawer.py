"""The drawer of finished years: what was lived through once is not simulated again, by whatever question.

It lies in the user's folder for what can be made again, and every growsim of that user shares it. A year is found only
under its mark (see `fingerprint`) and number, so a room, program or library with one digit changed finds nothing. Years
are laid in a few seconds' work at a time, each time as a file of its own that is there whole or not at all. Nothing in
a file is ever changed. It begins with what it holds; each year has a checksum of its own. A file that is damaged is
thrown away; where there are too many, those go that were not asked for the longest. Files hold plain values; reading
them runs nothing.

What the caller has `arranged` for all rehearsals of a block, a drawer or hands elsewhere, changes no number, and every
study would only hand it on to Rehearsers untouched. So it is arranged around a study, not passed through it.
Arrangements are the thread's (or task's) own.
"""

from __future__ import annotations

import dataclasses
import io
import json
import os
import pickle
import sys
import time
import uuid
import zlib
from collections.abc import Iterable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager, suppress
from contextvars import ContextVar
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple

from growsim.ledger.outcome import Outage, Outcome
from growsim.run.writing import write_bytes

PLACE = "GROWSIM_YEARS"  # another folder for the drawer; NONE for none
NONE = "none"
MOST_BYTES = 300_000_000  # some 15,000 years of the demo room
ROOM_MADE = 0.8  # where that is too much, down to this share of it
KEEP_SECONDS = 5.0  # work that may be lost at first
KEEP_SHARE = 0.02  # and later this share of all the work done, so that the longest study has few files
LEFT_SECONDS = 86_400.0  # a file half written so long ago is nobody's any more
ENDING = ".years"
HEAD = b"growsim finished years 2\n"
SIZE = 8  # bytes that say how long the table of what a file holds is

_FIELDS = tuple(field.name for field in dataclasses.fields(Outcome))


def usual_place() -> Path | None:
    """Where the drawer lies: what GROWSIM_YEARS says, else the system's place for such. None for none."""
    said = os.environ.get(PLACE, "")
    if said:
        return None if said == NONE else Path(said)
    if sys.platform == "win32":
        above = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    elif sys.platform == "darwin":
        above = Path.home() / "Library" / "Caches"
    else:
        above = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return above / "growsim" / "years"


def packed(outcome: Outcome) -> bytes:
    """A year as it lies in the drawer, and as a worker sends it back."""
    outages = tuple(dataclasses.astuple(outage) for outage in outcome.outages)
    plain = tuple(outages if name == "outages" else getattr(outcome, name) for name in _FIELDS)
    return zlib.compress(pickle.dumps(plain, protocol=5), 1)


def unpacked(year: bytes) -> Outcome:
    """The year again, to the last bit. Raises ValueError for anything else."""
    try:
        plain = _NothingButValues(io.BytesIO(zlib.decompress(year))).load()
        values = dict(zip(_FIELDS, plain, strict=True))
        return Outcome(**values | {"outages": tuple(Outage(*each) for each in values["outages"])})
    except (zlib.error, pickle.UnpicklingError, TypeError) as fault:
        raise ValueError("not a year") from fault


class _NothingButValues(pickle.Unpickler):
    """Numbers, texts, tables: a file that names anything else, to have it run, is refused."""

    def find_class(self, module: str, name: str) -> Any:
        raise pickle.UnpicklingError(f"{module}.{name} has no place among years")


class _Place(NamedTuple):
    """Where a year lies, and its checksum."""

    file: Path
    first: int
    length: int
    sha256: str


class Drawer:
    """Finished years in a folder. taken: years found in it so far. kept: years laid in.

    Whatever the system refuses, the drawer does without: it costs no study.
    """

    def __init__(self, folder: Path, *, most_bytes: int = MOST_BYTES, keep_seconds: float | None = None) -> None:
        self.folder = folder
        self.taken = 0
        self.kept = 0
        self._most_bytes = most_bytes
        self._keep_seconds = KEEP_SECONDS if keep_seconds is None else keep_seconds
        self._began = self._last_laid = time.monotonic()
        self._waiting: list[tuple[str, int, bytes]] = []
        self._asked_for: set[Path] = set()
        self._bytes = 0  # in all, as far as known
        self._places: dict[tuple[str, int], _Place] = {}
        for file in sorted(folder.glob(f"*{ENDING}")) if folder.is_dir() else ():
            self._look_into(file)

    def find(self, mark: str, replications: Iterable[int]) -> list[Outcome]:
        """Those of the years asked for that lie in it."""
        found = (self._taken_out(mark, i) for i in replications)
        outcomes = [outcome for outcome in found if outcome is not None]
        self.taken += len(outcomes)
        return outcomes

    def keep(self, mark: str, years: Iterable[tuple[int, bytes]]) -> None:
        """Lay finished years aside, each with its number and packed; every few seconds they go into the drawer."""
        self._waiting += [(mark, number, year) for number, year in years]
        now = time.monotonic()
        if now - self._last_laid >= max(self._keep_seconds, KEEP_SHARE * (now - self._began)):
            self.lay_in()

    def lay_in(self) -> None:
        """Put what was laid aside into the drawer now."""
        if not self._waiting:
            return
        content = _file_of(self._waiting)
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_bytes(self.folder / f"{uuid.uuid4().hex}{ENDING}", content)
        except OSError:
            self._keep_seconds = float("inf")
        else:
            self.kept += len(self._waiting)
            self._bytes += len(content)
            if self._bytes > self._most_bytes:
                self._make_room()
        self._waiting = []
        self._last_laid = time.monotonic()

    def _taken_out(self, mark: str, number: int) -> Outcome | None:
        place = self._places.get((mark, number))
        if place is None:
            return None
        try:
            with place.file.open("rb") as file:
                file.seek(place.first)
                year = file.read(place.length)
            if sha256(year).hexdigest() != place.sha256:
                raise ValueError("damaged")
            outcome = unpacked(year)
        except ValueError:
            self._throw_away(place.file)
            return None
        except OSError:  # thrown away meanwhile, by another growsim that wanted room
            return None
        if place.file not in self._asked_for:
            self._asked_for.add(place.file)
            with suppress(OSError):
                os.utime(place.file)
        return outcome

    def _look_into(self, file: Path) -> None:
        try:
            with file.open("rb") as opened:
                self._bytes += (size := os.fstat(opened.fileno()).st_size)
                begin = opened.read(len(HEAD) + SIZE)
                table = opened.read(int.from_bytes(begin[len(HEAD) :], "big") if begin.startswith(HEAD) else 0)
        except OSError:
            return
        try:
            years = json.loads(table)
            first = len(begin) + len(table)
            for mark, number, length, checksum in years:
                self._places[mark, number] = _Place(file, first, length, checksum)
                first += length
        except (ValueError, TypeError):
            first = -1
        if first != size:
            self._throw_away(file)

    def _throw_away(self, file: Path) -> None:
        self._places = {key: place for key, place in self._places.items() if place.file != file}
        with suppress(OSError):
            file.unlink()

    def _make_room(self) -> None:
        """Down to less than there may be: what was not asked for the longest goes first, and what is half written."""
        found: list[tuple[float, int, Path]] = []
        for file in self.folder.iterdir():
            with suppress(OSError):  # another growsim makes room too
                stat = file.stat()
                if file.suffix == ENDING:
                    found.append((stat.st_mtime, stat.st_size, file))
                elif stat.st_mtime < time.time() - LEFT_SECONDS:
                    file.unlink()
        self._bytes = sum(size for _, size, _ in found)
        for _, size, file in sorted(found):
            if self._bytes <= ROOM_MADE * self._most_bytes:
                return
            self._throw_away(file)
            self._bytes -= size


def _file_of(years: list[tuple[str, int, bytes]]) -> bytes:
    """Head, length of the table, the table of what it holds, the years."""
    table = json.dumps([(mark, number, len(year), sha256(year).hexdigest()) for mark, number, year in years]).encode()
    return b"".join([HEAD, len(table).to_bytes(SIZE, "big"), table, *(year for _, _, year in years)])


@dataclass(frozen=True)
class Arranged:
    """executor: lent to every Rehearsers that is not lent another. drawer: where finished years are kept and found."""

    executor: Executor | None = None
    drawer: Drawer | None = None


_NOTHING = Arranged()
_NOW: ContextVar[Arranged] = ContextVar("growsim_arranged", default=_NOTHING)


def arranged_now() -> Arranged:
    """What holds here."""
    return _NOW.get()


@contextmanager
def arranged(executor: Executor | None = None, drawer: Drawer | None = None) -> Iterator[None]:
    """Arrange it for the block."""
    before = _NOW.set(Arranged(executor, drawer))
    try:
        yield
    finally:
        _NOW.reset(before)
