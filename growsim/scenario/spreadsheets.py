"""Tables that people keep, CSV files and XLSX workbooks, as rows by column name with their line numbers; and workbooks
written.

Text stays text: what begins with = + - @ is written as a text cell that no spreadsheet runs, and read back as it was.
The library for workbooks (openpyxl) is imported only when one is met.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import itertools
import re
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from growsim.errors import Fault, RoomFileError
from growsim.scenario import reading

Cell = str | int | float | bool | dt.datetime | dt.date | dt.time | None
FORMULA_STARTS = ("=", "+", "-", "@")
MOST_ROWS = 50_000  # a hundred times what a room writes down in a year
MOST_COLUMNS = 200
MOST_CELLS = 250_000
MOST_LETTERS = 32_767  # of a cell, as in common spreadsheets
WORKBOOK_ENDINGS = (".xlsx", ".xlsm")
_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_WINDOWS = {byte: bytes([byte]).decode("windows-1252", errors="replace") for byte in range(128, 160)} | {
    byte: chr(byte) for byte in (0x81, 0x8D, 0x8F, 0x90, 0x9D)
}
LARGEST_UNPACKED_BYTES = 50_000_000
_MOST_MARKS = 4 * MOST_CELLS  # "<" in a part of a workbook; a cell with its value has four
_MOST_LINES = 1_048_576  # of a sheet, in common spreadsheets
_MOST_IN_A_ROW = 4 * 16_384  # of them in one row, which is held whole: as many cells as common spreadsheets have
_ROW = re.compile(rb"<(?:\w{1,20}:)?row\b")
_FORMULA = re.compile(rb"<(?:\w{1,20}:)?f[\s/>]")
# Some spreadsheets write the separator into the first line, sep=; and ask for it there.
_SEPARATOR_TOLD = re.compile(r'"?sep=([^\w\s"]|\t)"?[ ,;\t]*(?:\r\n?|\n)', re.IGNORECASE)
_SHEET_NAMED = re.compile(rb"<(?:\w{1,20}:)?sheet\s")
_SHEETS = "xl/worksheets/"
_BOOK = "xl/workbook.xml"
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
    told = _SEPARATOR_TOLD.match(text)
    begin, before = (told.end(), 1) if told else (0, 0)
    separator = told[1] if told else _separator(io.StringIO(text))
    # strict: a quote that is never closed is an error, not a cell as long as the rest of the file.
    lines = csv.reader(io.StringIO(text[begin:], newline=""), delimiter=separator, strict=True)
    return table_of(str(path), path.stem, _csv_lines(path, lines, before), separator)


def _separator(lines: Iterable[str]) -> str:
    first = next((line for line in lines if line.strip() and not line.lstrip('" ').startswith("#")), "")
    return max(",;\t", key=first.count)


def _csv_lines(path: Path, lines: Any, before: int) -> Iterator[tuple[int, list[Cell]]]:
    """The lines with something in them, each with the number of the line it begins on. before: lines read already."""
    begin = before
    try:
        for cells in lines:
            if any(cells):
                yield begin + 1, [cell.strip() or None for cell in cells]
            begin = before + lines.line_num
    except csv.Error as error:
        problem = (
            "is longer than a cell may be" if "field larger" in str(error) else "cannot be read as a line of a table"
        )
        remedy = "look for a quote that is never closed, and save the file as plain CSV"
        raise RoomFileError([Fault(str(path), f"line {begin + 1}", problem, remedy)]) from None


def table_of(file: str, name: str, lines: Iterable[tuple[int, Sequence[Cell]]], separator: str = "") -> Sheet:
    """Heading and rows out of numbered lines. Raises RoomFileError where there is no heading, it is unsound, or there
    is more than a table of the room may hold.
    """
    filled: list[tuple[int, tuple[Cell, ...]]] = []
    remarks = held = 0
    for line, cells in lines:
        if all(cell is None for cell in cells):
            continue
        if _is_remark(cells):
            remarks += 1
            continue
        held += len(cells) + sum(len(cell) for cell in cells if isinstance(cell, str)) // 100
        long = max((len(cell) for cell in cells if isinstance(cell, str)), default=0)
        if long > MOST_LETTERS:
            raise RoomFileError([Fault(file, f"line {line}", f"has a cell of {long:,} letters", "shorten it")])
        if len(filled) > MOST_ROWS or held > MOST_CELLS:
            most = f"{MOST_ROWS:,} rows" if len(filled) > MOST_ROWS else f"{MOST_CELLS:,} cells"
            raise RoomFileError([Fault(file, "", f"has more than {most}", "keep the rows that are needed")])
        filled.append((line, tuple(cells)))
    if not filled:
        raise RoomFileError([Fault(file, "", "has no heading", "give the names of its columns in the first line")])
    heading_line, heading = filled[0]
    columns = _columns(file, heading_line, heading)
    rows = tuple(_row(line, columns, cells) for line, cells in filled[1:])
    return Sheet(file, name, tuple(columns), rows, heading_line, remarks, separator)


def _columns(file: str, line: int, heading: Sequence[Cell]) -> list[str]:
    """Names of the columns; empty ones at the end are no columns."""
    names = [str(cell) if cell is not None else "" for cell in heading]
    while names and not names[-1]:
        names.pop()
    if len(names) > MOST_COLUMNS:
        raise RoomFileError([Fault(file, f"line {line}", f"has {len(names)} columns", f"keep it to {MOST_COLUMNS}")])
    columns = ["_".join(_plain(name).lower().replace("-", " ").split()) for name in names]
    faults = [
        Fault(file, f"line {line}", f"the column '{reading.short(name)}' stands twice", "keep one of the two")
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
    """Every sheet with something in it, in the workbook's order; see `read_sheets`. Raises RoomFileError.

    What stands to the right of `MOST_COLUMNS` columns is not looked at.
    """
    content = reading.whole_file(path)
    has_formulas, named = _look_inside(path, content)
    sheets: list[Sheet] = []
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of drop-down lists and other things that are not kept: nothing of ours
            from openpyxl import load_workbook

            values, formulas = (
                load_workbook(io.BytesIO(content), read_only=True, data_only=data_only, keep_links=False)
                for data_only in (True, False)
            )
            if len(values.sheetnames) < named:
                raise _refused(path, "lacks a sheet that it names", "save it in your spreadsheet again")
            for name in values.sheetnames:
                if not hasattr(values[name], "iter_rows"):  # a chart on a sheet of its own
                    continue
                file = f"{path}, sheet {name}"
                if wanted is not None and not wanted(name):
                    sheets.append(Sheet(file, name, (), (), unread=True))
                    continue
                lines = _lines(values[name], formulas[name] if has_formulas else None)
                first = next(lines, None)
                if first is not None:
                    sheets.append(table_of(file, name, itertools.chain([first], lines)))
    except RoomFileError:
        raise
    except Exception:  # the library raises whatever a damaged part of the file makes it trip over
        raise _refused(path, "cannot be read as a workbook", "open it in your spreadsheet and save it again") from None
    if not sheets:
        raise _refused(path, "has nothing in it", "give a table with the names of its columns in the first line")
    return sheets


def _lines(values: Any, formulas: Any) -> Iterator[tuple[int, list[Cell]]]:
    """Lines with something in them, with their numbers. formulas: the same sheet with them, None where it has none."""
    bounds = {"max_row": _MOST_LINES, "max_col": MOST_COLUMNS + 1}
    for sheet in (values, formulas):
        if sheet is not None:
            sheet.reset_dimensions()  # they may be wrong
    of_formulas = itertools.repeat(()) if formulas is None else formulas.iter_rows(**bounds)
    rows = zip(values.iter_rows(**bounds, values_only=True), of_formulas, strict=False)
    gap: Any = None
    for number, (held, with_formulas) in enumerate(rows, start=1):
        if held is gap:  # the library gives one and the same row for all that are not in the file
            continue
        gap = held
        cells = [_cell(value) for value in held]
        for place, cell in enumerate(with_formulas):
            if cells[place] is None and cell.data_type == "f":
                cells[place] = f"formula {getattr(cell.value, 'text', cell.value)}"
        while cells and cells[-1] is None:
            cells.pop()
        if cells:
            yield number, cells


def _cell(held: Any) -> Cell:
    """What a cell holds; one that came to an error is told as the text it is."""
    if isinstance(held, str):
        return held.strip() or None
    if isinstance(held, dt.timedelta):
        return str(held)
    return held  # type: ignore[no-any-return]  # number, yes/no, date or time


def _look_inside(path: Path, content: bytes) -> tuple[bool, int]:
    """Whether the workbook has formulas, and how many sheets it names. Raises RoomFileError for what is none, is
    damaged, or is larger inside than it may be: a file of some kilobytes can unpack to gigabytes, and no part is
    parsed before it has been measured.
    """
    if not content:
        raise _refused(path, "is empty", "save it again from your spreadsheet")
    if content.startswith(_OLD_FORMAT):
        raise _refused(path, "is an old or a locked workbook", "save it as .xlsx without a password, or as CSV")
    has_formulas, named = False, 0
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            unpacked = sum(part.file_size for part in parts.infolist())
            if _BOOK not in parts.namelist():
                raise _refused(path, "is no .xlsx workbook, whatever its name says", "save it as .xlsx or as CSV")
            if unpacked > LARGEST_UNPACKED_BYTES:
                raise _refused(path, f"unpacks to {unpacked / 1e6:,.0f} MB", "keep only the tables of the record in it")
            for part in parts.infolist():
                inside = parts.read(part)
                if _is_too_much(part.filename, inside):
                    remedy = "keep only the tables of the record in it, without formats"
                    raise _refused(path, f"has too much in it ({part.filename})", remedy)
                if part.filename == _BOOK:
                    named = len(_SHEET_NAMED.findall(inside))
                has_formulas |= part.filename.startswith(_SHEETS) and _FORMULA.search(inside) is not None
    except zipfile.BadZipFile:
        raise _refused(path, "is no workbook, whatever its name says", "save it as .xlsx or as CSV") from None
    except (OSError, EOFError, NotImplementedError, RuntimeError, zlib.error):
        raise _refused(path, "is damaged, or locked", "open it in your spreadsheet and save it again") from None
    return has_formulas, named


def _is_too_much(name: str, inside: bytes) -> bool:
    """Whether a part of a workbook holds more than could be read in a few seconds."""
    if not name.endswith((".xml", ".rels")) or name.startswith(("xl/charts/", "xl/drawings/", "xl/pivot")):
        return False  # nobody reads it
    is_sheet = name.startswith(_SHEETS)
    if inside.count(b"<") > (_MOST_MARKS if is_sheet or name.startswith("xl/sharedStrings") else _MOST_MARKS // 10):
        return True
    return is_sheet and any(row.count(b"<") > _MOST_IN_A_ROW for row in _ROW.split(inside))


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
