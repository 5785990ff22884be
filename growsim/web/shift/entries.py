"""From what a form says of an item to the rows of the record, and back: what is written down fills the boxes."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from growsim.scenario import on_paper
from growsim.scenario.load import LoadedRoom
from growsim.scenario.record.record import FaultRow, Records
from growsim.study.standing import Standing
from growsim.study.week.question import ShiftSheet
from growsim.units import unit
from growsim.web.forms.other_units import as_typed, number_in
from growsim.web.shift.store import Entry, Written

LOST = "lost"  # plants found dead or thrown away, between tasks
OF_PLANTS = ("transplant", "harvest")
_GRAMS = 1000.0
_FOLDED = {"count": "how many", "lost": "plants lost", "minutes": "minutes"}


@dataclass
class Box:
    """One thing to say of an item. kind: number, choice, chips, time. value: what it holds. quick: values that a tap
    puts in, with their words. asks: what is asked once about the value. kept: the value of which somebody said so.
    was: what it held when the form was made; clash: what another window wrote there meanwhile."""

    name: str
    label: str
    kind: str = "number"
    value: str = ""
    choices: Sequence[tuple[str, str]] = ()
    quick: Sequence[tuple[str, str]] = ()
    more: bool = False
    wrong: str = ""
    asks: str = ""
    kept: str = ""
    was: str = ""
    clash: str | None = None

    @property
    def is_open(self) -> bool:
        """Whether it is to be corrected or answered."""
        return bool(self.wrong or self.asks) or self.clash is not None

    @property
    def unit(self) -> str:
        """Of its number, where that is said beside it."""
        return f" {unit('kg')}" if self.name == "kg" else " min" if self.name == "minutes" else ""


@dataclass
class Item:
    """One thing to write down. about: what it is about, for each table its entry goes to. says: in words. tick: whether
    it is ticked when done (else its boxes are all it has). ticked: whether it is. seen: names of the entries that
    stood there when it was shown, by table.

    task, crop, sown: of a task on plants. moves: how often they were moved before. harvests: harvested before. units,
    grams: as the sheet has it. of: the partner, the reservoir. machine: what failed, where, since when.
    """

    key: str
    kind: str
    says: str
    boxes: list[Box]
    tick: bool = False
    ticked: bool = False
    was_ticked: bool = False
    seen: dict[str, str] = field(default_factory=dict)
    is_written: bool = False
    wrong: str = ""
    task: str = ""
    crop: str = ""
    sown: str = ""
    moves: int = 0
    harvests: int = 0
    units: float = 0.0
    grams: float = 0.0
    of: str = ""
    machine: tuple[str, str, str] = ("", "", "")

    def value(self, name: str) -> str:
        """What a box holds."""
        return next((box.value for box in self.boxes if box.name == name), "")

    @property
    def folded(self) -> str:
        """What is folded away, in words."""
        names = {box.name for box in self.boxes if box.more}
        return ", ".join(words for name, words in _FOLDED.items() if name in names).capitalize()

    @property
    def opens(self) -> bool:
        """Whether what is folded away is other than on the sheet."""
        usual = {"", "0", as_count(self.units)}
        return any(box.is_open or (self.kind == "task" and box.kind == "number" and box.value not in usual)
                   for box in self.boxes if box.more)  # fmt: skip

    @property
    def is_open(self) -> bool:
        """Whether something of it is to be corrected or answered before it is written down."""
        return bool(self.wrong) or any(box.is_open for box in self.boxes)

    def take_over(self, made: Item) -> None:
        """What is wrong with, and asked of, what was made of it."""
        self.wrong, self.seen = made.wrong, made.seen
        for box in made.boxes:
            if (own := self.box(box.name)) is not None:
                own.wrong, own.asks, own.clash = box.wrong, box.asks, box.clash

    def box(self, name: str) -> Box | None:
        """The box of that name."""
        return next((box for box in self.boxes if box.name == name), None)


@dataclass(frozen=True)
class Day:
    """The day and shift that are written down, with all that its form is made from."""

    room: LoadedRoom
    date: dt.date
    shift: str
    sheet: ShiftSheet | None
    standing: Standing
    records: Records | None

    @property
    def prefix(self) -> str:
        """How the names of its entries begin."""
        return f"{self.date.isoformat()} {self.shift}".strip()


def as_count(count: float) -> str:
    """A count as it is typed."""
    return f"{count:g}"


def entries_of(item: Item, day: Day) -> list[Entry]:
    """What an item becomes in the record: an entry of each table it speaks to; without cells where it says nothing."""
    about, date = f"{day.prefix} {item.key}", day.date.isoformat()
    if item.kind == "came":
        came, signed_up = item.value("came"), item.value("signed_up")
        cells = {"date": date, "shift": day.shift, "signed_up": signed_up, "came": came}
        if came.isdecimal() and signed_up.isdecimal() and int(came) > int(signed_up):
            cells |= {"came": signed_up, "guests": str(int(came) - int(signed_up))}
        return [Entry("attendance", about, cells if came else {})]
    if item.kind == "reading":
        read = {box.name: box.value for box in item.boxes if box.value}
        return [Entry("readings", about, {"date": date, "reservoir": item.of, **read} if read else {})]
    if item.kind == "up":
        cells = {"sown": item.sown, "crop": item.crop, "emerged": item.value("up")}
        return [Entry("plantings", about, cells if item.value("up") else {})]
    if item.kind == "delivery":
        given = {"date": date, "partner": item.of, "crop": item.crop, "kg": in_kg(item.value("kg"))}
        return [Entry("deliveries", about, given if item.ticked else {})]
    if item.kind in ("else", "lost") or (item.kind == "repaired" and not item.ticked):
        return []
    if item.kind in ("failed", "repaired"):
        return [_failure(item, day, about)]
    if item.task == LOST:
        return [Entry("plantings", about, _planting(item, day) if item.ticked else {})]
    units = item.value("count") or as_count(item.units)
    work = {"date": date, "task": item.task, "units": units, "people": item.value("people"),
            "minutes": item.value("minutes")}  # fmt: skip
    if item.task == "pack":
        work["units"] = in_kg(work["units"])
    is_of_plants = item.task in ("sow", *OF_PLANTS)
    is_work = item.ticked and (not is_of_plants or bool(item.value("minutes")))
    made = [Entry("work", about, work if is_work else {})]
    if is_of_plants:
        made.insert(0, Entry("plantings", about, _planting(item, day) if item.ticked else {}))
    return made


def _planting(item: Item, day: Day) -> dict[str, str]:
    date, crop = day.date.isoformat(), on_paper.crops_by_name(day.room.scenario)[item.crop]
    if item.task == "sow":
        return {"sown": date, "crop": item.crop, "cells": item.value("count"),
                "seeds_per_cell": str(crop.seeds_per_cell)}  # fmt: skip
    lost = item.value("lost")
    why = item.value("why") if lost not in ("", "0") else ""
    cells = {"sown": item.sown, "crop": item.crop, "lost": lost, "why": why}
    if item.task == LOST:
        return cells
    if item.task == "transplant":
        many = item.value("count")
        is_part = bool(many) and (item.is_written or many != as_count(item.units))
        return cells | {"transplanted" if item.moves == 0 else "transplanted_again": date,
                        "plants_moved": many if is_part else ""}  # fmt: skip
    kg = in_kg(item.value("kg"))
    grams = as_count(round(float(kg) * _GRAMS, 1)) if _is_number(kg) else kg
    number = str(item.harvests + 1) if crop.harvests > 1 else ""
    return cells | {"harvested": date, "harvest_number": number, "plants_harvested": item.value("count"),
                    "grams": grams, "lost": lost or "0"}  # fmt: skip


def _failure(item: Item, day: Day, about: str) -> Entry:
    times = {name: item.value(name).replace("T", " ") for name in ("down", "noticed", "repaired")}
    times["down"] = times["down"] or times["noticed"][:10]  # the day alone: nobody knows the hour
    if item.kind == "failed":
        machine, _, where = item.value("what").partition("|")
        return Entry("faults", about, {"machine": machine, "where": where, **times} if machine else {})
    machine, where, down = item.machine
    mended = {"machine": machine, "where": where, **times, "down": down}
    return Entry(
        "faults", _about_fault(day.records, item) or about, mended if item.ticked else mended | {"repaired": ""}
    )


def _about_fault(records: Records | None, item: Item) -> str:
    """What the entry of a failure is about, where it was written on the page."""
    for row in records.faults if records is not None else ():
        if row.entry and (row.machine, row.where, moment_down(row)) == item.machine:
            return row.entry.partition(" #")[0]
    return ""


def moment_down(row: FaultRow) -> str:
    """When it failed, as a record says it: the day alone where the hour is not known."""
    at_midnight = row.down.time() == dt.time() and not row.to_the_hour
    return row.down.date().isoformat() if at_midnight else row.down.isoformat(" ", "minutes")


def in_kg(text: str) -> str:
    """A weight as typed in the room's unit, in kilograms; other text as it stands."""
    return str(number_in(text, "kg")) if text else ""


def _is_number(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False


def fill_from(items: Iterable[Item], day: Day, stands: Mapping[tuple[str, str], Written]) -> None:
    """Put what is written down already into the boxes."""
    for item in items:
        asked, item.ticked = item.ticked, True
        entries, item.ticked = entries_of(item, day), asked
        for entry in entries:
            now = stands.get((entry.table, entry.about))
            if now is None:
                continue
            item.seen[entry.table] = now.entry
            if not now.cells or item.kind == "repaired":
                continue
            item.is_written = item.ticked = True
            for box in item.boxes:
                box.value = _as_in(box.name, entry.table, now.cells, box.value)


def _as_in(name: str, table: str, cells: Mapping[str, str], now: str) -> str:
    if name == "kg":
        grams = cells.get("grams", "")
        kg = cells.get("kg", "") or (as_count(float(grams) / _GRAMS) if grams else "")
        return as_typed(float(kg), "kg") if kg else now
    if name == "came":
        return str(int(cells[name]) + int(cells.get("guests", 0)))
    if name == "what":
        return f"{cells.get('machine', '')}|{cells.get('where', '')}"
    if name in ("down", "noticed", "repaired"):
        moment = cells.get(name, "").replace(" ", "T")
        return moment if "T" in moment else ""
    if name == "up":
        return cells.get("emerged", now)
    if name == "count" and ("transplanted" in cells or "transplanted_again" in cells):
        return cells.get("plants_moved", "")
    if name == "count" and cells.get("task") == "transplant":
        return now
    if name == "count":
        units = cells.get("units", now)
        return cells.get("cells") or cells.get("plants_harvested") or (
            as_typed(float(units), "kg") if cells.get("task") == "pack" else units)  # fmt: skip
    if table == "plantings" and name in ("minutes", "people"):
        return now
    return cells.get(name, "" if name in ("minutes", "people", "lost", "why") and table == "plantings" else now)
