"""What was written down on the page, put together: a row an entry, and what a table beside it says too is said once.

Entries of the page that name the same crop and day of sowing are one planting told bit by bit. A correction names the
entry whose place it takes; that line stays in the file. Where a table of somebody's own tells of a planting, a piece of
work or a delivery that the page tells of, the page is believed, and the table fills in only what the page left open.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from growsim.scenario import on_paper
from growsim.scenario.record.cells import UnreadableError
from growsim.scenario.record.record import DeliveryRow, PlantingRow, Row, WorkRow
from growsim.scenario.record.rows import refuse_impossible
from growsim.scenario.record.tables import ENTRY, REPLACES, RecordTable
from growsim.scenario.scenario import Scenario
from growsim.scenario.spreadsheets import SheetRow, shown
from growsim.vocabulary.losses import TRANSPLANTING

Aside = list[tuple[Row, str]]
_OF_SOWING = ("cells", "emerged", "seeds_per_cell", "transplanted", "transplanted_again")


def set_right(rows: Sequence[SheetRow], table: RecordTable) -> dict[int, str]:
    """Lines of a table that are not to be read, each with why: they were corrected, or only take back another."""
    by_entry = {shown(row.cells[ENTRY]): row for row in rows if row.cells.get(ENTRY) is not None}
    found: dict[int, str] = {}
    for row in rows:
        said = row.cells.get(REPLACES)
        before = by_entry.get(shown(said)) if said is not None else None
        if before is None:
            continue
        takes_back = all(row.cells.get(column.name) is None for column in table.columns)
        found[before.line] = f"was {'taken back' if takes_back else 'corrected'} in line {row.line}"
        if takes_back:
            found[row.line] = f"takes back line {before.line}"
    return found


def joined(rows: Sequence[Row], scenario: Scenario) -> tuple[list[Row], Aside]:
    """The rows as happenings, and those that are not used, each with why."""
    plantings, aside = _plantings([row for row in rows if isinstance(row, PlantingRow)], scenario)
    others: list[Row] = [row for row in rows if not isinstance(row, PlantingRow)]
    told = Counter(_same(row) for row in others if row.entry)
    first = {_same(row): row for row in reversed(others) if row.entry}
    kept: list[Row] = list(plantings)
    for row in others:
        same = _same(row)
        if same is not None and not row.entry and told[same] > 0:
            told[same] -= 0 if isinstance(row, DeliveryRow) else 1
            aside.append((row, f"says what was written on the page ({first[same].file} line {first[same].line})"))
        else:
            kept.append(row)
    return kept, aside


def plantings_by(bits: Sequence[PlantingRow], scenario: Scenario, morning: dt.date) -> list[PlantingRow]:
    """The plantings as they stood in the record on a morning: without what was written of that day and later.

    A row of a table of somebody's own is one for the whole life of a planting: what happened later is taken out of it,
    with the plants lost, unless they were all lost in moving.
    """
    known = [part for row in bits if row.sown < morning for part in _known_by(row, morning)]
    return _plantings(known, scenario)[0]


def _known_by(row: PlantingRow, morning: dt.date) -> list[PlantingRow]:
    if row.entry:
        return [row] if row.entry[:10] < morning.isoformat() else []
    later: dict[str, Any] = {
        name: None
        for name in ("transplanted", "transplanted_again")
        if (day := getattr(row, name)) is not None and day >= morning
    }
    later |= {"plants_moved": None} if later else {}
    if row.harvested is not None and row.harvested >= morning:
        moved = row.transplanted is not None and row.transplanted < morning
        in_moving = moved and dict(row.lost_to or ()).keys() == {TRANSPLANTING.record_word}
        later |= {"harvested": None, "plants_harvested": None, "grams": None, "harvest_number": 1}
        later |= {} if in_moving else {"lost": None, "lost_to": None}
        if row.harvest_number > 1 or (row.cells is None and row.emerged is None):
            return []  # the first row of the planting tells of it
    return [_with(row, **later)]


def _same(row: Row) -> object:
    """What a row has in common with one of the page that tells of the same; None for kinds that are told by their own
    rule (`files._says`)."""
    if isinstance(row, WorkRow):
        return ("work", row.date, row.task, row.units, row.person_minutes)
    if isinstance(row, DeliveryRow):
        return ("delivery", row.date, row.partner, row.crop)
    return None


def _plantings(rows: Sequence[PlantingRow], scenario: Scenario) -> tuple[list[PlantingRow], Aside]:
    crops = on_paper.crops_by_name(scenario)
    parts: dict[tuple[str, dt.date], list[PlantingRow]] = {}
    beside: dict[tuple[str, dt.date], list[PlantingRow]] = {}
    for row in rows:
        if row.entry:
            parts.setdefault((row.crop, row.sown), []).append(row)
    kept: list[PlantingRow] = []
    for row in rows:
        if (row.crop, row.sown) in parts and not row.entry:
            beside.setdefault((row.crop, row.sown), []).append(row)
        elif not row.entry:
            kept.append(row)
    aside: Aside = []
    for key, told in parts.items():
        used: list[PlantingRow] = []
        made: list[PlantingRow] = []
        for part in told:  # the first that cannot be with those before it is left out
            tried = _planting([*used, part])
            try:
                for row in tried:
                    refuse_impossible(row, crops[row.crop])
            except UnreadableError as error:
                aside.append((part, f"with what was written before, {error}"))
            else:
                used, made = [*used, part], tried
        others = beside.get(key, [])
        if made and others:
            made = _filled(made, others, lambda row: refuse_impossible(row, crops[row.crop]))
        kept += made
        aside += [(row, f"tells of a sowing that is on the page ({told[0].file} line {told[0].line})")
                  for row in others]  # fmt: skip
    return kept, aside


def _planting(parts: Sequence[PlantingRow]) -> list[PlantingRow]:
    """A planting from its parts: a row for each day of harvest, the first with what is told of all of it."""
    last = {name: next((getattr(part, name) for part in reversed(parts) if getattr(part, name) is not None), None)
            for name in _OF_SOWING}  # fmt: skip
    last |= {name: _day_of_most(parts, name) for name in ("transplanted", "transplanted_again")}
    name = "transplanted_again" if last["transplanted_again"] is not None else "transplanted"
    moves_told = [part.plants_moved for part in parts if getattr(part, name) is not None]
    moved = None if None in moves_told or not moves_told else sum(many or 0 for many in moves_told)
    cells = [part.cells for part in parts if part.cells is not None]
    lost = [part for part in parts if part.lost is not None]
    why: Counter[str] | None = Counter()
    for part in lost:
        if part.lost_to is None or why is None:
            why = None
        else:
            why.update(dict(part.lost_to))
    whole = _with(
        parts[0], **{**last, "cells": sum(cells) if cells else None}, harvested=None, plants_harvested=None, grams=None,
        plants_moved=moved, harvest_number=1, lost=sum(part.lost or 0 for part in lost) if lost else None,
        lost_to=None if why is None or not lost else tuple(why.items()),
    )  # fmt: skip
    goes: dict[tuple[int, dt.date], list[PlantingRow]] = {}
    for part in parts:
        if part.harvested is not None:
            goes.setdefault((part.harvest_number, part.harvested), []).append(part)
    made = []
    for place, ((number, date), cut) in enumerate(sorted(goes.items())):
        moves = {name: day if (day := getattr(whole, name)) is None or day <= date else None
                 for name in ("transplanted", "transplanted_again")}  # fmt: skip
        own = {} if place == 0 else dict.fromkeys(("cells", "emerged", "seeds_per_cell", "lost", "lost_to"))
        plants = [part.plants_harvested for part in cut if part.plants_harvested is not None]
        grams = [part.grams for part in cut if part.grams is not None]
        made.append(_with(
            whole, line=whole.line if place == 0 else cut[0].line, harvest_number=number, harvested=date,
            plants_harvested=sum(plants) if plants else None, grams=_sum(grams), **{**moves, **own},
        ))  # fmt: skip
    return made or [whole]


def _day_of_most(parts: Sequence[PlantingRow], name: str) -> dt.date | None:
    """The day on which most were moved; the last one of those on which all were."""
    many: dict[dt.date, float] = {}
    for part in parts:
        if (day := getattr(part, name)) is not None:
            many[day] = many.get(day, 0.0) + (math.inf if part.plants_moved is None else part.plants_moved)
    return max(reversed(many), key=lambda day: many[day]) if many else None


def _with(row: PlantingRow, **values: Any) -> PlantingRow:
    return replace(row, **values)


def _sum(amounts: Iterable[float]) -> float | None:
    amounts = list(amounts)
    return math.fsum(amounts) if amounts else None


def _filled(
    made: list[PlantingRow], others: Sequence[PlantingRow], refuse: Callable[[PlantingRow], None]
) -> list[PlantingRow]:
    """The planting with what a table beside it says and the page does not; as it was where the two do not go
    together."""
    first = made[0]
    open_ = {
        name: next((getattr(row, name) for row in others if getattr(row, name) is not None), None)
        for name in _OF_SOWING
        if getattr(first, name) is None
    }
    goes = [row for row in others if row.harvested is not None] if first.harvested is None else []
    filled = [_with(first, **open_), *made[1:]]
    if goes:
        filled = [
            _with(
                row, file=first.file, line=first.line, entry=first.entry,
                **({name: getattr(filled[0], name) for name in _OF_SOWING} if row is goes[0] else {}),
            )
            for row in goes
        ]  # fmt: skip
    try:
        for row in filled:
            refuse(row)
    except UnreadableError:
        return made
    return filled
