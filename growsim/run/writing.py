"""Writing results: a file or a folder is there whole, or not at all.

Text that a spreadsheet would take for a formula is disarmed with an apostrophe (CSV injection; common practice, as in
OWASP's note of that name, from memory).
"""

from __future__ import annotations

import csv
import errno
import hashlib
import io
import itertools
import json
import os
import shutil
import tempfile
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from growsim.errors import OutputError
from growsim.scenario.reading import short

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
OUR_MARK = ".growsim.json"  # in a folder we wrote: of what it tells, and the files we wrote there
FILES = "files_sha256"  # its key for them: SHA-256 by name
_CANNOT_WRITE = {errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM, errno.ENAMETOOLONG, errno.ENOTDIR}

LEAST_FREE_MB = 30  # a report with its pictures and tables is a third of that at most
ANOTHER = "give another folder with --out"

Cell = str | int | float | None


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text to a temporary name beside `path`, then move it there."""
    write_bytes(path, text.encode())


def write_bytes(path: Path, content: bytes, *, sync: bool = False) -> None:
    """Write bytes to a temporary name beside `path`, then move them there; an interrupted write leaves nothing.

    sync: come back only when they are on the disk, name and all, so that not even a power outage takes them away.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            if sync:
                file.flush()
                os.fsync(file.fileno())
        temporary.chmod(_usual_mode(0o666))
        temporary.replace(path)
        if sync and os.name == "posix":  # elsewhere a folder cannot be opened for this
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def csv_safe(text: str) -> str:
    """The text, with an apostrophe before it where a spreadsheet would run it. Numbers are not text and pass by."""
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def csv_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table as CSV: commas, one header line, empty cells for None, no text that acts as a formula."""
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow([csv_safe(name) for name in header])
    writer.writerows([csv_safe(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    return page.getvalue()


def write_csv(path: Path, header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """A table as a CSV file, whole or not at all. See `csv_text`."""
    write_text(path, csv_text(header, rows))


def refuse_existing(
    out: Path, *, replace: bool = False, mark: str = OUR_MARK, what: str = "a report", of: str = ""
) -> list[str]:
    """Say so before the work starts. Raises OutputError where `output_folder` would, as far as that can be seen now.

    With `replace` only what we wrote gives way, as listed in the file `mark` there, so that a mistyped path costs
    nobody their files. Gives the names of the other files there, which are left alone. what: what such a folder is, in
    words. of: what is to be told there, which must be what is told there now.
    """
    with _said_plainly(out, ANOTHER):
        _try_to_write_beside(out)
        return [path.as_posix() for path in _not_ours(out, replace, mark, what, of)]


def _not_ours(out: Path, replace: bool, mark: str, what: str, of: str) -> list[Path]:
    """Files in `out`, by their path inside, that we did not write. Raises OutputError where it cannot be replaced."""
    if not out.exists() and not out.is_symlink():
        return []
    if not replace:
        raise OutputError(f"{out}: exists already; give another folder with --out, or say --replace.")
    if not out.is_dir() or out.is_symlink():
        raise OutputError(f"{out}: is not a folder; give another name with --out.")
    if not any(out.iterdir()):
        return []
    told = _told(out / mark)
    ours = told.get(FILES)
    if not isinstance(ours, dict):
        raise OutputError(f"{out}: holds files that are not {what} of ours; give another folder with --out.")
    if of and told.get("of", of) != of:
        raise OutputError(f"{out}: holds another report ({short(str(told['of']))}); give another folder with --out.")
    theirs = []
    for path in files_inside(out):
        name = path.as_posix()
        if name in ours and not (out / path).is_symlink() and _sha256(out / path) != ours[name]:
            remedy = "move it away, or give another folder with --out"
            raise OutputError(f"{out}: {name} was changed since it was written; {remedy}.")
        if name != mark and name not in ours:
            theirs.append(path)
    return theirs


def _told(mark: Path) -> dict[str, Any]:
    try:
        told = json.loads(mark.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return told if isinstance(told, dict) else {}


def files_inside(folder: Path) -> list[Path]:
    """Files and links below a folder, by their path inside it, in order. Links are not followed."""
    found = []
    for here, folders, files in os.walk(folder):
        links = [name for name in folders if (Path(here) / name).is_symlink()]
        found += [(Path(here) / name).relative_to(folder) for name in (*files, *links)]
    return sorted(found)


def _sha256(file: Path) -> str:
    return hashlib.sha256(file.read_bytes()).hexdigest()


def fingerprints(folder: Path) -> dict[str, str]:
    """SHA-256 of every file below a folder, by its path inside."""
    return {path.as_posix(): _sha256(folder / path) for path in files_inside(folder)}


def _try_to_write_beside(out: Path) -> None:
    """Make a folder where `out` is to lie, or as near to it as there is one, and take it away again: no permission bits
    tell for certain, on every system, whether that can be done. A drive that is not there yet may be there later."""
    nearest = next((above for above in out.absolute().parents if above.exists()), None)
    if nearest is not None:
        free_mb = shutil.disk_usage(nearest).free // 10**6
        if free_mb < LEAST_FREE_MB:
            raise OutputError(f"{out}: only {free_mb} MB are free there; make room for {LEAST_FREE_MB}, or {ANOTHER}.")
        Path(tempfile.mkdtemp(dir=nearest, prefix=f".{out.name[:40]}-")).rmdir()


@contextmanager
def output_folder(
    out: Path, *, replace: bool = False, remedy: str = ANOTHER, mark: str = OUR_MARK, of: str = ""
) -> Iterator[Path]:
    """A temporary folder beside `out` to build in; moved to `out` when the block ends well, removed when it does not.

    remedy: what helps where it cannot be written. mark: the list of what we wrote, written here unless the block has
    written it; "" for a folder that is the planner's from then on. of: see `refuse_existing`. What else is in a folder
    that is replaced stays there.
    Raises OutputError where `out` exists (unless `replace`) or cannot be written; where it was taken while the block
    was at work, the folder is kept beside it and the sentence says where.
    """
    _not_ours(out, replace, mark, "a report", of)
    with _said_plainly(out, remedy, also={errno.ENOENT}):  # a drive or a share that is not there
        out.parent.mkdir(parents=True, exist_ok=True)
        building = Path(tempfile.mkdtemp(dir=out.parent, prefix=f".{out.name}-"))
    try:
        with _said_plainly(out, remedy):
            yield building
            if mark and not (building / mark).exists():
                told = {"of": of, FILES: fingerprints(building)}
                write_text(building / mark, json.dumps(told, indent=2, ensure_ascii=False) + "\n")
            building.chmod(_usual_mode(0o777))
            try:
                theirs = _not_ours(out, replace, mark, "a report", of)
            except OutputError as taken:
                free = next(
                    place for n in itertools.count(2) if not (place := out.with_name(f"{out.name}-{n}")).exists()
                )
                building.rename(free)
                raise OutputError(f"{taken} What was to be written lies in {free}.") from None
            for path in theirs:
                _copy_beside(out / path, building / path)
            _move_into_place(building, out)
    except BaseException:
        shutil.rmtree(building, ignore_errors=True)
        raise


def _copy_beside(theirs: Path, place: Path) -> None:
    """A file of somebody's into the new folder; beside ours, where ours has its name."""
    while place.exists() or place.is_symlink():
        place = place.with_name(f"{place.stem}-yours{place.suffix}")
    place.parent.mkdir(parents=True, exist_ok=True)
    shutil.copy2(theirs, place, follow_symlinks=False)


def _move_into_place(building: Path, out: Path) -> None:
    if not out.exists():
        building.rename(out)
        return
    set_aside = Path(tempfile.mkdtemp(dir=out.parent, prefix=f".{out.name}-old-"))
    try:
        out.rename(set_aside / "old")
        try:
            building.rename(out)
        except BaseException:
            (set_aside / "old").rename(out)
            raise
    finally:
        shutil.rmtree(set_aside, ignore_errors=True)


@contextmanager
def _said_plainly(out: Path, remedy: str, also: Collection[int] = ()) -> Iterator[None]:
    """Turn the system's refusal to write into a sentence about the output folder. also: error numbers besides."""
    try:
        yield
    except OSError as refusal:
        if refusal.errno not in {*_CANNOT_WRITE, *also} and not isinstance(refusal, FileExistsError):
            raise
        why = (refusal.strerror or "refused by the system").lower()
        raise OutputError(f"{out}: cannot be written ({why}); {remedy}.") from refusal


def _usual_mode(wanted: int) -> int:
    """Temporary names are private to the user; what is left behind should be as readable as any new file."""
    mask = os.umask(0)
    os.umask(mask)
    return wanted & ~mask
