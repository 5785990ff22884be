"""Reading RECORDS: a folder of CSV files and workbooks, or one of them. A row is used, or set aside with its reason.

What makes a whole table unsure (an unknown column that was surely meant for a known one, a date that could be two
dates) is refused; what is wrong with one row sets that row aside. So does a date far from all others: most often a
wrong year, which would stretch the time watched.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from growsim.errors import Fault, RoomFileError
from growsim.scenario import reading
from growsim.scenario.machines import machines_of
from growsim.scenario.record.cells import DateOrder, DateRead, UnreadableError, order_in, read_date
from growsim.scenario.record.joined import joined, set_right
from growsim.scenario.record.record import (
    AttendanceRow,
    DeliveryRow,
    FaultRow,
    PlantingRow,
    ReadingRow,
    Records,
    Row,
    SetAside,
    TableRead,
    WorkRow,
)
from growsim.scenario.record.rows import RowReader
from growsim.scenario.record.tables import BY_NAME, TABLES, RecordTable
from growsim.scenario.scenario import Scenario
from growsim.scenario.spreadsheets import WORKBOOK_ENDINGS, Sheet, SheetRow, read_sheets
from growsim.scenario.wording import nearest
from growsim.vocabulary.old_words import OLD_WORDS, is_now

FAR = dt.timedelta(days=180)  # nobody leaves a room in use unrecorded for so long and then writes down two rows
FEW_FRACTION = 0.01  # of the rows, and one in any case, may be strays
ENOUGH_ROWS = 20  # fewer rows do not tell which of them is astray
ENDINGS = (".csv", ".txt", ".tsv", *WORKBOOK_ENDINGS)
OUTSIDE = "is from"
_SHOWN_LINES = 6
_HOW = "; `growsim new --records DIR` writes tables to fill in"


def read_records(
    path: Path,
    scenario: Scenario,
    *,
    order: DateOrder | None = None,
    since: dt.date | None = None,
    until: dt.date | None = None,
) -> Records:
    """The record. order: of day and month in dates such as 3/4/2031; None: as other rows of its table prove, else as in
    the room's region. since, until: rows outside are set aside.

    Raises RoomFileError where a file or a table cannot be used, every fault at once.
    """
    found, not_read, fingerprint = _tables_in(path)
    faults = [fault for sheet, table in found for fault in _heading_faults(sheet, table)]
    here = order_in(scenario.room.region, scenario.room.units)
    orders = {sheet.name: order or _proven_order(sheet, table) or here for sheet, table in found}
    faults += [
        fault for sheet, table in found if order is None for fault in _date_faults(sheet, table, orders[sheet.name])
    ]
    if faults:
        raise RoomFileError(faults)
    used: list[Row] = []
    aside: list[SetAside] = []
    tables: list[TableRead] = []
    for sheet, table in found:
        rows, left = _read_rows(sheet, table, RowReader(table, scenario, orders[sheet.name]), used, since, until)
        used += rows
        aside += left
        tables.append(
            TableRead(
                sheet.name, table.name, len(sheet.rows), len(rows), len(left), sheet.columns,
                tuple(name for name in sheet.columns if name and name not in table.known),
            )
        )  # fmt: skip
    bits = tuple(row for row in used if isinstance(row, PlantingRow))
    used, tables = _without_strays(found, used, aside, tables, scenario)
    _refuse_useless(path, tables, aside, used)
    return Records(
        plantings=tuple(row for row in used if isinstance(row, PlantingRow)),
        attendance=tuple(row for row in used if isinstance(row, AttendanceRow)),
        work=tuple(row for row in used if isinstance(row, WorkRow)),
        faults=tuple(row for row in used if isinstance(row, FaultRow)),
        deliveries=tuple(row for row in used if isinstance(row, DeliveryRow)),
        readings=tuple(row for row in used if isinstance(row, ReadingRow)),
        set_aside=tuple(aside),
        tables=tuple(tables),
        not_read=tuple(not_read),
        sha256=fingerprint,
        bits=bits,
    )


def _without_strays(
    found: Sequence[tuple[Sheet, RecordTable]],
    used: list[Row],
    aside: list[SetAside],
    tables: list[TableRead],
    scenario: Scenario,
) -> tuple[list[Row], list[TableRead]]:
    """The rows and tables put together (`joined`), without rows of a wrong year and failures of what was down, which
    are added to those set aside.
    """
    used, twice = joined(used, scenario)
    written = {(sheet.name, row.line): row.written for sheet, _ in found for row in sheet.rows}
    reasons = {
        (row.file, row.line): reason for row, reason in [*twice, *overlapping_faults(used, scenario), *stray_rows(used)]
    }
    aside += [SetAside(*place, reason, written[place]) for place, reason in reasons.items()]
    astray = Counter(file for file, _ in reasons)
    return (
        [row for row in used if (row.file, row.line) not in reasons],
        [
            replace(table, used=table.used - astray[table.file], set_aside=table.set_aside + astray[table.file])
            for table in tables
        ],
    )


def _tables_in(path: Path) -> tuple[list[tuple[Sheet, RecordTable]], list[str], str]:
    """Tables of the record below `path`, names of what is none, and a fingerprint of all bytes read."""
    found: list[tuple[Sheet, RecordTable]] = []
    not_read: list[str] = []
    summed = hashlib.sha256()
    for file in _files(path):
        if file.suffix.lower() not in ENDINGS:
            not_read.append(file.name)
            continue
        known = 0
        for sheet in _sheets(file, alone=file == path):
            table = None if sheet.unread else _table_of(sheet)
            label = file.name if sheet.name == file.stem else f"{file.name}, sheet {sheet.name}"
            if table is None:
                not_read.append(label)
            else:
                known += 1
                found.append((replace(sheet, name=label), table))
        if known:
            summed.update(file.name.encode() + b"\0" + reading.whole_file(file))
    if not found:
        here = f"; there is {', '.join(not_read[:5])}" if not_read else ""
        remedy = f"name files {', '.join(BY_NAME)}{_HOW}"
        raise RoomFileError([Fault(str(path), "", f"has no table of a record in it{here}", remedy)])
    return found, not_read, summed.hexdigest()


def _files(path: Path) -> list[Path]:
    if not path.is_dir():
        reading.whole_file(path, or_else=_HOW)  # refuses in a sentence what cannot be read
        return [path]
    return sorted(file for file in path.iterdir() if file.is_file() and not file.name.startswith((".", "~$")))


def _sheets(file: Path, *, alone: bool) -> Iterable[Sheet]:
    """Tables of a file. One of a folder's files that is named like no table and cannot be read is none of ours."""
    try:
        return read_sheets(file, lambda name: bool(_named(name) or _old_name(name)) or file.stem == name)
    except RoomFileError:
        if alone or file.suffix.lower() in WORKBOOK_ENDINGS or _named(file.stem) is not None:
            raise
        return [Sheet(str(file), file.stem, (), (), unread=True)]


def _named(name: str) -> RecordTable | None:
    """The table a name begins with: plantings, Plantings 2031, attendance-spring."""
    plain = name.lower().strip()
    return next((table for table in TABLES if plain.startswith((table.name, table.name.removesuffix("s")))), None)


def _old_name(name: str) -> str | None:
    """What a table was called before, where the name begins with that."""
    plain = name.lower().strip()
    return next((old for old in OLD_WORDS["record"] if plain.startswith((old, old.removesuffix("s")))), None)


def _table_of(sheet: Sheet) -> RecordTable | None:
    """By its name, or else by its columns."""
    by_columns = [table for table in TABLES if set(table.needed) <= set(sheet.columns)]
    return _named(sheet.name) or (by_columns[0] if len(by_columns) == 1 else None)


def _heading_faults(sheet: Sheet, table: RecordTable) -> list[Fault]:
    known = list(table.known)
    where = f"line {sheet.heading_line}"
    missing = [column.name for column in table.columns if column.name not in sheet.columns]
    unknown = [name for name in sheet.columns if name and name not in known]
    renamed = {name: new for name in unknown if (new := is_now(table.name, name))}
    meant = {name: nearest(name, missing) for name in unknown if name not in renamed}
    faults = [
        Fault(sheet.file, "", f"the table {old} is now called {table.name}", "rename it")
        for old in [_old_name(Path(sheet.name).name.rpartition("sheet ")[2])]
        if old is not None and is_now("record", old) == table.name
    ]
    faults += [
        Fault(sheet.file, where, f"'{name}' is now called '{new}'", "rename it") for name, new in renamed.items()
    ]
    faults += [
        Fault(sheet.file, where, f"'{name}' is no column of the table {table.name}", f"did you mean '{right}'")
        for name, right in meant.items()
        if right is not None
    ]
    faults += [
        Fault(
            sheet.file,
            where,
            f"the column '{name}' is missing",
            f"the columns are {', '.join(column.name for column in table.columns)}",
        )
        for name in table.needed
        if name in missing and name not in meant.values()
    ]
    return faults


def _proven_order(sheet: Sheet, table: RecordTable) -> DateOrder | None:
    """The order of day and month that some row of a table can alone have; None where none proves it, or both."""
    only = {read.only for _, _, read in _dates(sheet, table)} - {""}
    return "day-first" if only == {"day-first"} else "month-first" if only == {"month-first"} else None


def _date_faults(sheet: Sheet, table: RecordTable, order: DateOrder | None) -> Iterator[Fault]:
    """Dates that could be two dates, and a table that has them both ways. order: of those; None where not known."""
    in_doubt: list[tuple[int, str, DateRead]] = []
    only: dict[str, tuple[int, str]] = {}
    for row, cell, read in _dates(sheet, table):
        if read.is_ambiguous:
            in_doubt.append((row.line, cell, read))
        elif read.only:
            only.setdefault(read.only, (row.line, cell))
    if len(only) == 2:
        (one, first), (other, second) = only["day-first"], only["month-first"]
        problem = f"has the day first in line {one} ('{first}') and the month first in line {other} ('{second}')"
        yield Fault(sheet.file, "", problem, "write dates as 2031-04-03")
    elif in_doubt and order is None:
        _, cell, read = in_doubt[0]
        day_first, month_first = read.readings["day-first"], read.readings["month-first"]
        two = f"{day_first.day} {day_first:%B} or {month_first.day} {month_first:%B}"
        problem = f"'{cell}' could be {two} {day_first.year}"
        remedy = "write dates as 2031-04-03, or say --dates day-first or --dates month-first"
        yield Fault(sheet.file, _lines([line for line, _, _ in in_doubt]), problem, remedy)


def _dates(sheet: Sheet, table: RecordTable) -> Iterable[tuple[SheetRow, str, DateRead]]:
    names = [column.name for column in table.columns if column.kind in ("date", "moment")]
    for row in sheet.rows:
        for name in names:
            cell = row.cells.get(name)
            if cell is None or row.problem:
                continue
            try:
                yield row, str(cell), read_date(cell)
            except UnreadableError:  # told when the row is read: it is set aside with the reason
                continue


def _read_rows(
    sheet: Sheet,
    table: RecordTable,
    reader: RowReader,
    before: Sequence[Row],
    since: dt.date | None,
    until: dt.date | None,
) -> tuple[list[Row], list[SetAside]]:
    used: list[Row] = []
    aside: list[SetAside] = []
    said = {_says(row): row for row in before if _says(row) is not None}
    right = set_right(sheet.rows, table)
    for row in sheet.rows:
        try:
            if row.line in right:
                raise UnreadableError(right[row.line])
            made = reader.read(sheet.name, row)
            first = made.sown if isinstance(made, PlantingRow) else made.date
            if since is not None and first < since:
                raise UnreadableError(f"{OUTSIDE} before {since}")
            if until is not None and first > until:
                raise UnreadableError(f"{OUTSIDE} after {until}")
            says = _says(made)
            if says is not None and says in said:
                twin = said[says]
                raise UnreadableError(f"says the same as {twin.file} line {twin.line}")
            said[says] = made
        except UnreadableError as error:
            aside.append(SetAside(sheet.name, row.line, str(error), row.written))
        else:
            used.append(made)
    return used, aside


def _says(row: Row) -> object:
    """What makes two rows one happening told twice; None where twins are likely (two like trays, two like jobs)."""
    if isinstance(row, AttendanceRow):
        return ("attendance", row.date, row.shift) if row.shift else None
    if isinstance(row, FaultRow):
        return ("fault", row.machine, row.where, row.down)
    if isinstance(row, PlantingRow) and row.grams is not None:
        return None if row.entry else replace(row, file="", line=0)
    return None


def _refuse_useless(path: Path, tables: Sequence[TableRead], aside: Sequence[SetAside], used: Sequence[Row]) -> None:
    """A table of which no row can be used is a mistake in the table, not in its rows."""
    faults = []
    for table in tables:
        faulty = [
            row for row in aside if row.file == table.file and row.is_fault and not row.reason.startswith(OUTSIDE)
        ]
        if table.rows and not table.used and faulty:
            first = faulty[0]
            rows = "its only row cannot" if table.rows == 1 else f"none of its {table.rows} rows can"
            problem = f"{rows} be used; line {first.line}: {first.reason}"
            faults.append(Fault(str(path), table.file, problem, "correct it, or take the file away"))
    if not faults and not used:
        faults.append(Fault(str(path), "", "has no row in any table yet", f"fill in a few weeks first{_HOW}"))
    if faults:
        raise RoomFileError(faults)


def _lines(lines: Sequence[int]) -> str:
    """ "line 2", "lines 2, 3 and 40 more"."""
    lines = list(dict.fromkeys(lines))
    if len(lines) == 1:
        return f"line {lines[0]}"
    more = len(lines) - _SHOWN_LINES
    shown = ", ".join(str(line) for line in lines[:_SHOWN_LINES])
    return f"lines {shown}" + (f" and {more} more" if more > 0 else "")


def stray_rows(rows: Sequence[Row]) -> list[tuple[Row, str]]:
    """Rows with a date half a year and more from that of every other row but a few, each with the reason.

    The rows are parted where nothing is dated for half a year; parts of a hundredth of the rows or less are astray,
    as long as they leave one part.
    """
    if len(rows) < ENOUGH_ROWS:
        return []
    dated = sorted(((day, number) for number, row in enumerate(rows) for day in days_of(row)), key=lambda each: each[0])
    parts: list[list[tuple[dt.date, int]]] = [[dated[0]]]
    for one, two in itertools.pairwise(dated):
        if two[0] - one[0] >= FAR:
            parts.append([])
        parts[-1].append(two)
    most = max(1, int(FEW_FRACTION * len(rows)))
    kept = [part for part in parts if len({number for _, number in part}) > most]
    if len(kept) != 1:
        return []
    first, last = kept[0][0][0], kept[0][-1][0]
    astray = {number: day for part in parts if part is not kept[0] for day, number in part}
    return [
        (rows[number], f"{day} lies far from all other rows, which go from {first} to {last}; is the year right?")
        for number, day in sorted(astray.items())
    ]


def overlapping_faults(rows: Sequence[Row], scenario: Scenario) -> list[tuple[Row, str]]:
    """Failures of a machine that was down already, where there is only one of it, each with the reason."""
    several = {(machine.kind, machine.where) for machine in machines_of(scenario) if machine.count > 1}
    down: dict[tuple[str, str], FaultRow] = {}
    found: list[tuple[Row, str]] = []
    for row in sorted((row for row in rows if isinstance(row, FaultRow)), key=lambda row: row.down):
        place = (row.machine, row.where)
        before = down.get(place)
        if before is None or before.repaired is None or before.repaired <= row.down or place in several:
            down[place] = row
            continue
        since = (
            f"it is down from {before.down:%Y-%m-%d} to {before.repaired:%Y-%m-%d} in {before.file} line {before.line}"
        )
        found.append((row, f"down is {row.down:%Y-%m-%d}, and {since} already; make one row of the two"))
    return found


def days_of(row: Row) -> list[dt.date]:
    """Every date of a row."""
    if not isinstance(row, PlantingRow):
        return [row.date]
    return [day for day in (row.sown, row.transplanted, row.transplanted_again, row.harvested) if day is not None]
