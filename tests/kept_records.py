"""From the log book of a simulated room to the record its people would have kept: rows, CSV files or a workbook.

Only what people can see goes in: dates, counts, grams, minutes. Nothing of the luck behind them.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict, deque
from collections.abc import Callable, Mapping
from pathlib import Path

from growsim.ledger.book import Book
from growsim.ledger.events import (
    Germinated,
    Harvested,
    Lost,
    Noticed,
    Repaired,
    ShiftHeld,
    Sown,
    TaskDone,
    TaskDue,
    Transplanted,
    WentDown,
)
from growsim.run.writing import csv_text
from growsim.scenario.record.tables import BY_NAME
from growsim.scenario.scenario import Scenario
from growsim.scenario.spreadsheets import Cell, workbook_bytes
from growsim.vocabulary.losses import PLANT_LOSSES

Tables = dict[str, list[list[Cell]]]
WHY = {loss.key: loss.record_word for loss in PLANT_LOSSES}


def kept(book: Book, scenario: Scenario) -> Tables:
    """The four tables, rows as a workbook would hold them, from day 0 on."""
    start = dt.datetime.combine(scenario.room.start_date, dt.time())

    def moment(minute: int) -> dt.datetime:
        return start + dt.timedelta(minutes=minute)

    def day(minute: int) -> dt.date:
        return moment(minute).date()

    return {
        "plantings": _trays(book, scenario, day),
        "attendance": [
            [day(held.minute), held.shift, held.signed_up, held.came] for held in book.of(ShiftHeld) if held.minute >= 0
        ],
        "work": _work(book, day),
        "faults": _faults(book, moment),
    }


def _trays(book: Book, scenario: Scenario, day: object) -> list[list[Cell]]:
    assert callable(day)
    seeds = {crop.name: crop.seeds_per_cell for crop in scenario.crops}
    stages = {crop.name: [stage.name for stage in crop.stages_in_order()] for crop in scenario.crops}
    sown: dict[str, Sown] = {}
    cells: dict[str, int] = defaultdict(int)
    up: dict[str, int] = defaultdict(int)
    moves: dict[tuple[str, int], dict[dt.date, int]] = defaultdict(lambda: defaultdict(int))
    lost: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for one in book.of(Sown):
        if one.minute >= 0:
            sown.setdefault(one.lot, one)
            cells[one.lot] += one.cells
    for came in book.of(Germinated):
        up[came.lot] += came.filled_cells
    for move in book.of(Transplanted):
        moves[move.lot, stages[move.crop].index(move.stage)][day(move.minute)] += move.plants
    moved = {which: max(days, key=days.__getitem__) for which, days in moves.items()}
    for loss in book.of(Lost):
        if loss.cause in WHY:
            lost[loss.lot][WHY[loss.cause]] += loss.plants
    cuts: dict[str, dict[tuple[int, dt.date], list[int]]] = defaultdict(dict)
    for cut in book.of(Harvested):
        plants_grams = cuts[cut.lot].setdefault((cut.number, day(cut.minute)), [0, 0])
        plants_grams[0] += cut.plants
        plants_grams[1] += cut.grams
    rows: list[list[Cell]] = []
    for lot, first in sown.items():
        what: list[Cell] = [day(first.minute), first.crop]
        emerged: Cell = up.get(lot)
        total = sum(lost[lot].values())
        why = ", ".join(f"{count} {reason}" for reason, count in lost[lot].items())
        goes = sorted(cuts[lot].items())
        done = bool(goes)
        (number, date), (plants, grams) = goes[0] if goes else ((None, None), (None, None))
        moves_of = _in_order(moved.get((lot, 1)), moved.get((lot, 2)))
        rows.append([
            *what, cells[lot], seeds[first.crop], emerged, *moves_of(date), date, number, plants, grams,
            total if done or total else None, why or None,
        ])  # fmt: skip
        for (number, date), (plants, grams) in goes[1:]:
            rows.append([*what, None, None, None, *moves_of(date), date, number, plants, grams, None, None])
    return rows


def _in_order(first: dt.date | None, second: dt.date | None) -> Callable[[dt.date | None], list[Cell]]:
    """What people write of the moves in a row for plants harvested that day: no move of others that came after it."""
    later = None if second is None or (first is not None and second < first) else second
    return lambda cut: [
        None if cut is not None and move is not None and move > cut else move for move in (first, later)
    ]


def _work(book: Book, day: object) -> list[list[Cell]]:
    assert callable(day)
    due: dict[tuple[str, str, int], deque[float]] = defaultdict(deque)
    for task in book.of(TaskDue):
        due[task.task, task.about, task.due_minute].append(task.units)
    rows: list[list[Cell]] = []
    for done in book.of(TaskDone):
        units = due[done.task, done.about, done.due_minute].popleft()
        if done.finished and done.minute >= 0 and done.worked_minutes and units:
            rows.append([day(done.minute), done.task, units, None, done.worked_minutes])
    return rows


def _faults(book: Book, moment: object) -> list[list[Cell]]:
    assert callable(moment)
    rows: list[list[Cell]] = []
    open_rows: dict[tuple[str, str], list[Cell]] = {}
    for record in book.records:
        if isinstance(record, WentDown) and record.minute >= 0:
            row: list[Cell] = [record.machine, record.where or None, moment(record.minute), None, None]
            rows.append(row)
            open_rows[record.machine, record.where] = row
        elif isinstance(record, Noticed) and (record.machine, record.where) in open_rows:
            open_rows[record.machine, record.where][3] = moment(record.minute)
        elif isinstance(record, Repaired) and (record.machine, record.where) in open_rows:
            open_rows.pop((record.machine, record.where))[4] = moment(record.minute)
    return rows


def as_csv(tables: Mapping[str, list[list[Cell]]], folder: Path) -> Path:
    """A folder of CSV files, their texts disarmed as growsim's own are."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        heading = [column.name for column in BY_NAME[name].columns]
        text = csv_text(heading, ([None if cell is None else _text(cell) for cell in row] for row in rows))
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def as_workbook(tables: Mapping[str, list[list[Cell]]], path: Path) -> Path:
    """One workbook."""
    headed = {name: [[column.name for column in BY_NAME[name].columns], *rows] for name, rows in tables.items()}
    path.write_bytes(workbook_bytes(headed))
    return path


def _text(cell: Cell) -> str:
    return cell.strftime("%Y-%m-%d %H:%M") if isinstance(cell, dt.datetime) else str(cell)
