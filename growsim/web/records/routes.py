"""The room's own record: tables sent here, looked at line by line, and learned from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError, RoomFileError
from growsim.run.writing import write_bytes
from growsim.scenario.reading import LARGEST_FILE_BYTES
from growsim.scenario.record.files import ENDINGS, read_records
from growsim.scenario.record.record import Records, SetAside
from growsim.scenario.record.tables import ENTRY, REPLACES, TABLES
from growsim.scenario.spreadsheets import Sheet, read_sheets
from growsim.study.standing import RECORDS
from growsim.vocabulary.questions import BY_NAME
from growsim.web.answers.files import XLSX
from growsim.web.ask import files as ask_files
from growsim.web.ask.checks import words_of
from growsim.web.ask.files import Files, Upload
from growsim.web.ask.listed import loaded, record_tables, said_here
from growsim.web.ask.questions import DATES_ARE, Field, Form
from growsim.web.ask.routes import Filled, filled_in, keeper_of
from growsim.web.folder import NotHereError, RoomFolder, file_inside, is_plain_name
from growsim.web.guard import sent_form
from growsim.web.pages import address, folder_of, room_of, shown

MOST_FILES = 40
MOST_SENT = 12
_FORM = Form(BY_NAME["learn"], (
    DATES_ARE,
    Field("from", "Use what happened from this day on", "date", "--from", more=True),
    Field("until", "Use what happened up to this day", "date", "--until", more=True),
    Field("forecast_last", "Forecast the last weeks from what came before, and score the forecast", "number",
          "--forecast-last", "How many weeks; slower.", unit="weeks", more=True),
    Field("no_faults", "Nothing failed in all that time", "check", "--no-faults",
          "An empty table of faults then means that no machine was down.", more=True),
))  # fmt: skip


@dataclass(frozen=True)
class Looked:
    """What a look at the record found: its tables, or why it cannot be read."""

    tables: list[TablePreview]
    wrong: list[str]
    not_read: tuple[str, ...] = ()
    aside: int = 0
    used: int = 0
    right: int = 0


def page(request: Request) -> Response:
    """The tables that lie here, and what `learn` would make of each line."""
    room = room_of(request)
    given: dict[str, tuple[str, ...]] = {name: (value,) for name, value in request.query_params.items()}
    return _page(request, room, given, {})


def _page(request: Request, room: RoomFolder, given: dict[str, tuple[str, ...]], faults: dict[str, str],
          said: list[str] | None = None, status: int = 200) -> Response:  # fmt: skip
    _, wrong = words_of(_FORM, given)
    faults = {**wrong, **faults}
    kept = record_tables(room)
    values: dict[str, Any] = {
        "question": _FORM.question, "fields": _FORM.fields, "given": given, "faults": faults,
        "kept": kept, "said": said or [],
        "tables": TABLES, "looked": _look(room, given) if kept and not faults else None,
    }  # fmt: skip
    return shown(request, "records.html", room=room, status=400 if faults else status, **values)


async def send(request: Request) -> Response:
    """Keep the tables that were sent."""
    filled = await filled_in_many(request)
    return await run_in_threadpool(_send, request, filled)


async def filled_in_many(request: Request) -> list[Upload]:
    """Every file that was sent."""
    form = await sent_form(request, MOST_SENT)
    return [
        Upload(value.filename, await value.read())
        for _, value in form.multi_items()
        if not isinstance(value, str) and value.filename
    ]


def _send(request: Request, sent: list[Upload]) -> Response:
    room = room_of(request)
    said = [] if sent else ["Choose at least one table first."]
    targets: dict[Path, bytes] = {}
    for upload in sent:
        name = Path(upload.name.replace("\\", "/")).name
        if Path(name).suffix.lower() not in ENDINGS:
            said.append(f"'{name[:60]}' is no table; send files that end in .csv or .xlsx.")
        elif not is_plain_name(name):
            said.append(
                f"'{name[:60]}' has a name that cannot be kept; call it plantings.csv, attendance.csv or the like."
            )
        elif len(upload.content) > LARGEST_FILE_BYTES:
            said.append(f"'{name[:60]}' is {len(upload.content) / 1e6:.1f} MB large; a table stays below 5 MB.")
        else:
            targets[file_inside(room.home / RECORDS, name)] = upload.content
    if len({*targets, *record_tables(room)}) > MOST_FILES:
        said.append(f"More than {MOST_FILES} tables lie here; put them together, or take some away.")
    if said:
        return _page(request, room, {}, {}, said, 400)
    (room.home / RECORDS).mkdir(parents=True, exist_ok=True)
    for path, content in targets.items():
        write_bytes(path, content)
    return RedirectResponse(address(room.name, RECORDS), 303)


async def remove(request: Request) -> Response:
    """Take a table away."""
    filled = await filled_in(request)
    return await run_in_threadpool(_remove, request, filled)


def _remove(request: Request, filled: Filled) -> Response:
    room = room_of(request)
    name = (filled.given.get("name") or ("",))[0]
    path = file_inside(room.home / RECORDS, name)
    if path not in record_tables(room):
        raise NotHereError(f"There is no table “{name[:60]}” here any more.")
    path.unlink(missing_ok=True)
    return RedirectResponse(address(room.name, RECORDS), 303)


async def learn(request: Request) -> Response:
    """Learn from the record, as a question in the queue."""
    filled = await filled_in(request)
    return await run_in_threadpool(_learn, request, filled)


def _learn(request: Request, filled: Filled) -> Response:
    room = room_of(request)
    options, faults = words_of(_FORM, filled.given)
    if faults:
        return _page(request, room, filled.given, faults)
    try:
        _read(room, filled.given)
    except InputError:
        return _page(request, room, filled.given, {}, status=400)
    question, files = _FORM.question, Files(records=record_tables(room))
    fill = ask_files.filler(folder_of(request), room, question, options, files)
    run = keeper_of(request).ask(room, question.name, question.short, filled.given, fill)
    return RedirectResponse(address(room.name, "answers", run.id), 303)


def empty_tables(request: Request) -> Response:
    """A workbook of empty tables to keep a record in, with how to fill them in."""
    from growsim.report.record_templates import WORKBOOK, workbook_of

    room_of(request)
    return Response(
        workbook_of(()), media_type=XLSX, headers={"Content-Disposition": f'attachment; filename="{WORKBOOK}"'}
    )


def _look(room: RoomFolder, given: dict[str, tuple[str, ...]]) -> Looked:
    """A look at the record; a long one is read again only when something has changed."""
    files = (room.file, *record_tables(room))
    now = tuple((path, found.st_mtime_ns, found.st_size) for path in files for found in (path.stat(),))
    options = tuple((name, (given.get(name) or ("",))[0].strip()) for name in ("dates", "from", "until"))
    return _looked(room, now, options)


@lru_cache(maxsize=8)
def _looked(room: RoomFolder, _: object, options: tuple[tuple[str, str], ...]) -> Looked:
    try:
        records = _read(room, {name: (value,) for name, value in options})
    except InputError as refusal:
        return Looked([], said_here(room, str(refusal)).splitlines())
    tables = preview_of(records, room.home / RECORDS)
    faults = sum(table.aside for table in tables)
    return Looked(tables, [], records.not_read, faults, len(records.rows), len(records.set_aside) - faults)


def _read(room: RoomFolder, given: dict[str, tuple[str, ...]]) -> Records:
    """The record as `learn` reads it. Raises InputError."""

    def day(name: str) -> dt.date | None:
        text = (given.get(name) or ("",))[0].strip()
        return dt.date.fromisoformat(text) if text else None

    order: Any = (given.get("dates") or ("",))[0] or None
    now, wrong = loaded(room)
    if now is None:
        raise InputError("\n".join(wrong))
    return read_records(room.home / RECORDS, now.scenario, order=order, since=day("from"), until=day("until"))


FIRST_LINES = 8  # shown of each table even if nothing is wrong with them
MOST_FAULTY = 200
MOST_CELLS = 30


@dataclass(frozen=True)
class Line:
    """A line of a table. number: as in the file. reason: why it is set aside, "" where it is used.

    gap: lines left out before it. is_fault: whether the reason is a fault, and no correction.
    """

    number: int
    cells: tuple[str, ...]
    reason: str = ""
    gap: int = 0
    is_fault: bool = False


@dataclass(frozen=True)
class TablePreview:
    """A table of the record, without the columns that are empty in all that is shown. aside: faulty lines;
    more_faulty: those beyond what is shown. right: lines whose place others took."""

    file: str
    table: str
    columns: tuple[str, ...]
    rows: int
    used: int
    aside: int
    lines: tuple[Line, ...]
    not_read: tuple[str, ...] = ()
    more_faulty: int = 0
    right: int = 0


def preview_of(records: Records, folder: Path) -> list[TablePreview]:
    """Every table read, with its first lines and every line that is set aside."""
    sheets = dict(_sheets(folder))
    found = []
    for table in records.tables:
        aside = [row for row in records.set_aside if row.file == table.file]
        sheet = sheets.get(table.file)
        shown = _lines(sheet, aside) if sheet is not None else []
        faults = sum(row.is_fault for row in aside)
        full = [place for place in range(len(table.columns[:MOST_CELLS]))
                if table.columns[place] not in (ENTRY, REPLACES)
                and (not shown or any(line.cells[place : place + 1] not in ((), ("",)) for line in shown))]  # fmt: skip
        found.append(
            TablePreview(
                table.file, table.table, tuple(table.columns[place] for place in full), table.rows, table.used, faults,
                tuple(replace(line, cells=tuple("".join(line.cells[place : place + 1]) for place in full))
                      for line in shown),
                table.not_read, max(0, len(aside) - MOST_FAULTY), len(aside) - faults,
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
    reasons = {row.line: row for row in aside[:MOST_FAULTY]}
    lines: list[Line] = []
    gap = 0
    for place, row in enumerate(sheet.rows):
        why = reasons.get(row.line)
        if place < FIRST_LINES or why is not None:
            cells, is_fault = row.written[:MOST_CELLS], why is not None and why.is_fault
            lines.append(Line(row.line, cells, "" if why is None else why.reason, gap, is_fault))
            gap = 0
        else:
            gap += 1
    if gap:
        lines.append(Line(0, (), "", gap))
    return lines


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/records", page, methods=["GET"]),
    Route("/rooms/{room}/records", send, methods=["POST"]),
    Route("/rooms/{room}/records/remove", remove, methods=["POST"]),
    Route("/rooms/{room}/records/learn", learn, methods=["POST"]),
    Route("/rooms/{room}/records/tables.xlsx", empty_tables),
]
