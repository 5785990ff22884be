"""Tables that people keep, CSV files and XLSX workbooks, as rows by column name with their line numbers; and workbooks
written.

Text stays text: what begins with = + - @ is written as a text cell that no spreadsheet runs, and read back as it was.
The library for workbooks (openpyxl) is imported only when one is met.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import warnings
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.errors import Fault, RoomFileError
from growsim.scenario import reading

if TYPE_CHECKING:
    from openpyxl.cell import Cell as BookCell

Cell = str | int | float | bool | dt.datetime | dt.date | dt.time | None
FORMULA_STARTS = ("=", "+", "-", "@")
MOST_ROWS = 200_000
MOST_COLUMNS = 200
WORKBOOK_ENDINGS = (".xlsx", ".xlsm")
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_WINDOWS = {byte: bytes([byte]).decode("windows-1252", errors="replace") for byte in range(128, 160)} | {
    byte: chr(byte) for byte in (0x81, 0x8D, 0x8F, 0x90, 0x9D)
}
LARGEST_UNPACKED_BYTES = 200_000_000
_OLD_FORMAT = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True)
class SheetRow:
    """One row below the heading. line: in the file, counted from 1. problem: why it cannot be read, or "".

    cells: by column name, trimmed, empty ones None. written: the row as the file shows it, for whoever must find it.
    """

    line: int
    cells: dict[str, Cell]
    written: tuple[str, ...]
    problem: str = ""


@dataclass(frozen=True)
class Sheet:
    """A table as read. file: path as given, with the sheet's name for a workbook. columns: in lower case, blanks as _.

    remarks: lines that begin with #. separator: of a CSV file, "" for a workbook. unread: a sheet nobody asked for.
    """

    file: str
    name: str
    columns: tuple[str, ...]
    rows: tuple[SheetRow, ...]
    heading_line: int = 1
    remarks: int = 0
    separator: str = ""
    unread: bool = False


def is_workbook(path: Path) -> bool:
    """Whether the file's ending says that it is a workbook."""
    return path.suffix.lower() in WORKBOOK_ENDINGS


def read_sheets(path: Path, wanted: Callable[[str], bool] | None = None) -> list[Sheet]:
    """Every table of a file: one of a CSV file, one for each sheet of a workbook that has something in it.

    wanted: which sheets of a workbook are looked into (all); the others come back unread, by name.
    Raises RoomFileError where the file cannot be read.
    """
    if is_workbook(path):
        return read_workbook(path, wanted)
    return [read_csv(path)]


def read_sheet(path: Path) -> Sheet:
    """The one table of a file: a CSV file, or the first sheet of a workbook. Raises RoomFileError."""
    return read_sheets(path)[0]


def read_csv(path: Path) -> Sheet:
    """The table of a CSV file. Raises RoomFileError where it cannot be read or has no heading."""
    text = decoded(path, reading.whole_file(path))
    first = next((line for line in text.splitlines() if line.strip() and not line.lstrip('" ').startswith("#")), "")
    separator = max(",;\t", key=first.count)
    # strict: a quote that is never closed is an error, not a cell as long as the rest of the file.
    lines = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    found: list[tuple[int, list[Cell]]] = []
    before = 0
    try:
        for cells in lines:
            found.append((before + 1, [cell.strip() or None for cell in cells]))
            before = lines.line_num
    except csv.Error as error:
        problem = (
            "is longer than a cell may be" if "field larger" in str(error) else "cannot be read as a line of a table"
        )
        remedy = "look for a quote that is never closed, and save the file as plain CSV"
        raise RoomFileError([Fault(str(path), f"line {before + 1}", problem, remedy)]) from None
    return table_of(str(path), path.stem, found, separator)


def table_of(file: str, name: str, lines: Sequence[tuple[int, Sequence[Cell]]], separator: str = "") -> Sheet:
    """Heading and rows out of numbered lines. Raises RoomFileError where there is no heading or it is unsound."""
    filled = [(line, tuple(cells)) for line, cells in lines if any(cell is not None for cell in cells)]
    remarks = [line for line, cells in filled if _is_remark(cells)]
    filled = [(line, cells) for line, cells in filled if not _is_remark(cells)]
    if not filled:
        raise RoomFileError([Fault(file, "", "has no heading", "give the names of its columns in the first line")])
    heading_line, heading = filled[0]
    columns = _columns(file, heading_line, heading)
    if len(filled) - 1 > MOST_ROWS:
        raise RoomFileError([Fault(file, "", f"has {len(filled) - 1:,} rows", f"keep it to {MOST_ROWS:,}")])
    rows = tuple(_row(line, columns, cells) for line, cells in filled[1:])
    return Sheet(file, name, tuple(columns), rows, heading_line, len(remarks), separator)


def _columns(file: str, line: int, heading: Sequence[Cell]) -> list[str]:
    """Names of the columns; empty ones at the end are no columns."""
    names = [str(cell) if cell is not None else "" for cell in heading]
    while names and not names[-1]:
        names.pop()
    if len(names) > MOST_COLUMNS:
        raise RoomFileError([Fault(file, f"line {line}", f"has {len(names)} columns", f"keep it to {MOST_COLUMNS}")])
    columns = ["_".join(_plain(name).lower().replace("-", " ").split()) for name in names]
    faults = [
        Fault(file, f"line {line}", f"the column '{name}' stands twice", "keep one of the two")
        for name in dict.fromkeys(columns)
        if name and columns.count(name) > 1
    ]
    if faults:
        raise RoomFileError(faults)
    return columns


def _row(line: int, columns: Sequence[str], cells: Sequence[Cell]) -> SheetRow:
    beyond = [cell for cell in cells[len(columns) :] if cell is not None]
    unnamed = [cell for name, cell in zip(columns, cells, strict=False) if not name and cell is not None]
    written = tuple("" if cell is None else shown(cell) for cell in cells)
    problem = ""
    if beyond:
        problem = f"has {len(columns) + len(beyond)} cells for {len(columns)} columns"
    elif unnamed:
        problem = "has a cell in a column without a name"
    padded = [*cells[: len(columns)], *[None] * (len(columns) - len(cells))]
    by_name = {
        name: _plain(cell) if isinstance(cell, str) else cell
        for name, cell in zip(columns, padded, strict=True)
        if name
    }
    return SheetRow(line, by_name, written, problem)


def _is_remark(cells: Sequence[Cell]) -> bool:
    first = next((cell for cell in cells if cell is not None), None)
    return isinstance(first, str) and first.startswith("#")


def _plain(text: str) -> str:
    """A text without the apostrophe that keeps a spreadsheet from running it."""
    return text[1:].strip() if text.startswith("'") and text[1:].startswith(FORMULA_STARTS) else text


def shown(cell: Cell) -> str:
    """A cell as a person would read it."""
    if isinstance(cell, dt.datetime):
        return cell.strftime("%Y-%m-%d" if cell.time() == dt.time() else "%Y-%m-%d %H:%M")
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    return str(cell)


def decoded(path: Path, content: bytes) -> str:
    """The text of a CSV file, whatever a spreadsheet has saved it as. Raises RoomFileError for what is no text."""
    if not content.strip():
        raise _refused(path, "is empty", "give a table with the names of its columns in the first line")
    if content.startswith(b"PK\x03\x04"):
        raise _refused(path, "is a workbook or an archive, whatever its name says", "save it as .xlsx or as CSV")
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            try:
                return content.decode(encoding)
            except UnicodeDecodeError:
                raise _refused(path, "is damaged: its text breaks off", "save it again as CSV in UTF-8") from None
    if b"\0" in content:
        raise _refused(path, "is not a text file", "save it as CSV, or as a workbook with a name ending in .xlsx")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        # What spreadsheets on Windows write. Its five unassigned bytes are kept as they are, so that none is lost.
        return "".join(_WINDOWS.get(byte, chr(byte)) for byte in content)


def _refused(path: Path, problem: str, remedy: str) -> RoomFileError:
    return RoomFileError([Fault(str(path), "", problem, remedy)])


def read_workbook(path: Path, wanted: Callable[[str], bool] | None = None) -> list[Sheet]:
    """Every sheet with something in it, in the workbook's order; see `sheets.read_sheets`. Raises RoomFileError."""
    content = reading.whole_file(path)
    _refuse_what_is_no_workbook(path, content)
    from openpyxl import load_workbook

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of drop-down lists and other things that are not kept: nothing of ours
            values = load_workbook(io.BytesIO(content), data_only=True)
            formulas = load_workbook(io.BytesIO(content), data_only=False)
    except Exception:  # the library raises whatever a damaged part of the file makes it trip over
        raise _no_workbook(
            path, "cannot be read as a workbook", "open it in your spreadsheet and save it again"
        ) from None
    sheets: list[Sheet] = []
    for name in values.sheetnames:
        if not hasattr(values[name], "iter_rows"):  # a chart on a sheet of its own
            continue
        file = f"{path}, sheet {name}"
        if wanted is not None and not wanted(name):
            sheets.append(Sheet(file, name, (), (), unread=True))
            continue
        lines = _lines(values[name], formulas[name])
        if any(cell is not None for _, cells in lines for cell in cells):
            sheets.append(table_of(file, name, lines))
    if not sheets:
        raise _no_workbook(path, "has nothing in it", "give a table with the names of its columns in the first line")
    return sheets


def _lines(values: Any, formulas: Any) -> list[tuple[int, list[Cell]]]:
    lines: list[tuple[int, list[Cell]]] = []
    rows = zip(
        values.iter_rows(max_row=min(values.max_row, MOST_ROWS + 2), max_col=min(values.max_column, MOST_COLUMNS + 1)),
        formulas.iter_rows(),
        strict=False,
    )
    for number, (of_values, of_formulas) in enumerate(rows, start=1):
        lines.append((number, [_cell(one, two) for one, two in zip(of_values, of_formulas, strict=False)]))
    return lines


def _cell(value: BookCell, formula: BookCell) -> Cell:
    """What a cell holds. A formula never worked out, or one that came to an error, is told as the text it is."""
    held = value.value
    if held is None and formula.data_type == "f":
        return f"formula {formula.value}"
    if isinstance(held, str):
        return held.strip() or None
    if isinstance(held, dt.timedelta):
        return str(held)
    return held  # type: ignore[return-value]  # number, yes/no, date or time


def _refuse_what_is_no_workbook(path: Path, content: bytes) -> None:
    if not content:
        raise _no_workbook(path, "is empty", "save it again from your spreadsheet")
    if content.startswith(_OLD_FORMAT):
        raise _no_workbook(path, "is an old or a locked workbook", "save it as .xlsx without a password, or as CSV")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            names = set(parts.namelist())
            unpacked = sum(part.file_size for part in parts.infolist())
    except zipfile.BadZipFile:
        raise _no_workbook(path, "is no workbook, whatever its name says", "save it as .xlsx or as CSV") from None
    if "xl/workbook.xml" not in names:
        raise _no_workbook(path, "is no .xlsx workbook, whatever its name says", "save it as .xlsx or as CSV")
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise _no_workbook(path, f"unpacks to {unpacked / 1e6:,.0f} MB", "keep only the tables of the record in it")


def workbook_bytes(
    sheets: Mapping[str, Iterable[Sequence[Cell]]], widths: Mapping[str, Sequence[int]] | None = None
) -> bytes:
    """An XLSX workbook: a sheet for each name, its rows from the first line on, heading frozen. Texts stay texts."""
    from openpyxl import Workbook
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    book.properties.creator = "growsim"
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for line, row in enumerate(rows, start=1):
            for place, value in enumerate(row, start=1):
                if value is None or value == "":
                    continue
                cell = sheet.cell(line, place, None)
                if isinstance(value, str):
                    cell.value = value
                    cell.data_type = "s"  # else a text that begins with = would be a formula
                    cell.quotePrefix = value.startswith(("=", "+", "-", "@"))
                else:
                    cell.value = value
                if line == 1:
                    cell.font = Font(bold=True)
        sheet.freeze_panes = "A2"
        for place, width in enumerate((widths or {}).get(name, ()), start=1):
            sheet.column_dimensions[get_column_letter(place)].width = width
    page = io.BytesIO()
    book.save(page)
    return page.getvalue()


def _no_workbook(path: Path, problem: str, remedy: str) -> RoomFileError:
    return RoomFileError([Fault(str(path), "", problem, remedy)])
