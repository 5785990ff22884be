"""XLSX workbooks, read and written: `read_workbook` for `spec.sheets`, `workbook_bytes` for templates.

Text stays text: what begins with = + - @ is written as a text cell that no spreadsheet runs, and read back as it was.
The library for it (openpyxl) is imported only when a workbook is met.
"""

from __future__ import annotations

import datetime as dt
import io
import warnings
import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.errors import Fault, RoomFileError
from growsim.spec import reading
from growsim.spec.sheets import MOST_COLUMNS, MOST_ROWS, Cell, Sheet, table_of

if TYPE_CHECKING:
    from openpyxl.cell import Cell as BookCell

LARGEST_UNPACKED_BYTES = 200_000_000
_OLD_FORMAT = b"\xd0\xcf\x11\xe0"


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
        raise _refused(path, "cannot be read as a workbook", "open it in your spreadsheet and save it anew") from None
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
        raise _refused(path, "has nothing in it", "give a table with the names of its columns in the first line")
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
        raise _refused(path, "is empty", "save it anew from your spreadsheet")
    if content.startswith(_OLD_FORMAT):
        raise _refused(path, "is an old or a locked workbook", "save it as .xlsx without a password, or as CSV")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as parts:
            names = set(parts.namelist())
            unpacked = sum(part.file_size for part in parts.infolist())
    except zipfile.BadZipFile:
        raise _refused(path, "is no workbook, whatever its name says", "save it as .xlsx or as CSV") from None
    if "xl/workbook.xml" not in names:
        raise _refused(path, "is no .xlsx workbook, whatever its name says", "save it as .xlsx or as CSV")
    if unpacked > LARGEST_UNPACKED_BYTES:
        raise _refused(path, f"unpacks to {unpacked / 1e6:,.0f} MB", "keep only the tables of the record in it")


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


def _refused(path: Path, problem: str, remedy: str) -> RoomFileError:
    return RoomFileError([Fault(str(path), "", problem, remedy)])
