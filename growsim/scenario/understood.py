"""Texts in a room file that can only mean one thing, turned into it: "75 F", "25 Dec 2031", "Monday", "yes".

Works on the tables as written, before they are checked. What could mean two things is told, with both; what means
nothing is left as it stands, for the check of its key to refuse.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from growsim.scenario.anatomy import Anatomy, anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.quantities import TwoMeaningsError, amount_in
from growsim.scenario.reading import as_written, dotted
from growsim.scenario.record.cells import UnreadableError, order_in, read_date
from growsim.scenario.wording import Finding
from growsim.vocabulary.days import SHORT_WEEKDAYS, WEEKDAY_NAMES, WEEKDAYS

_DAYS = {name.lower(): WEEKDAYS[place % 7] for place, name in enumerate((*WEEKDAY_NAMES, *SHORT_WEEKDAYS))}
_YES_OR_NO = {"yes": True, "no": False, "true": True, "false": False}
_NUMBERS = ("number", "whole number", "figure")
_NO_UNIT = ("shape",)  # of a figure; everything else in it has the figure's unit
_UNTIL = re.compile(r"\s+(?:to|until|-|–)\s+")

Path = tuple[str | int, ...]


def understood(model: type[Table], raw: dict[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    """The tables with every text that can only mean one thing turned into it (`raw` is not touched), and a finding for
    every text that could mean two."""
    reader = _Reader(raw)
    return reader.table(model, raw, ()), reader.findings


class _Reader:
    def __init__(self, raw: dict[str, Any]) -> None:
        self._raw = raw
        room = raw.get("room")
        self._order = order_in(room.get("region"), room.get("units")) if isinstance(room, dict) else None
        self.findings: list[Finding] = []

    def table(self, model: type[Table], given: Any, path: Path) -> Any:
        if not isinstance(given, dict):
            return given
        fields = model.model_fields
        return {
            key: self._value(anatomy_of(fields[key]), value, (*path, key)) if key in fields else value
            for key, value in given.items()
        }

    def _value(self, what: Anatomy, given: Any, path: Path) -> Any:
        if what.kind == "table" and what.table is not None:
            return self.table(what.table, given, path)
        if what.kind == "figure":
            return self._figure(what, given, path)
        if not what.kind.endswith("s"):
            return self._one(what, what.kind, given, path)
        if not isinstance(given, (list, tuple)):
            return given
        if what.table is not None:
            return [self.table(what.table, entry, (*path, place)) for place, entry in enumerate(given)]
        return [self._one(what, what.kind[:-1], each, (*path, place)) for place, each in enumerate(given)]

    def _figure(self, what: Anatomy, given: Any, path: Path) -> Any:
        if not isinstance(given, dict):
            return self._number(what, given, path)
        return {
            key: self._number(what, value, (*path, key), unit="" if key in _NO_UNIT else what.unit, spread=key == "sd")
            if key not in ("distribution", "source")
            else value
            for key, value in given.items()
        }

    def _one(self, what: Anatomy, kind: str, given: Any, path: Path) -> Any:
        if kind in _NUMBERS:
            return self._number(what, given, path, whole=kind == "whole number")
        if not isinstance(given, str):
            return given
        if kind == "date":
            return self._days(given, path) if what.kind == "dates" else self._date(given, path)
        if kind == "yes or no":
            return _YES_OR_NO.get(given.strip().lower(), given)
        if kind == "choice" and set(what.choices) == set(WEEKDAYS):
            return _DAYS.get(given.strip().lower(), given)
        return given

    def _number(
        self,
        what: Anatomy,
        given: Any,
        path: Path,
        *,
        unit: str | None = None,
        spread: bool = False,
        whole: bool = False,
    ) -> Any:
        if whole and isinstance(given, float) and given.is_integer():
            return int(given)
        if not isinstance(given, str):
            return given
        try:
            amount = amount_in(given, what.unit if unit is None else unit, spread=spread, whole=whole)
        except TwoMeaningsError as two:
            self._tell(path, given, str(two), "write it as one of these")
            return given
        if amount is None:
            return given
        return int(amount) if whole and float(amount).is_integer() else amount

    def _date(self, given: str, path: Path) -> Any:
        try:
            read = read_date(given)
        except UnreadableError:
            return given
        if read.time is not None:
            return given
        if read.is_ambiguous and self._order is None:
            one, other = (f"{day:%Y-%m-%d}" for day in sorted(read.readings.values()))
            self._tell(path, given, "could be two dates", f"write {one} or {other}, or give the room's region")
            return given
        return read.date(self._order if read.is_ambiguous else None)

    def _days(self, given: str, path: Path) -> Any:
        ends = _UNTIL.split(given.strip())
        if len(ends) != 2:
            return self._date(given, path)
        read = [self._date(each, path) for each in ends]
        return f"{read[0]} to {read[1]}" if all(isinstance(each, dt.date) for each in read) else given

    def _tell(self, path: Path, given: str, which: str, remedy: str) -> None:
        self.findings.append((dotted(self._raw, path), f"is {as_written(given)}, which {which}", remedy))
