"""Reading a shelves file: what stands in the room today, one line for each lot in each rack.

A CSV file, or the first sheet of a workbook, with the columns lot (or tray), crop, stage, sown (a date) or
days_since_sowing, plants, and, where known, rack (or where) and harvests (how often a crop of several harvests has been
harvested already). Greens packed and not handed out yet are lines of their own: stage `cooler`, with kg instead of an
age and plants. Other columns, such as notes, are left alone.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from growsim.errors import Fault, RoomFileError
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.names import unknown_name
from growsim.scenario.placing import place
from growsim.scenario.plan import ShelfLot, StoredGreens
from growsim.scenario.reading import short
from growsim.scenario.record.cells import DateOrder, DateRead, UnreadableError, read_date, read_number
from growsim.scenario.scenario import Scenario
from growsim.scenario.spreadsheets import Sheet, SheetRow, read_sheet, shown
from growsim.scenario.wording import nearest, told_once
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.old_words import OLD_WORDS, is_now

COLUMNS = ("lot", "crop", "stage", "sown", "days_since_sowing", "plants", "rack", "harvests", "kg")
COOLER = "cooler"
_HERE = "shelves file"  # in the table of old words
_STAGE = "shelves file, stage"
ALSO_CALLED = {"tray": "lot", "where": "rack", "sown_date": "sown", "date_sown": "sown"}
_MAY_BE_MISSING = ("rack", "harvests", "kg")
_AGE = ("sown", "days_since_sowing")  # one of the two
_MOST = {"days_since_sowing": 3650, "plants": 1_000_000, "harvests": 11}
_MOST_LETTERS = 60  # of the label of a lot
_ENOUGH_FAULTS = 50  # then it is no matter of a slip here and there, and the lines below are not looked at
_ORDERS: tuple[DateOrder, ...] = ("day-first", "month-first")


@dataclass(frozen=True)
class Today:
    """What a shelves file says: lots on the shelves and greens in the cooler, each in the order of its lines."""

    lots: tuple[ShelfLot, ...] = ()
    cooler: tuple[StoredGreens, ...] = ()


def load_shelves(path: Path, scenario: Scenario, today: dt.date | None = None) -> Today:
    """Read a shelves file. today: the morning of the count; the room's start date where None.

    Raises RoomFileError with every fault, by line.
    """
    sheet = read_sheet(path)
    reader = _Reader(sheet.file, scenario, today or scenario.room.start_date)
    lots = reader.read(sheet)
    if not reader.faults:
        reader.check_slots(lots)
    if reader.faults:
        raise RoomFileError(told_once(reader.faults))
    return Today(tuple(lot for _, lot in lots), tuple(reader.cooler))


def harvests_by_age(crop: Crop, stage: str, days_since_sowing: int) -> int:
    """How often plants of that age must have been harvested already, or they would be overgrown; never the
    last time.
    """
    too_old = days_since_sowing - crop.typical_days - crop.overgrown_after_days
    if too_old <= 0 or stage != crop.stages_in_order()[-1].name:
        return 0
    return min(crop.harvests - 1, 1 + int(too_old / crop.regrowth_days))


def _written_as(given: str, known: Iterable[str]) -> str:
    plain = " ".join(given.lower().split())
    return next((name for name in known if name == given), None) or next(
        (name for name in known if " ".join(name.lower().split()) == plain), given
    )


class _Reader:
    """Reads one shelves file; collects faults on the way."""

    def __init__(self, file: str, scenario: Scenario, today: dt.date) -> None:
        self.file, self.scenario, self.today = file, scenario, today
        self.crops = on_paper.crops_by_name(scenario)
        self.racks = [rack.name for rack in scenario.racks]
        self.faults: list[Fault] = []
        self.cooler: list[StoredGreens] = []
        self._order: DateOrder | None = None
        self._first: dict[str, tuple[int, ShelfLot]] = {}
        self._there: dict[tuple[str, str, str, int], int] = {}

    def read(self, sheet: Sheet) -> list[tuple[int, ShelfLot]]:
        """Lots with their line numbers."""
        lots: list[tuple[int, ShelfLot]] = []
        old = {name: new for name in sheet.columns if (new := is_now(_HERE, name))}
        for name, new in old.items():
            self._fault(f"line {sheet.heading_line}", f"'{name}' is now called '{new}'", "rename it")
        names = {name: {**ALSO_CALLED, **old}.get(name, name) for name in sheet.columns if name}
        if not self._heading(sheet.heading_line, list(names.values())):
            return []
        rows = [(row, {names[name]: cell for name, cell in row.cells.items()}) for row in sheet.rows]
        self._order = self._date_order([cells["sown"] for _, cells in rows if cells.get("sown") is not None])
        for row, cells in rows:
            texts = {name: "" if cell is None else shown(cell).strip() for name, cell in cells.items()}
            lot = self._line(row, texts)
            if lot is not None:
                self._agrees(row.line, lot)
                lots.append((row.line, lot))
            if len(self.faults) >= _ENOUGH_FAULTS:
                break
        return lots

    def _date_order(self, cells: Sequence[object]) -> DateOrder | None:
        """Day or month first, where only one of the two gives dates of the last year only; else None."""
        read = []
        for cell in cells:
            try:
                read.append(read_date(cell))  # type: ignore[arg-type]
            except UnreadableError:
                continue  # told when its line is read
        fitting = [order for order in _ORDERS if all(self._is_recent(each, order) for each in read)]
        return fitting[0] if len(fitting) == 1 else None

    def _is_recent(self, read: DateRead, order: DateOrder) -> bool:
        try:
            return 0 <= (self.today - read.date(order)).days <= 366
        except UnreadableError:
            return False

    def _heading(self, line: int, columns: list[str]) -> bool:
        before = len(self.faults)
        missing = [name for name in COLUMNS if name not in (*columns, *_MAY_BE_MISSING, *_AGE)]
        if not any(name in columns for name in _AGE):
            missing.append("sown")
        not_there = [name for name in COLUMNS if name not in columns]
        meant = {name: nearest(name, not_there) for name in columns if name not in COLUMNS}
        for name, right in meant.items():
            if right:
                problem = f"'{name}' is no column of a shelves file"
                self._fault(f"line {line}", problem, f"did you mean '{right}'")
        for name in missing:
            if name not in meant.values() and not (name == "sown" and "days_since_sowing" in meant.values()):
                words = "'sown' (or 'days_since_sowing')" if name == "sown" else f"'{name}'"
                self._fault(f"line {line}", f"the column {words} is missing", f"the columns are {', '.join(COLUMNS)}")
        for name in sorted({name for name in columns if columns.count(name) > 1 and name in COLUMNS}):
            self._fault(f"line {line}", f"the column '{name}' stands twice", "keep one of the two")
        return len(self.faults) == before

    def _line(self, sheet_row: SheetRow, row: dict[str, str]) -> ShelfLot | None:
        number = sheet_row.line
        if sheet_row.problem:
            self._fault(f"line {number}", sheet_row.problem, "give one cell for each column")
            return None
        before = len(self.faults)
        self._as_the_room_writes_it(number, row)
        if not row["lot"]:
            self._fault(f"line {number}, lot", "is empty", "give the lot a label, e.g. its sowing date and crop")
        elif len(row["lot"]) > _MOST_LETTERS or not row["lot"].isprintable():
            problem = f"is '{short(row['lot'])}'"
            self._fault(f"line {number}, lot", problem, f"give it on one line, in up to {_MOST_LETTERS} letters")
        crop = self.crops.get(row["crop"])
        if crop is None:
            self._fault(f"line {number}, crop", *unknown_name("crop of this room", row["crop"], list(self.crops)))
        if row["stage"] == COOLER:
            self._greens(number, row, crop)
            return None
        if crop is not None and row["stage"] not in (stages := [stage.name for stage in crop.stages]):
            self._fault(f"line {number}, stage", *unknown_name(f"stage of {crop.name}", row["stage"], stages))
        rack = row.get("rack", "")
        if rack and rack not in self.racks:
            self._fault(f"line {number}, rack", *unknown_name("rack of this room", rack, self.racks))
        days = self._days(number, row)
        plants = self._whole(number, row, "plants", least=1)
        harvests = self._whole(number, row, "harvests", least=0) if row.get("harvests") else None
        if len(self.faults) > before or days is None or plants is None or crop is None:
            return None
        if harvests is None:
            harvests = harvests_by_age(crop, row["stage"], days)
        elif harvests > 0 and (harvests >= crop.harvests or row["stage"] != crop.stages_in_order()[-1].name):
            problem = f"says {harvests}; {crop.name} is harvested {crop.harvests} times, in its last stage"
            self._fault(
                f"line {number}, harvests",
                problem,
                "give how often these plants have been harvested already, or nothing",
            )
            return None
        return ShelfLot(row["lot"], row["crop"], row["stage"], days, plants, rack, harvests)

    def _as_the_room_writes_it(self, number: int, row: dict[str, str]) -> None:
        """Names that differ from the room file's by capitals or blanks alone are its names."""
        crop = _written_as(row["crop"], self.crops)
        stages = [stage.name for stage in self.crops[crop].stages] if crop in self.crops else []
        stage = _written_as(row["stage"], [*stages, COOLER, *OLD_WORDS[_STAGE]])
        if stage not in stages and (new := is_now(_STAGE, stage)):
            told = f"'{stage}' is now called '{new}'"
            if all(fault.problem != told for fault in self.faults):
                self._fault(f"line {number}, stage", told, "rename it wherever it stands")
            stage = new
        row |= {"crop": crop, "stage": stage}
        if "rack" in row:
            row["rack"] = _written_as(row["rack"], self.racks)

    def _greens(self, number: int, row: dict[str, str], crop: Crop | None) -> None:
        """Packed greens: harvested on the last harvest day before today, whatever the line says of age and plants."""
        given = row.get("kg", "")
        try:
            kg = read_number(given, 0.001, 100_000)
        except UnreadableError:
            problem = f"is '{given[:20]}'" if given else "is empty"
            self._fault(f"line {number}, kg", problem, "give the kilograms in the cooler, such as 3.5")
            return
        if crop is not None and row["lot"]:
            cutting = [WEEKDAYS.index(day) for day in self.scenario.harvest.weekdays]
            days = next(days for days in range(1, 8) if (self.today.weekday() - days) % 7 in cutting)
            self.cooler.append(StoredGreens(row["lot"], crop.name, round(kg * 1000), days))

    def _days(self, number: int, row: dict[str, str]) -> int | None:
        """Whole days since sowing, from either column. Both may be there; a line fills one."""
        sown, days = row.get("sown", ""), row.get("days_since_sowing", "")
        if not sown:
            if "days_since_sowing" in row and (days or "sown" not in row):
                return self._whole(number, row, "days_since_sowing", least=0)
            self._fault(f"line {number}, sown", "is empty", "give the date of sowing, such as 2031-01-06")
            return None
        try:
            date = read_date(sown).date(self._order)
        except UnreadableError as reason:
            problem, _, remedy = str(reason).partition("; ")
            remedy = remedy or "give year, month and day, such as 2031-01-06"
            self._fault(f"line {number}, sown", problem, remedy)
            return None
        age = (self.today - date).days
        if not 0 <= age <= _MOST["days_since_sowing"]:
            problem = f"is {date}, and today is {self.today}"
            counted = ", or the day on which you counted (--date)" if age < 0 else ""
            self._fault(f"line {number}, sown", problem, f"give a date within the ten years before today{counted}")
            return None
        if days and self._whole(number, row, "days_since_sowing", least=0) not in (None, age):
            problem = f"is {days}, and {date} is {age} days ago"
            self._fault(f"line {number}, days_since_sowing", problem, "give one of the two")
            return None
        return age

    def _whole(self, number: int, row: dict[str, str], column: str, least: int) -> int | None:
        given, most = row[column], _MOST[column]
        with contextlib.suppress(UnreadableError):
            if given.isascii():
                return int(read_number(given, least, most, whole=True))
        problem = f"is '{given[:20]}'" if given else "is empty"
        self._fault(f"line {number}, {column}", problem, f"give a whole number from {least} to {most}")
        return None

    def _agrees(self, number: int, lot: ShelfLot) -> None:
        """Lines of one lot agree on its crop and age, and no line says the same place again."""
        line, other = self._first.setdefault(lot.lot, (number, lot))
        there = self._there.setdefault((lot.lot, lot.stage, lot.rack, lot.harvests), number)
        if (other.crop, other.days_since_sowing) != (lot.crop, lot.days_since_sowing):
            problem = f"'{lot.lot}' has another crop or age in line {line}"
            self._fault(f"line {number}, lot", problem, "give each sowing its own label")
        elif there != number:
            self._fault(f"line {number}, lot", f"'{lot.lot}' stands there in line {there} too", "add the two together")

    def check_slots(self, lots: list[tuple[int, ShelfLot]]) -> None:
        """What stands on the shelves fits them: trays by stage and rack, by stage in the whole room, then all."""
        used: dict[tuple[str, str, str], int] = {}
        held: dict[tuple[str, str, str], int] = {}
        for number, lot in lots:
            crop = self.crops[lot.crop]
            tray_name, places = self._tray(crop, lot.stage)
            trays = math.ceil(lot.plants / places)
            for rack in dict.fromkeys((lot.rack, "")):  # a rack that is too full is told once, as that rack
                key = (lot.stage, tray_name, rack)
                if key not in held:
                    held[key] = self._slots(crop, lot.stage, rack)
                slots = held[key]
                used[key] = used.get(key, 0) + trays
                if used[key] > slots and used[key] - trays <= slots:
                    where = f"on {rack}" if rack else "in the room"
                    self._fault(
                        f"line {number}, plants",
                        f"with this line {used[key]} trays of the {lot.stage} stage stand {where}, which has {slots} "
                        "slots for them",
                        "count again, or correct the stage or rack",
                    )
                    break
        if not self.faults:
            self._check_all_fit(lots)

    def _check_all_fit(self, lots: list[tuple[int, ShelfLot]]) -> None:
        """Stages may share shelves: each fits by itself, yet not all at once."""
        placing = place([lot for _, lot in lots], self.scenario)
        for (number, lot), trays in zip(lots, placing.left_over, strict=True):
            if trays:
                self._fault(
                    f"line {number}, plants",
                    f"with the lines above on the shelves, no slot is left for {trays} of its trays "
                    f"of the {lot.stage} stage",
                    "count again, or correct the stage or rack",
                )

    def _tray(self, crop: Crop, stage_name: str) -> tuple[str, int]:
        stage = next(stage for stage in crop.stages if stage.name == stage_name)
        return stage.tray, on_paper.trays_by_name(self.scenario)[stage.tray].places

    def _slots(self, crop: Crop, stage_name: str, rack_name: str) -> int:
        tray = on_paper.trays_by_name(self.scenario)[self._tray(crop, stage_name)[0]]
        return sum(
            group.total_slots
            for rack in self.scenario.racks
            if rack_name in ("", rack.name)
            for group in rack.shelves
            if stage_name in group.stages and group.fits(tray)
        )

    def _fault(self, key: str, problem: str, remedy: str) -> None:
        self.faults.append(Fault(self.file, key, problem, remedy))
