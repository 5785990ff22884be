"""From the cells of a row to a row of the record: what cannot be is said, and the row is set aside."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from growsim.scenario.crop import Crop
from growsim.scenario.machines import names_at
from growsim.scenario.names import ANY_CROP, unknown_name
from growsim.scenario.record.cells import DateOrder, UnreadableError, read_date, read_number
from growsim.scenario.record.record import AttendanceRow, DeliveryRow, FaultRow, PlantingRow, ReadingRow, Row, WorkRow
from growsim.scenario.record.tables import ENTRY, OTHER, Column, RecordTable
from growsim.scenario.scenario import Scenario
from growsim.scenario.spreadsheets import Cell, SheetRow, shown
from growsim.scenario.wording import nearest
from growsim.vocabulary.losses import LOSSES
from growsim.vocabulary.machines import BY_KEY, CAN_FAIL, WORDS
from growsim.vocabulary.old_words import is_now
from growsim.vocabulary.tasks import TASK_WORDS, TASKS

Values = dict[str, Any]

_REASONS = {
    **dict.fromkeys(("other", "unknown", "disease", "mold", "pests", "aphids", "rot", "algae", "damping off"), OTHER),
    **{word: loss.record_word for loss in LOSSES for word in loss.record_words or ()},
}
_BETWEEN = re.compile(r"[,;/+]|\band\b|(?<=[a-z])\s+(?=\d+\s*[a-z])", re.IGNORECASE)
_COUNTED = re.compile(r"(?:(\d+)\s*[x×]?\s*(?:plants?\s+)?(\D+)|(\D+?)\s*([:=]?)\s*(\d+))")


# Grams a plant farther than so many times from the crop's typical mass: a slip of the unit or of a digit, no harvest.
UNLIKELY_TIMES = 20.0


class RowReader:
    """Reads rows of one table; knows the names of the room."""

    def __init__(self, table: RecordTable, scenario: Scenario, order: DateOrder | None) -> None:
        self.table, self.scenario, self.order = table, scenario, order
        self._crops = {crop.name.lower(): crop for crop in scenario.crops}
        self._shifts = {shift.name.lower(): shift.name for shift in scenario.crew.shifts}

    def read(self, file: str, row: SheetRow) -> Row:
        """The row. Raises UnreadableError with the reason why it cannot be used."""
        if row.problem:
            raise UnreadableError(row.problem)
        values: Values = {}
        for column in self.table.columns:
            values[column.name] = self._value(column, row.cells)
        made: dict[str, Callable[[str, int, Values], Row]] = {
            "plantings": self._tray,
            "attendance": self._attendance,
            "work": self._work,
            "faults": self._fault,
            "deliveries": self._delivery,
            "readings": self._reading,
        }
        read = made[self.table.name](file, row.line, values)
        return replace(read, entry=shown(row.cells[ENTRY])) if row.cells.get(ENTRY) is not None else read

    def _value(self, column: Column, cells: Mapping[str, Cell]) -> Any:
        cell = cells.get(column.name)
        if cell is None:
            if column.needed:
                raise UnreadableError(f"{column.name} is empty")
            return None
        try:
            if isinstance(cell, str) and cell.startswith("formula "):
                raise UnreadableError("is a formula that was never worked out; save the workbook once in a spreadsheet")
            if column.kind == "text":
                return " ".join(shown(cell).split())
            if column.kind == "date":
                return read_date(cell).date(self.order)
            if column.kind == "moment":
                read = read_date(cell)
                return dt.datetime.combine(read.date(self.order), read.time or dt.time()), read.time is not None
            number = read_number(cell, column.low, column.high, whole=column.kind == "whole")
            return int(number) if column.kind == "whole" else number
        except UnreadableError as error:
            raise UnreadableError(f"{column.name} {error}") from None

    def _tray(self, file: str, line: int, v: Values) -> PlantingRow:
        crop = self._crops.get(v["crop"].lower())
        if crop is None:
            problem, remedy = unknown_name("crop of this room", v["crop"], [c.name for c in self.scenario.crops])
            raise UnreadableError(f"crop {problem}; {remedy}")
        v["harvest_number"] = v["harvest_number"] or 1
        why = v.pop("why")
        lost_to = reasons(v["lost"], why)
        if v["lost"] is None and lost_to is not None:
            v["lost"] = sum(count for _, count in lost_to)
        row = PlantingRow(file, line, **{**v, "crop": crop.name, "lost_to": lost_to})
        refuse_impossible(row, crop)
        return row

    def _attendance(self, file: str, line: int, v: Values) -> AttendanceRow:
        shift = v["shift"] or ""
        if shift and shift.lower() not in self._shifts:
            problem, remedy = unknown_name("shift of this room", shift, list(self._shifts.values()))
            raise UnreadableError(f"shift {problem}; {remedy}")
        if v["came"] > v["signed_up"]:
            raise UnreadableError(
                f"came is {v['came']}, more than signed_up {v['signed_up']}; count the others as guests"
            )
        name = self._shifts.get(shift.lower(), "")
        return AttendanceRow(file, line, v["date"], name, v["signed_up"], v["came"], v["guests"] or 0)

    def _work(self, file: str, line: int, v: Values) -> WorkRow:
        word = v["task"].lower().replace("_", " ").replace("-", " ")
        if new := is_now("work, task", word):
            raise UnreadableError(f"task '{word}' is now called '{new}'; rename it")
        task = TASK_WORDS.get(word)
        if task is None:
            raise UnreadableError(f"task {'; '.join(unknown_name('kind of work', v['task'], list(TASKS)))}")
        if v["units"] <= 0:
            raise UnreadableError("units is 0; give how much was done")
        return WorkRow(file, line, v["date"], task, v["units"], v["people"] or 1.0, v["minutes"])

    def _delivery(self, file: str, line: int, v: Values) -> DeliveryRow:
        partners = {partner.name.lower(): partner for partner in self.scenario.partners}
        partner = partners.get(v["partner"].lower())
        if partner is None:
            known = [partner.name for partner in partners.values()]
            raise UnreadableError(f"partner {'; '.join(unknown_name('partner of this room', v['partner'], known))}")
        crop = v["crop"].lower()
        if crop != ANY_CROP and crop not in self._crops:
            known = [ANY_CROP, *(crop.name for crop in self.scenario.crops)]
            raise UnreadableError(f"crop {'; '.join(unknown_name('crop of this room', v['crop'], known))}")
        name = ANY_CROP if crop == ANY_CROP else self._crops[crop].name
        return DeliveryRow(file, line, v["date"], partner.name, name, v["kg"])

    def _reading(self, file: str, line: int, v: Values) -> ReadingRow:
        names = {each.name.lower(): each.name for each in self.scenario.reservoirs}
        name = names.get(v["reservoir"].lower())
        if name is None:
            known = list(names.values())
            raise UnreadableError(
                f"reservoir {'; '.join(unknown_name('reservoir of this room', v['reservoir'], known))}"
            )
        row = ReadingRow(file, line, **{**v, "reservoir": name})
        if row.strength_before_ms_cm is row.strength_after_ms_cm is row.ph is None:
            raise UnreadableError("neither strength nor pH is given; give what was read")
        return row

    def _fault(self, file: str, line: int, v: Values) -> FaultRow:
        machine = WORDS.get(v["machine"].lower().replace("_", " "))
        if machine is None:
            known_kinds = [row.key for row in CAN_FAIL]
            raise UnreadableError(f"machine {'; '.join(unknown_name('machine of a room', v['machine'], known_kinds))}")
        place = BY_KEY[machine].place
        places = names_at(self.scenario, place)
        where = v["where"] or ""
        known = {name.lower(): name for name in places}
        if places and where.lower() not in known:
            if where or len(places) > 1:
                told = (
                    "; ".join(unknown_name(place.word, where, places)) if where else f"is empty; give the {place.word}"
                )
                raise UnreadableError(f"where {told}")
            where = places[0]
        (down, timed), noticed, repaired = v["down"], v["noticed"], v["repaired"]
        row = FaultRow(
            file, line, machine, known.get(where.lower(), "") if places else "", down,
            noticed and noticed[0], repaired and repaired[0],
            timed and all(moment[1] for moment in (noticed, repaired) if moment),
        )  # fmt: skip
        _in_order("down", row.down.date(), "noticed", row.noticed and row.noticed.date())
        _in_order("down", row.down.date(), "repaired", row.repaired and row.repaired.date())
        _in_order("noticed", (row.noticed or row.down).date(), "repaired", row.repaired and row.repaired.date())
        if row.to_the_hour:
            _in_order("down", row.down, "noticed", row.noticed)
            _in_order("noticed", row.noticed or row.down, "repaired", row.repaired)
        return row


def reasons(lost: int | None, why: str | None) -> tuple[tuple[str, int], ...] | None:
    """Plants lost by reason, from "transplanting" or "2 handling, 1 too small". None where it is not said, or not
    clear.

    Raises UnreadableError where counts are more than those lost; where they are fewer, the rest is not said.
    """
    if lost == 0 or (lost is None and why is None):
        return () if lost == 0 else None
    if why is None:
        return None
    parts = [part.strip() for part in _BETWEEN.split(why) if part.strip()]
    counted = [_COUNTED.fullmatch(part) for part in parts]
    if not any(counted) and not re.search(r"\d", why):
        named = {reason_of(part) for part in parts}
        return ((named.pop(), lost),) if lost is not None and len(named) == 1 else None
    counts: dict[str, int] = {}
    for match in counted:
        if match is None:
            return None  # a remark with a number in it; no count is guessed
        count, word = (match[1], match[2]) if match[1] else (match[5], match[3])
        reason = reason_of(word)
        if reason == OTHER and not match[1] and not match[4]:
            return None  # "on shelf 3"
        counts[reason] = counts.get(reason, 0) + int(count)
    told = sum(counts.values())
    if lost is not None and told > lost:
        raise UnreadableError(f"why counts {told} plants, and lost says {lost}")
    if lost is not None and told < lost:
        return None  # of the others nobody says why
    return tuple(counts.items())


def reason_of(text: str) -> str:
    """One of `tables.LOST_TO` for what somebody wrote; "other" for what is none of them."""
    word = " ".join(text.lower().replace("_", " ").split())
    if word in _REASONS:
        return _REASONS[word]
    near = nearest(word, _REASONS)
    return _REASONS[near] if near is not None else OTHER


def refuse_impossible(row: PlantingRow, crop: Crop) -> None:
    """Raises UnreadableError where what a row says cannot all be so."""
    _in_order("sown", row.sown, "transplanted", row.transplanted)
    _in_order("sown", row.sown, "harvested", row.harvested)
    _in_order("transplanted", row.transplanted, "harvested", row.harvested)
    _in_order("sown", row.sown, "transplanted_again", row.transplanted_again)
    _in_order("transplanted", row.transplanted, "transplanted_again", row.transplanted_again)
    _in_order("transplanted_again", row.transplanted_again, "harvested", row.harvested)
    _not_above("emerged", row.emerged, "cells", row.cells)
    up = row.emerged
    if up is not None and row.harvest_number == 1:
        _not_above("lost", row.lost, "emerged", up)
        _not_above("plants_harvested", row.plants_harvested, "emerged", up)
        if row.plants_harvested is not None and row.lost is not None and row.plants_harvested + row.lost > up:
            raise UnreadableError(
                f"plants_harvested {row.plants_harvested} and lost {row.lost} are more than emerged {up}"
            )
    if row.harvest_number > crop.harvests:
        raise UnreadableError(
            f"harvest_number is {row.harvest_number}, and {crop.name} is harvested {crop.harvests} times"
        )
    if row.plants_moved is not None and row.transplanted is row.transplanted_again is None:
        raise UnreadableError("plants_moved is given, and no day of a move")
    if row.transplanted_again is not None and len(crop.stages) < 3:
        raise UnreadableError(f"transplanted_again is given, and the room file has {crop.name} moved once at most")
    if row.grams is not None and row.harvested is None:
        raise UnreadableError("grams are given, and harvested is empty")
    _likely_weight(row, crop)


def _likely_weight(row: PlantingRow, crop: Crop) -> None:
    """Raises UnreadableError for grams that no harvest of so many plants weighs, such as kilograms written as grams."""
    plants, typical_g = row.plants or row.cells, crop.typical_mass_g.expected()
    if row.grams is None or not plants:
        return
    each_g = row.grams / plants
    if not typical_g / UNLIKELY_TIMES <= each_g <= typical_g * UNLIKELY_TIMES:
        each = f"{each_g:,.0f}" if each_g >= 10 else f"{each_g:.2g}"
        raise UnreadableError(
            f"grams is {row.grams:g} for {plants} plants, {each} g each, and the room file says {typical_g:.3g} g; "
            "give grams, not kilograms, of the whole harvest"
        )


def _in_order(one: str, earlier: Any, other: str, later: Any) -> None:
    if earlier is not None and later is not None and later < earlier:
        raise UnreadableError(f"{other} {shown(later)} is before {one} {shown(earlier)}")


def _not_above(one: str, count: int | None, other: str, most: int | None) -> None:
    if count is not None and most is not None and count > most:
        raise UnreadableError(f"{one} is {count}, more than {other} {most}")
