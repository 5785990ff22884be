"""Writing results: a file or a folder is there whole, or not at all.

Text that a spreadsheet would take for a formula is disarmed with an apostrophe (CSV injection; common practice, as in
OWASP's note of that name, from memory).
"""

from __future__ import annotations

import csv
import errno
import io
import os
import shutil
import tempfile
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from growsim.errors import OutputError

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
OUR_MARK = "summary.json"  # a folder with this in it was written by us, and may be replaced when asked
_CANNOT_WRITE = {errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM, errno.ENAMETOOLONG, errno.ENOTDIR}

ANOTHER = "give another folder with --out"

Cell = str | int | float | None


def write_text(path: Path, text: str) -> None:
    """Write UTF-8 text to a temporary name beside `path`, then move it there."""
    write_bytes(path, text.encode())


def write_bytes(path: Path, content: bytes) -> None:
    """Write bytes to a temporary name beside `path`, then move them there; an interrupted write leaves nothing."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        temporary.chmod(_usual_mode(0o666))
        temporary.replace(path)
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


def refuse_existing(out: Path, *, replace: bool = False, mark: str = OUR_MARK, what: str = "a report") -> None:
    """Say so before the work starts. Raises OutputError where `output_folder` would, as far as that can be seen now.

    With `replace` only a folder of ours (it holds the file `mark`) or an empty one gives way, so that a mistyped path
    costs nobody their files. what: what such a folder is, in words.
    """
    with _said_plainly(out, ANOTHER):
        _try_to_write_beside(out)
    _refuse_in_the_way(out, replace, mark, what)


def _refuse_in_the_way(out: Path, replace: bool, mark: str, what: str = "a report") -> None:
    if not out.exists() and not out.is_symlink():
        return
    if not replace:
        raise OutputError(f"{out}: exists already; give another folder with --out, or say --replace.")
    if not out.is_dir() or out.is_symlink():
        raise OutputError(f"{out}: is not a folder; give another name with --out.")
    if not (out / mark).is_file() and any(out.iterdir()):
        raise OutputError(f"{out}: holds files that are not {what} of ours; give another folder with --out.")


def _try_to_write_beside(out: Path) -> None:
    """Make a folder where `out` is to lie, or as near to it as there is one, and take it away again: no permission bits
    tell for certain, on every system, whether that can be done. A drive that is not there yet may be there later."""
    nearest = next((above for above in out.absolute().parents if above.exists()), None)
    if nearest is not None:
        Path(tempfile.mkdtemp(dir=nearest, prefix=f".{out.name[:40]}-")).rmdir()


@contextmanager
def output_folder(out: Path, *, replace: bool = False, remedy: str = ANOTHER, mark: str = OUR_MARK) -> Iterator[Path]:
    """A temporary folder beside `out` to build in; moved to `out` when the block ends well, removed when it does not.

    remedy: what helps where it cannot be written. mark: the file by which a folder of ours is known.
    Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    _refuse_in_the_way(out, replace, mark)
    with _said_plainly(out, remedy, also={errno.ENOENT}):  # a drive or a share that is not there
        out.parent.mkdir(parents=True, exist_ok=True)
        building = Path(tempfile.mkdtemp(dir=out.parent, prefix=f".{out.name}-"))
    try:
        with _said_plainly(out, remedy):
            yield building
            building.chmod(_usual_mode(0o777))
            _refuse_in_the_way(out, replace, mark)
            _move_into_place(building, out)
    except BaseException:
        shutil.rmtree(building, ignore_errors=True)
        raise


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
