"""Tables to keep a record in: CSV files or one workbook, with a page that says what goes into which column."""

from __future__ import annotations

from pathlib import Path

from growsim.run.writing import csv_text, write_bytes, write_text
from growsim.scenario.record.tables import TABLES, RecordTable
from growsim.scenario.spreadsheets import Cell, workbook_bytes

HOW_TO = "how to keep a record.txt"
WORKBOOK = "records.xlsx"
_HOW_SHEET = "how to"
_NARROWEST, _WIDE = 11, 100


def write_templates(folder: Path, *, workbook: bool = False) -> list[Path]:
    """Empty tables with examples behind a #, and how to fill them in. Gives the files written, for reading first."""
    if workbook:
        path = folder / WORKBOOK
        write_bytes(path, workbook_of(()))
        return [path]
    written = [folder / HOW_TO]
    write_text(folder / HOW_TO, how_to(workbook=False))
    for table in TABLES:
        written.append(folder / f"{table.name}.csv")
        write_text(written[-1], csv_text(heading(table), remarks(table)))
    return written


def workbook_of(filled: tuple[tuple[str, list[list[Cell]]], ...]) -> bytes:
    """The workbook, with rows already filled in for some tables (by name)."""
    rows = dict(filled)
    sheets: dict[str, list[list[Cell]]] = {_HOW_SHEET: [[line] for line in how_to(workbook=True).splitlines()]}
    widths = {_HOW_SHEET: [_WIDE]}
    for table in TABLES:
        examples: list[list[Cell]] = [list(row) for row in remarks(table)]
        sheets[table.name] = [list(heading(table)), *rows.get(table.name, examples)]
        widths[table.name] = [max(_NARROWEST, len(column.name) + 3) for column in table.columns]
    return workbook_bytes(sheets, widths)


def heading(table: RecordTable) -> list[str]:
    """Names of the columns."""
    return [column.name for column in table.columns]


def remarks(table: RecordTable) -> list[list[str]]:
    """The examples, each behind a # so that it is never taken for a row."""
    return [[f"# example: {row[0]}", *row[1:]] for row in table.examples]


def how_to(*, workbook: bool) -> str:
    """What goes where, in plain words."""
    lines = [
        "How to keep a record for `growsim learn`",
        "",
        "Write down what happens, as it happens. Leave a cell empty where you do not know; never guess.",
        "Write dates as 2031-03-25. A line whose first cell begins with # is a remark and is passed by.",
        "The names of crops, shifts, reservoirs and lights are those of the room file.",
        "Every table helps, and none must be kept: leave out what is too much.",
        "Names of people are not needed and should not be written down.",
        "",
    ]
    for table in TABLES:
        where = f"sheet {table.name}" if workbook else f"{table.name}.csv"
        lines += [where, f"  {table.about}"]
        lines += [
            f"  {column.name}: {column.meaning}{' Always fill this in.' if column.needed else ''}"
            for column in table.columns
        ]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"
