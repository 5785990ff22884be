"""A shift written down: a form begun from what the sheet of the day asks; its entries become rows of the record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError, RoomFileError
from growsim.report import cautions
from growsim.report.week.words import dangers_of
from growsim.report.words import day_and_date, upper_first
from growsim.scenario.load import LoadedRoom
from growsim.scenario.record.cells import UnreadableError
from growsim.scenario.record.files import read_records
from growsim.scenario.record.joined import joined
from growsim.scenario.record.record import PlantingRow, Records
from growsim.scenario.record.rows import RowReader
from growsim.scenario.record.tables import BY_NAME, ENTRY
from growsim.scenario.shelves import Today
from growsim.scenario.spreadsheets import SheetRow
from growsim.study.standing import RECORDS, SHELVES, Standing, counts_in, standing_on
from growsim.study.week.question import ShiftSheet, due_on
from growsim.web.ask.listed import loaded, record_tables, said_here
from growsim.web.folder import RoomFolder
from growsim.web.guard import sent_form
from growsim.web.pages import address, room_of, shown
from growsim.web.shift.doubts import weigh
from growsim.web.shift.entries import Day, Item, entries_of
from growsim.web.shift.items import chosen, items_of
from growsim.web.shift.store import Entry, keep, written

MOST_NAMED = 3  # of what was written down, after saving
ALWAYS = ("came", "failed", "repaired", "delivery")  # asked at the top of a shift that is written down, too
_BOX = {
    "cells": "count",
    "plants_harvested": "count",
    "units": "count",
    "plants_moved": "count",
    "emerged": "up",
    "grams": "kg",
}


def page(request: Request) -> Response:
    """The form of a day and shift."""
    room = room_of(request)
    now, wrong = loaded(room)
    if now is None:
        return shown(request, "shift.html", room=room, wrong=wrong)
    date, day, others, told = _day(room, now, request.query_params.get("date", ""), request.query_params.get("shift"))
    items = items_of(day, written(room.home / RECORDS))
    return _page(request, room, date, day, others, items, told)


async def send(request: Request) -> Response:
    """Write down what was sent, entry by entry, or say beside each what is wrong."""
    form = await sent_form(request)
    sent = {key: value for key, value in form.multi_items() if isinstance(value, str)}
    return await run_in_threadpool(_take, request, sent)


def _take(request: Request, sent: Mapping[str, str]) -> Response:
    room = room_of(request)
    now, wrong = loaded(room)
    if now is None:
        return shown(request, "shift.html", room=room, wrong=wrong, status=400)
    date, day, others, told = _day(room, now, sent.get("date", ""), sent.get("shift"))
    if sent.get("shift", "") != day.shift:
        raise InputError("There is no such shift on that day; choose another day or shift.")
    items = [item for item in items_of(day, written(room.home / RECORDS)) if f"{item.key}|here" in sent]
    for item in items:
        _fill(item, sent)
    if sent.get("do") == "all":
        for item in items:
            item.ticked = item.ticked or item.kind == "task"
        return _page(request, room, date, day, others, items, told, typed=True)
    made = {item.key: each for item in items if (each := chosen(item, day)) is not None}
    meant = [made.get(item.key, item) for item in items]
    weigh(meant, day)
    entries = [(item, entry) for item in meant for entry in entries_of(item, day)]
    _check(entries, now, day)
    done, of = 0, dict[str, None]()
    if not any(item.is_open for item in meant):
        for item, entry in entries:
            try:
                if keep(room.home / RECORDS, entry, item.seen.get(entry.table, "")):
                    done += 1
                    of[item.key] = None
            except InputError as refusal:
                item.wrong = said_here(room, f"{refusal}")
    for item in items:
        item.take_over(made.get(item.key, item))
    if any(item.is_open for item in items):
        return _page(request, room, date, day, others, items, told, typed=True, status=400)
    where = urlencode([("date", date.isoformat()), ("shift", day.shift), ("saved", done),
                       *(("of", key) for key in list(of)[:MOST_NAMED])])  # fmt: skip
    return RedirectResponse(f"{address(room.name, 'shift')}?{where}", 303)


def _fill(item: Item, sent: Mapping[str, str]) -> None:
    """What was sent. What another window wrote since the form was made stays, but for what was changed here; where both
    changed the same, it is asked which holds."""
    is_older = any(sent.get(f"{item.key}|seen|{table}") != name for table, name in item.seen.items())
    ticked = not item.tick or sent.get(f"{item.key}|tick") == "yes"
    if not is_older or (item.tick and ticked != (sent.get(f"{item.key}|ticked") == "yes")):
        item.ticked = ticked
    for box in item.boxes:
        now, was = box.value, sent.get(f"{item.key}|was|{box.name}")
        box.kept = sent.get(f"{item.key}|keep|{box.name}", "")
        box.value = " ".join(sent.get(f"{item.key}|{box.name}", "").split())[:200]
        asked, taken = sent.get(f"{item.key}|clash|{box.name}"), sent.get(f"{item.key}|take|{box.name}")
        if taken in ("now", "mine"):
            box.value = box.value if taken == "mine" else now
        elif asked is not None and box.value == asked:
            box.clash = now
        elif is_older and box.value == was:
            box.value = now
        elif is_older and now not in (was, box.value):
            box.clash = now


def _check(entries: Sequence[tuple[Item, Entry]], now: LoadedRoom, day: Day) -> None:
    """Say beside each item what the reader of such rows would say of it."""
    made: dict[tuple[str, str], PlantingRow] = {}
    for item, entry in entries:
        if not entry.cells or any(box.wrong for box in item.boxes):
            continue
        cells: dict[str, Any] = {name: text or None for name, text in entry.cells.items()}
        try:
            row = RowReader(BY_NAME[entry.table], now.scenario, None).read(
                "", SheetRow(0, {**cells, ENTRY: entry.about}, ())
            )
        except UnreadableError as error:
            _put(item, str(error))
            continue
        if isinstance(row, PlantingRow):
            made[entry.table, entry.about] = replace(row, line=len(made) + 1)
    known = {row.entry.partition(" #")[0] for row in made.values()}
    before = [row for row in day.records.bits if row.entry.partition(" #")[0] not in known] if day.records else []
    by_line = {row.line: row.entry for row in made.values()}
    for row, why in joined([*before, *made.values()], now.scenario)[1]:
        if not row.file and row.line in by_line:
            item = next(item for item, entry in entries if entry.about == by_line[row.line])
            _put(item, why)


def _put(item: Item, said: str) -> None:
    column = said.partition(" ")[0]
    box = item.box(_BOX.get(column, column))
    if box is not None and not box.wrong:
        box.asks, box.wrong = "", f"{said.partition(' ')[2]}."[:1].upper() + f"{said.partition(' ')[2]}."[1:]
    else:
        item.wrong = f"{upper_first(said)}."


def _day(
    room: RoomFolder, now: LoadedRoom, wanted: str, shift: str | None
) -> tuple[dt.date, Day, list[str], list[str]]:
    """The day asked for, what is written on it, the shifts of that day, and what cannot be read of the record."""
    try:
        date = dt.date.fromisoformat(wanted) if wanted else dt.date.today()
    except ValueError:
        raise InputError(f"“{wanted[:20]}” is no day; give one such as 2031-03-25.") from None
    records, told = record_here(room, now)
    standing, today = None, None
    counts = counts_in(room.home / SHELVES, now.scenario)
    if records is not None or counts:
        standing = standing_on(records or Records(), now.scenario, date, counts)
        today = standing.today if standing.is_all else None
    sheets = _due(room, now.sha256, date, today)
    names = [sheet.shift.name for sheet in sheets]
    chosen = shift if shift in names else names[0] if names else None
    sheet = next((sheet for sheet in sheets if sheet.shift.name == chosen), None)
    standing = standing or Standing(date, (), is_all=False)
    return date, Day(now, date, chosen or "", sheet, standing, records), names, told


@lru_cache(maxsize=32)
def _due(room: RoomFolder, _: str, date: dt.date, today: Today | None) -> tuple[ShiftSheet, ...]:
    now, _wrong = loaded(room)
    return () if now is None else due_on(now, date, today)


def record_here(room: RoomFolder, now: LoadedRoom) -> tuple[Records | None, list[str]]:
    """The room's record; None and why where there is none, or none that can be read."""
    tables = record_tables(room)
    if not tables:
        return None, []
    try:
        return _read(room, now.sha256, tuple((path, path.stat().st_mtime_ns) for path in tables)), []
    except RoomFileError as refusal:
        return None, said_here(room, str(refusal)).splitlines()


@lru_cache(maxsize=8)
def _read(room: RoomFolder, *_: object) -> Records | None:
    now, _wrong = loaded(room)
    return None if now is None else read_records(room.home / RECORDS, now.scenario)


def _page(
    request: Request, room: RoomFolder, date: dt.date, day: Day, others: Sequence[str], items: Sequence[Item],
    told: Sequence[str], *, typed: bool = False, status: int = 200,
) -> Response:  # fmt: skip
    saved, of = request.query_params.get("saved", ""), request.query_params.getlist("of")
    is_written = any(item.is_written for item in items)
    whole = {item.kind for item in items if item.is_written} & {"reading"}
    first = [item for item in items if not is_written or item.is_written or item.kind in {*ALWAYS, *whole}]
    return shown(
        request, "shift.html", room=room, status=status, wrong=[], date=date, says=day_and_date(date), day=day,
        shifts=others, items=first,
        more=[item for item in items if item not in first],
        wrote=[item.says for item in items if item.key in of],
        told=told, saved=int(saved) if saved.isdecimal() else None,
        cautions=_cautions(day), chemicals=cautions.in_short(("chemicals",)), typed=typed,
        opens=[item for item in items if item.is_open],
    )  # fmt: skip


def _cautions(day: Day) -> tuple[str, ...]:
    if day.sheet is None:
        return ()
    scenario = day.room.scenario
    return cautions.beside(dangers_of(day.sheet, scenario), scenario.room.region)


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/shift", page, methods=["GET"]),
    Route("/rooms/{room}/shift", send, methods=["POST"]),
]
