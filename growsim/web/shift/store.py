"""Entries of a shift on the disk: one at a time, each a row of a table of the record, there for good before it is told.

An entry is known by what it is about, so that what is sent twice, from two windows or after a crash, is there once. One
that says something else now is a correction: a new row that names the one whose place it takes, which stays.
"""

from __future__ import annotations

import csv
import io
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from growsim.errors import InputError
from growsim.run.writing import csv_text, write_bytes
from growsim.scenario.record.tables import BY_NAME, ENTRY, REPLACES, TABLES

ENDING = "-from-the-page"
_LOCK = threading.Lock()
_LOCK_FILE = ".writing"
_AGAIN = " #"


@dataclass(frozen=True)
class Entry:
    """What somebody writes down. about: what it is about, the same for every correction. cells: by column; none at all
    takes back what was written."""

    table: str
    about: str
    cells: Mapping[str, str]


@dataclass(frozen=True)
class Written:
    """An entry as it stands. entry: its name in the table, which says which correction it is."""

    entry: str
    cells: Mapping[str, str]


class ElsewhereError(InputError):
    """Another window wrote something else meanwhile."""


def written(folder: Path) -> dict[tuple[str, str], Written]:
    """(table, about) -> what stands in the tables that this page writes; what was taken back is there without cells."""
    found: dict[tuple[str, str], Written] = {}
    for table in TABLES:
        for path in _files(folder, table.name):
            for row in csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))):
                about = row[ENTRY].partition(_AGAIN)[0]
                cells = {name: text for name, text in row.items() if text and name not in (ENTRY, REPLACES)}
                found[table.name, about] = Written(row[ENTRY], cells)
    return found


def keep(folder: Path, entry: Entry, seen: str) -> bool:
    """Put an entry on the disk; whether anything had to be written. seen: the name of what stood there when the form
    was shown, "" for nothing.

    Raises ElsewhereError where something else stands there now, InputError where it cannot be written.
    """
    with _alone(folder):
        return _keep(folder, entry, seen)


def _keep(folder: Path, entry: Entry, seen: str) -> bool:
    columns = BY_NAME[entry.table].known
    row = {**entry.cells, ENTRY: entry.about, REPLACES: ""}
    safe = next(csv.DictReader(io.StringIO(_line(columns, row, heading=True))))
    cells = {name: text for name, text in safe.items() if text and name not in (ENTRY, REPLACES)}
    now = written(folder).get((entry.table, entry.about))
    if not cells and not seen:  # nothing is said here of what this window never saw
        return False
    if cells == (now.cells if now is not None else {}):
        return False
    if now is not None and now.entry != seen:
        raise ElsewhereError("Another window wrote this in the same moment; send it again to see both.")
    if now is not None:
        number = int(now.entry.partition(_AGAIN)[2] or 1) + 1
        row |= {ENTRY: f"{entry.about}{_AGAIN}{number}", REPLACES: now.entry}
    path = _file_to_write(folder, entry.table)
    before = _with_all_columns(path, columns) if path.exists() else _heading(entry.table)
    write_bytes(path, before + _line(columns, row).encode(), sync=True)
    return True


def _line(columns: tuple[str, ...], row: Mapping[str, str], *, heading: bool = False) -> str:
    text = csv_text(columns, [[row.get(name, "") for name in columns]])
    return text if heading else text.partition("\n")[2]


def _heading(table: str) -> bytes:
    return csv_text(BY_NAME[table].known, ()).encode()


def _with_all_columns(path: Path, columns: tuple[str, ...]) -> bytes:
    """The table as it stands; one of an earlier growsim, with fewer columns, with those it lacks left empty."""
    now = path.read_bytes()
    if now.startswith(csv_text(columns, ()).encode()):
        return now
    text = now.decode("utf-8")
    return csv_text(
        columns, [[row.get(name, "") for name in columns] for row in csv.DictReader(io.StringIO(text))]
    ).encode()


def _files(folder: Path, table: str) -> list[Path]:
    """Tables of this page as it, or an earlier growsim, writes them. One that was saved anew by another program is read
    as anybody's table, and the page begins a new one."""
    paths = sorted(folder.glob(f"{table}{ENDING}*.csv"), key=lambda path: (len(path.name), path.name))
    return [path for path in paths if not path.is_symlink() and _is_ours(path, BY_NAME[table].known)]


def _is_ours(path: Path, columns: tuple[str, ...]) -> bool:
    heading, ended, _ = path.read_bytes().partition(b"\n")
    has = heading.decode("utf-8", "replace").split(",")
    return bool(ended) and {ENTRY, REPLACES} <= set(has) <= set(columns)


def _file_to_write(folder: Path, table: str) -> Path:
    ours = _files(folder, table)
    if ours and ours[-1].read_bytes().endswith(b"\n"):
        return ours[-1]
    names = (f"{table}{ENDING}{f'-{number}' if number > 1 else ''}.csv" for number in range(1, 1000))
    return next(folder / name for name in names if not (folder / name).exists() and not (folder / name).is_symlink())


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Nobody else writes meanwhile, in this process or (where the system has such locks) in another."""
    with _LOCK:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with (folder / _LOCK_FILE).open("ab") as file:
                try:
                    import fcntl

                    fcntl.flock(file, fcntl.LOCK_EX)
                except ImportError:
                    pass
                for left in folder.glob(f".*{ENDING}*.csv-*"):  # half a table of a page that was killed
                    left.unlink()
                yield
        except OSError as refusal:
            why = (refusal.strerror or "refused by the system").lower()
            raise InputError(f"The record cannot be written ({why}); what is not told as written is not.") from None
