"""Reading a shelves file: what stands in the room today, one line for each lot in each rack.

CSV with the columns lot, crop, stage, days_since_sowing, plants, rack (rack may be left empty). Commas or semicolons.
"""

from __future__ import annotations

import csv
import io
import math
from pathlib import Path

from growsim.errors import Fault, RoomFileError
from growsim.spec import on_paper, reading
from growsim.spec.crop import Crop
from growsim.spec.names import unknown_name
from growsim.spec.plan import ShelfLot
from growsim.spec.scenario import Scenario
from growsim.spec.wording import nearest

COLUMNS = ("lot", "crop", "stage", "days_since_sowing", "plants", "rack")
_MAY_BE_MISSING = ("rack",)
_MOST = {"days_since_sowing": 3650, "plants": 1_000_000}


def load_shelves(path: Path, scenario: Scenario) -> tuple[ShelfLot, ...]:
    """The lots of a shelves file, in its order. Raises RoomFileError with every fault, by line."""
    text = reading.text_of(path, reading.whole_file(path))
    reader = _Reader(path, scenario)
    lots = reader.read(text)
    if not reader.faults:
        reader.check_slots(lots)
    if reader.faults:
        raise RoomFileError(reader.faults)
    return tuple(lot for _, lot in lots)


class _Reader:
    """Reads one shelves file; collects faults on the way."""

    def __init__(self, path: Path, scenario: Scenario) -> None:
        self.path = path
        self.scenario = scenario
        self.crops = on_paper.crops_by_name(scenario)
        self.racks = [rack.name for rack in scenario.racks]
        self.faults: list[Fault] = []

    def read(self, text: str) -> list[tuple[int, ShelfLot]]:
        """Lots with their line numbers."""
        first = next((line for line in text.splitlines() if line.strip()), "")
        separator = max(",;\t", key=first.count)
        rows = csv.reader(io.StringIO(text), delimiter=separator)
        lots: list[tuple[int, ShelfLot]] = []
        columns: list[str] | None = None
        try:
            for row in rows:
                if not any(cell.strip() for cell in row):
                    continue
                if columns is None:
                    columns = [cell.strip().lower().replace(" ", "_") for cell in row]
                    if not self._heading(columns):
                        return []
                    continue
                lot = self._line(rows.line_num, columns, [cell.strip() for cell in row])
                if lot is not None:
                    self._agrees(rows.line_num, lot, lots)
                    lots.append((rows.line_num, lot))
        except csv.Error:
            self._fault(f"line {rows.line_num}", "cannot be read as a line of a table", "save the file as plain CSV")
        return lots

    def _heading(self, columns: list[str]) -> bool:
        missing = [name for name in COLUMNS if name not in columns and name not in _MAY_BE_MISSING]
        extra = [name for name in columns if name not in COLUMNS]
        for name in extra:
            right = nearest(name, missing)
            self._fault(
                "line 1",
                f"'{name}' is no column of a shelves file",
                f"did you mean '{right}'" if right else f"the columns are {', '.join(COLUMNS)}",
            )
        explained = {nearest(name, missing) for name in extra}
        for name in missing:
            if name not in explained:
                self._fault("line 1", f"the column '{name}' is missing", f"the columns are {', '.join(COLUMNS)}")
        for name in sorted({name for name in columns if columns.count(name) > 1 and name in COLUMNS}):
            self._fault("line 1", f"the column '{name}' stands twice", "keep one of the two")
        return not self.faults

    def _line(self, number: int, columns: list[str], cells: list[str]) -> ShelfLot | None:
        if len(cells) != len(columns):
            self._fault(
                f"line {number}", f"has {len(cells)} cells for {len(columns)} columns", "give one cell for each column"
            )
            return None
        row = dict(zip(columns, cells, strict=True))
        before = len(self.faults)
        if not row["lot"]:
            self._fault(f"line {number}, lot", "is empty", "give the lot a label, e.g. its sowing date and crop")
        crop = self.crops.get(row["crop"])
        if crop is None:
            self._fault(f"line {number}, crop", *unknown_name("crop of this room", row["crop"], list(self.crops)))
        else:
            stages = [stage.name for stage in crop.stages]
            if row["stage"] not in stages:
                self._fault(f"line {number}, stage", *unknown_name(f"stage of {crop.name}", row["stage"], stages))
        rack = row.get("rack", "")
        if rack and rack not in self.racks:
            self._fault(f"line {number}, rack", *unknown_name("rack of this room", rack, self.racks))
        days = self._whole(number, row, "days_since_sowing", least=0)
        plants = self._whole(number, row, "plants", least=1)
        if len(self.faults) > before or days is None or plants is None:
            return None
        return ShelfLot(row["lot"], row["crop"], row["stage"], days, plants, rack)

    def _whole(self, number: int, row: dict[str, str], column: str, least: int) -> int | None:
        given, most = row[column], _MOST[column]
        plain = given.isascii() and given.lstrip("-").isdigit() and len(given) < 12
        if plain and least <= int(given) <= most:
            return int(given)
        problem = f"is '{given[:20]}'" if given else "is empty"
        self._fault(f"line {number}, {column}", problem, f"give a whole number from {least} to {most}")
        return None

    def _agrees(self, number: int, lot: ShelfLot, earlier: list[tuple[int, ShelfLot]]) -> None:
        """Lines of one lot agree on its crop and age, and no line says the same place again."""
        for line, other in earlier:
            if other.lot != lot.lot:
                continue
            if (other.crop, other.days_since_sowing) != (lot.crop, lot.days_since_sowing):
                self._fault(
                    f"line {number}, lot",
                    f"'{lot.lot}' has another crop or age in line {line}",
                    "give each sowing its own label",
                )
                return
            if (other.stage, other.rack) == (lot.stage, lot.rack):
                self._fault(
                    f"line {number}, lot", f"'{lot.lot}' stands there in line {line} too", "add the two together"
                )
                return

    def check_slots(self, lots: list[tuple[int, ShelfLot]]) -> None:
        """What stands on the shelves fits them: trays by stage and rack, then by stage in the whole room."""
        used: dict[tuple[str, str, str], int] = {}
        for number, lot in lots:
            crop = self.crops[lot.crop]
            tray_name, places = self._tray(crop, lot.stage)
            trays = math.ceil(lot.plants / places)
            for rack in dict.fromkeys((lot.rack, "")):  # a rack that is too full is told once, as that rack
                key = (lot.stage, tray_name, rack)
                slots = self._slots(crop, lot.stage, rack)
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
        self.faults.append(Fault(str(self.path), key, problem, remedy))
