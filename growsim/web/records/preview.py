"""A record as it lies, line by line, with the lines that `learn` would set aside and why, in its own words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from growsim.errors import RoomFileError
from growsim.scenario.record.record import Records, SetAside
from growsim.scenario.spreadsheets import Sheet, read_sheets

FIRST_LINES = 8  # shown of each table even if nothing is wrong with them
MOST_FAULTY = 200
MOST_CELLS = 30


@dataclass(frozen=True)
class Line:
    """A line of a table. number: as in the file. reason: why it is set aside, "" where it is used.

    gap: lines left out before it.
    """

    number: int
    cells: tuple[str, ...]
    reason: str = ""
    gap: int = 0


@dataclass(frozen=True)
class TablePreview:
    """A table of the record. more_faulty: faulty lines beyond those shown."""

    file: str
    table: str
    columns: tuple[str, ...]
    rows: int
    used: int
    aside: int
    lines: tuple[Line, ...]
    not_read: tuple[str, ...] = ()
    more_faulty: int = 0


def preview_of(records: Records, folder: Path) -> list[TablePreview]:
    """Every table read, with its first lines and every line that is set aside."""
    sheets = dict(_sheets(folder))
    found = []
    for table in records.tables:
        aside = [row for row in records.set_aside if row.file == table.file]
        sheet = sheets.get(table.file)
        shown = _lines(sheet, aside) if sheet is not None else []
        found.append(
            TablePreview(
                table.file, table.table, table.columns[:MOST_CELLS], table.rows, table.used, table.set_aside,
                tuple(shown), table.not_read, max(0, len(aside) - MOST_FAULTY),
            )
        )  # fmt: skip
    return found


def _sheets(folder: Path) -> Iterator[tuple[str, Sheet]]:
    """Tables of the folder by the name that `learn` gives them."""
    for file in sorted(folder.iterdir()):
        if not file.is_file() or file.name.startswith("."):
            continue
        try:
            for sheet in read_sheets(file):
                yield (file.name if sheet.name == file.stem else f"{file.name}, sheet {sheet.name}"), sheet
        except RoomFileError:
            continue  # it has been told as a file that is not read


def _lines(sheet: Sheet, aside: Sequence[SetAside]) -> list[Line]:
    reasons = {row.line: row.reason for row in aside[:MOST_FAULTY]}
    lines: list[Line] = []
    gap = 0
    for place, row in enumerate(sheet.rows):
        reason = reasons.get(row.line, "")
        if place < FIRST_LINES or reason:
            lines.append(Line(row.line, row.written[:MOST_CELLS], reason, gap))
            gap = 0
        else:
            gap += 1
    if gap:
        lines.append(Line(0, (), "", gap))
    return lines
