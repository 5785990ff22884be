"""Counting the shelves on the page: a row for each batch on each rack. It becomes a table of the room's counts, which
`promise` and `sheet` take like one made in a spreadsheet.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError, RoomFileError
from growsim.report import cautions
from growsim.report.words import upper_first
from growsim.scenario.load import LoadedRoom
from growsim.scenario.record.cells import UnreadableError, read_date
from growsim.scenario.record.files import read_records
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import COOLER, load_shelves
from growsim.study.standing import COUNTED, RECORDS, SHELVES, Difference, counts_in, differences, standing_on
from growsim.units import unit
from growsim.web.ask.files import BY_RECORD, Upload, by_record_here, chosen_table, kept_table
from growsim.web.ask.listed import loaded, record_tables, table_files
from growsim.web.folder import RoomFolder
from growsim.web.forms.other_units import as_typed, number_in
from growsim.web.guard import sent_form
from growsim.web.pages import address, room_of, shown

COLUMNS = ("lot", "crop", "stage", "sown", "plants", "rack", "kg")
FIRST_ROWS, MORE_ROWS, MOST_ROWS = 8, 8, 400
NOTHING = "nothing"  # to begin from
BOXES = ("rack", "what", "number", "sown")
_BETWEEN = "|"  # of crop and stage in a choice; a stray one in a name only splits at the last


@dataclass
class Row:
    """One batch as it stands in its boxes. what: crop and stage. record: plants that the record has there. wrong: by
    box, and '' for the row."""

    rack: str = ""
    what: str = ""
    number: str = ""
    sown: str = ""
    record: str = ""
    wrong: dict[str, list[str]] = field(default_factory=dict)

    @property
    def is_empty(self) -> bool:
        """Whether nothing was counted; a rack alone is nothing."""
        return not (self.what or self.number or self.sown)


def show_count(request: Request) -> Response:
    """What the record says stands there, to be changed where it is otherwise; with ?of=, an earlier count to go on
    from, or nothing."""
    room = room_of(request)
    now, wrong = loaded(room)
    earlier = request.query_params.get("of", BY_RECORD)
    counted, rows = dt.date.today(), list[Row]()
    if now is not None and earlier == BY_RECORD and (standing := by_record_here(room, counted)) is not None:
        rows = [Row(each.rack, f"{each.crop}{_BETWEEN}{each.stage}", str(each.plants), each.sown.isoformat(),
                    str(each.plants)) for each in standing.batches]  # fmt: skip
    elif now is not None and earlier not in (BY_RECORD, NOTHING):
        counted, rows = _read_again(chosen_table(room, earlier))
    rows += [Row() for _ in range(max(FIRST_ROWS, len(rows) + 2) - len(rows))]
    return _page(request, room, now, wrong, counted.isoformat(), rows)


async def send_count(request: Request) -> Response:
    """Keep the count, or say beside each box what is wrong."""
    form = await sent_form(request)
    sent = {key: value for key, value in form.multi_items() if isinstance(value, str)}
    return await run_in_threadpool(_take, request, sent)


def _take(request: Request, sent: Mapping[str, str]) -> Response:
    room = room_of(request)
    now, wrong = loaded(room)
    counted, do = sent.get("counted", "").strip(), sent.get("do", "keep")
    numbers = sorted({int(found[1]) for name in sent if (found := re.fullmatch(r"row-(\d{1,3})-\w+", name))})
    rows = [_sent_row(sent, number) for number in numbers[:MOST_ROWS]]
    if now is None:
        return _page(request, room, now, wrong, counted, rows, status=400)
    if do == "more":
        return _page(request, room, now, wrong, counted, rows + [Row() for _ in range(MORE_ROWS)])
    told: list[str] = []
    try:
        date = read_date(counted).date(None)
    except UnreadableError as reason:
        told.append(f"The morning of the count {reason}.")
        date = dt.date.today()
    filled = [row for row in rows if not row.is_empty]
    if not filled:
        told.append("Nothing was counted yet; fill in one row at least.")
    content = table_of(filled, now.scenario)
    told += _faults(content, filled, now, date) if filled else []
    if told or any(row.wrong for row in rows):
        return _page(request, room, now, wrong, counted, rows, told, status=400)
    kept = kept_table(room, Upload(f"{COUNTED}{date}.csv", content)).relative_to(room.home).as_posix()
    if do == "sheet":
        return RedirectResponse(f"{address(room.name, 'ask', 'sheet')}?shelves={kept}&date={date}", 303)
    return RedirectResponse(f"{address(room.name, 'ask', 'promise')}?shelves={kept}&date={date}", 303)


def _sent_row(sent: Mapping[str, str], number: int) -> Row:
    rack, what, amount, sown = (sent.get(f"row-{number}-{box}", "").strip() for box in BOXES)
    return Row(rack, what, amount, sown, sent.get(f"row-{number}-record", "")[:9])


def table_of(rows: Sequence[Row], scenario: Scenario) -> bytes:
    """The rows as a table of the shelves. A lot is named by its crop and the day it was sown."""
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\n")
    writer.writerow(COLUMNS)
    for place, row in enumerate(rows, start=1):
        crop, _, stage = row.what.rpartition(_BETWEEN)
        if stage == COOLER:
            kg = number_in(row.number, "kg")
            writer.writerow([f"{crop} in the cooler {place}", crop, stage, "", "", "", kg])
        else:
            writer.writerow([f"{crop} {row.sown}"[:60], crop, stage, row.sown, row.number, row.rack, ""])
    return made.getvalue().encode("utf-8")


def _faults(content: bytes, rows: Sequence[Row], now: LoadedRoom, date: dt.date) -> list[str]:
    """What the reader of such tables says, put beside the boxes; what belongs to none of them is given back."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "counted.csv"
        file.write_bytes(content)
        try:
            load_shelves(file, now.scenario, date)
        except RoomFileError as refusal:
            return [text for fault in refusal.faults if (text := _put(fault.key, rows, fault.problem, fault.remedy))]
    return []


def _put(key: str, rows: Sequence[Row], problem: str, remedy: str) -> str:
    line, _, column = key.partition(", ")
    said = re.sub(r"\bline (\d+)", lambda found: f"row {int(found[1]) - 1}", f"{problem}; {remedy}")
    said = f"{upper_first(said)}."
    number = line.removeprefix("line ")
    if not number.isdecimal() or not 2 <= int(number) <= len(rows) + 1:
        return said
    row = rows[int(number) - 2]
    box = {"rack": "rack", "sown": "sown", "plants": "number", "kg": "number"}.get(column, "what")
    if box == "what" and not row.what:
        said = "Say which crop, and how far it is."
        row.wrong[box] = [said]
    else:
        row.wrong.setdefault(box, []).append(said)
    return ""


def _read_again(path: Path) -> tuple[dt.date, list[Row]]:
    """A count made on this page, as rows. Raises InputError for another table."""
    try:
        lines = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
    except (OSError, ValueError, csv.Error):
        lines = []
    found = re.match(r"counted-(\d{4}-\d{2}-\d{2})", path.name)
    if found is None or not lines or tuple(lines[0]) != COLUMNS:
        raise InputError(f"{path.name} was not counted on this page; change it where it was made.")
    rows = []
    for line in lines[:MOST_ROWS]:
        number = line["plants"]
        if line["stage"] == COOLER:
            number = as_typed(float(line["kg"]), "kg")
        rows.append(Row(line["rack"], f"{line['crop']}{_BETWEEN}{line['stage']}", number, line["sown"]))
    return dt.date.fromisoformat(found[1]), rows


def _differences(room: RoomFolder, now: LoadedRoom | None) -> tuple[dt.date, list[Difference]] | None:
    """Where the last count and the record differ; None where there is no count, or no record before it."""
    counts = [] if now is None else counts_in(room.home / SHELVES, now.scenario)
    if now is None or not counts or not record_tables(room):
        return None
    last = max(counts, key=lambda each: each.date)
    try:
        records = read_records(room.home / RECORDS, now.scenario)
    except RoomFileError:
        return None
    if not standing_on(records, now.scenario, last.date, [each for each in counts if each.date < last.date]).is_all:
        return None
    return last.date, differences(records, now.scenario, last, counts)


def _page(
    request: Request,
    room: RoomFolder,
    now: LoadedRoom | None,
    wrong: list[str],
    counted: str,
    rows: Sequence[Row],
    told: Sequence[str] = (),
    *,
    status: int = 200,
) -> Response:
    crops: dict[str, list[tuple[str, str]]] = {}
    racks: list[str] = []
    if now is not None:
        racks = [rack.name for rack in now.scenario.racks]
        for crop in now.scenario.crops:
            stages = [(f"{crop.name}{_BETWEEN}{stage.name}", f"{crop.name}: {stage.name}") for stage in crop.stages]
            crops[crop.name] = [*stages, (f"{crop.name}{_BETWEEN}{COOLER}", f"{crop.name}: packed, in the cooler")]
    kept = [path for path in table_files(room) if path.parent.name == SHELVES and path.name.startswith(COUNTED)]
    earlier = [(path.relative_to(room.home).as_posix(), path.stem.removeprefix(COUNTED)) for path in reversed(kept)]
    return shown(
        request,
        "count.html",
        room=room,
        status=status,
        wrong=wrong,
        counted=counted,
        rows=rows,
        told=told,
        crops=crops,
        racks=racks,
        mass_unit=unit("kg"),
        earlier=earlier,
        standing=by_record_here(room, dt.date.today()),
        differs=_differences(room, now),
        cautions=cautions.beside_tables(["harvest"], now.scenario.room.region if now is not None else "elsewhere"),
    )


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/count", show_count, methods=["GET"]),
    Route("/rooms/{room}/count", send_count, methods=["POST"]),
]
