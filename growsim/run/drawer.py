"""A drawer of finished years beside the report, so that a study that is stopped, or killed, can go on where it was.

Years are laid in it some seconds' work at a time, each time as a file of its own that is there whole or not at all and
carries its checksum; nothing in the drawer is ever changed. A year is found again only under its mark (see
`fingerprint`) and number. Files hold plain values; reading them runs nothing.

What the caller has `arranged` for all rehearsals of a block, a drawer or hands elsewhere, changes no number, and every
study would only hand it on to Rehearsers untouched. So it is arranged around a study, not passed through it.
Arrangements are the thread's (or task's) own.
"""

from __future__ import annotations

import dataclasses
import io
import pickle
import time
import uuid
import zlib
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from growsim.ledger.outcome import Outage, Outcome
from growsim.run.writing import write_bytes

KEEP_SECONDS = 5.0  # work that may be lost at first; a study shorter than this leaves nothing behind
KEEP_SHARE = 0.02  # and later this share of all the work done, so that the longest study has few files
ENDING = ".years"
HEAD = b"growsim finished years 1\n"

_FIELDS = tuple(field.name for field in dataclasses.fields(Outcome))

Say = Callable[[str], None]
Plain = tuple[Any, ...]


class Drawer:
    """Finished years of one study in a folder. `resume`: look for years kept before; without it, only keep.

    taken: years found so far that need not be lived through again. say: told once, in a sentence, what the user should
    know: that years are damaged, or cannot be kept.
    """

    def __init__(
        self,
        folder: Path,
        *,
        resume: bool = False,
        say: Say = lambda sentence: None,
        keep_seconds: float | None = None,
    ) -> None:
        self.folder = folder
        self.taken = 0
        self.kept = 0
        self._say = say
        self._keep_seconds = KEEP_SECONDS if keep_seconds is None else keep_seconds
        self._began = self._last_laid = time.monotonic()
        self._waiting: list[tuple[str, Plain]] = []
        self._done_with: set[Path] = set()
        self._found: dict[tuple[str, int], tuple[Path, Plain]] = self._look() if resume else {}

    @property
    def is_of_use(self) -> bool:
        """Whether years kept before lie in it, of whatever study."""
        return bool(self._found)

    def find(self, mark: str, replications: Iterable[int]) -> list[Outcome]:
        """Those of the years asked for that were kept before."""
        outcomes = []
        for i in replications:
            if (mark, i) in self._found:
                file, plain = self._found[mark, i]
                self._done_with.add(file)
                outcomes.append(_outcome(plain))
        self.taken += len(outcomes)
        return outcomes

    def keep(self, mark: str, outcomes: Iterable[Outcome]) -> None:
        """Lay finished years aside; every few seconds they go into the drawer."""
        self._waiting += [(mark, _plain(outcome)) for outcome in outcomes]
        now = time.monotonic()
        if now - self._last_laid >= max(self._keep_seconds, KEEP_SHARE * (now - self._began)):
            self.lay_in()

    def lay_in(self) -> None:
        """Put what was laid aside into the drawer now. Where that cannot be, says so once and keeps nothing more."""
        if not self._waiting:
            return
        file = self.folder / f"{uuid.uuid4().hex}{ENDING}"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_bytes(file, _packed(self._waiting))
        except OSError as refusal:
            why = (refusal.strerror or "refused by the system").lower()
            self._say(f"{self.folder}: finished years cannot be kept there ({why}); if stopped, it starts again.")
            self._keep_seconds = float("inf")
            return
        self._done_with.add(file)
        self.kept += len(self._waiting)
        self._waiting = []
        self._last_laid = time.monotonic()

    def stopped(self) -> int:
        """The study ends before its time: keep what is worth it. Gives the years that need not be lived again."""
        if self.kept or self.taken or time.monotonic() - self._began >= self._keep_seconds:
            self.lay_in()
        return self.kept + self.taken

    def clear(self) -> None:
        """The study is done: take out all that was of use to it, and the drawer itself where it is empty then."""
        for file in self._done_with:
            file.unlink(missing_ok=True)
        if self.folder.is_dir() and not any(self.folder.iterdir()):
            self.folder.rmdir()

    def _look(self) -> dict[tuple[str, int], tuple[Path, Plain]]:
        found: dict[tuple[str, int], tuple[Path, Plain]] = {}
        damaged = 0
        for file in sorted(self.folder.glob(f"*{ENDING}")) if self.folder.is_dir() else ():
            years = _years_of(file)
            if years is None:
                damaged += 1
                self._done_with.add(file)
                continue
            for mark, plain in years:
                found[mark, plain[_FIELDS.index("replication")]] = (file, plain)
        for file in self.folder.glob(f".*{ENDING}-*"):  # half written when the computer stopped; never read
            self._done_with.add(file)
        if damaged:
            files = "a file of finished years is" if damaged == 1 else f"{damaged} files of finished years are"
            self._say(f"{self.folder}: {files} damaged and not used; those years are lived through again.")
        return found


def drawer_beside(out: Path) -> Path:
    """Where the years of a study lie whose report is to go to `out`."""
    return out.parent / f".{out.name}-unfinished"


def waiting_in(folder: Path) -> bool:
    """Whether finished years of a study that was stopped lie there."""
    return folder.is_dir() and any(file.suffix == ENDING for file in folder.iterdir())


def _plain(outcome: Outcome) -> Plain:
    outages = tuple(dataclasses.astuple(outage) for outage in outcome.outages)
    return tuple(outages if name == "outages" else getattr(outcome, name) for name in _FIELDS)


def _outcome(plain: Plain) -> Outcome:
    values = dict(zip(_FIELDS, plain, strict=True))
    return Outcome(**values | {"outages": tuple(Outage(*each) for each in values["outages"])})


def _packed(years: list[tuple[str, Plain]]) -> bytes:
    content = zlib.compress(pickle.dumps(years, protocol=5), 1)
    return HEAD + sha256(content).digest() + content


def _years_of(file: Path) -> list[tuple[str, Plain]] | None:
    try:
        return _unpacked(file.read_bytes())
    except OSError:
        return None


def _unpacked(file: bytes) -> list[tuple[str, Plain]] | None:
    """The years of a file; None where it is not, to the last bit, what was written."""
    begin = len(HEAD) + sha256().digest_size
    content = file[begin:]
    if not file.startswith(HEAD) or file[len(HEAD) : begin] != sha256(content).digest():
        return None
    try:
        years: list[tuple[str, Plain]] = _NothingButValues(io.BytesIO(zlib.decompress(content))).load()
    except (zlib.error, pickle.UnpicklingError):
        return None
    return years


class _NothingButValues(pickle.Unpickler):
    """Numbers, texts, tables: a file that names anything else, to have it run, is refused."""

    def find_class(self, module: str, name: str) -> Any:
        raise pickle.UnpicklingError(f"{module}.{name} has no place among years")


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
