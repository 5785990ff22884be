"""Texts in a room file that can only mean one thing, turned into it: "75 F", "25 Dec 2031", "24 Dec", "Monday", "yes".

Works on the tables as written, before they are checked. What could mean two things is told, with both; what means
nothing is left as it stands, for the check of its key to refuse.
"""

from __future__ import annotations

import datetime as dt
import re
from typing import Any

from growsim.scenario.anatomy import Anatomy, anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.demand import Rehearsal
from growsim.scenario.quantities import TwoMeaningsError, amount_in
from growsim.scenario.reading import as_written, dotted
from growsim.scenario.record.cells import DateOrder, DateRead, UnreadableError, order_in, read_date
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.expand import Expanded, expand
from growsim.scenario.wording import Finding
from growsim.vocabulary.days import SHORT_WEEKDAYS, WEEKDAY_NAMES, WEEKDAYS
from growsim.vocabulary.regions import BY_NAME

_DAYS = {name.lower(): WEEKDAYS[place % 7] for place, name in enumerate((*WEEKDAY_NAMES, *SHORT_WEEKDAYS))}
_YES_OR_NO = {"yes": True, "no": False, "true": True, "false": False}
_NUMBERS = ("number", "whole number", "figure")
_NO_UNIT = ("shape",)  # of a figure; everything else in it has the figure's unit
UNTIL = re.compile(r"\s+(?:to|until|-)\s+|\s*–\s*")

Path = tuple[str | int, ...]


def understood(model: type[Table], raw: dict[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    """The tables with every text that can only mean one thing turned into it (`raw` is not touched), and a finding for
    every text that could mean two."""
    reader = _Reader(raw)
    return reader.table(model, raw, ()), reader.findings


def in_full_words(raw: dict[str, Any]) -> tuple[Expanded, dict[str, Any], list[Finding]]:
    """A room as written, short or in full: written out; the same with its texts understood; what of them is in doubt.

    Texts are understood twice, since what was told of a group is then told of each. `raw` is not touched.
    """
    room = expand(understood(Scenario, raw)[0])
    return room, *understood(Scenario, room.tables)


class _Reader:
    def __init__(self, raw: dict[str, Any]) -> None:
        self._raw = raw
        room = raw.get("room")
        self._room = room if isinstance(room, dict) else {}
        self._order = order_in(self._room.get("region"), self._room.get("units"))
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
        if what.kind == "dates":
            return self._dates([given] if isinstance(given, (str, dt.date)) else given, path)
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
            return self._date(given, path, self._order)
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

    def _date(self, given: str, path: Path, order: DateOrder | None) -> Any:
        read = _read(given)
        if read is None:
            return given
        if read.is_ambiguous and order is None:
            one, other = (f"{day:%Y-%m-%d}" for day in sorted(read.readings.values()))
            region = "" if self._room.get("region") in BY_NAME else ", or give the room's region"
            self._tell(path, given, "could be two dates", f"write {one} or {other}{region}")
            return given
        return read.date(order if read.is_ambiguous else None)

    def _dates(self, given: Any, path: Path) -> Any:
        """Days and, in one text each, days in a row. Without a year they are meant every year; one that can be read in
        one order alone says how the others are meant."""
        if not isinstance(given, (list, tuple)):
            return given
        told = [
            read.only for text in given if isinstance(text, str) for end in UNTIL.split(text) if (read := _read(end))
        ]
        orders = {order for order in told if order}
        order = self._order or next((each for each in ("day-first", "month-first") if orders == {each}), None)
        found: list[Any] = []
        for place, each in enumerate(given):
            found += self._days(each, (*path, place), order) if isinstance(each, str) else [each]
        return found

    def _days(self, given: str, path: Path, order: DateOrder | None) -> list[Any]:
        ends = UNTIL.split(given.strip())
        if len(ends) > 2:
            return [given]
        if len(ends) == 2 and _read(ends[0]) is None and (end := _read(ends[1])) is not None and not end.is_ambiguous:
            ends[0] = _as_the_last(ends[0], ends[1], end.date(None), order)
        if not any(_read(end) for end in ends) and (every := self._every_year(ends, order)) is not None:
            return every
        read = [self._date(each, path, order) for each in ends]
        if len(read) == 1:
            return read
        return [f"{read[0]} to {read[1]}"] if all(isinstance(each, dt.date) for each in read) else [given]

    def _every_year(self, ends: list[str], order: DateOrder | None) -> list[str] | None:
        """Days without a year, "24 Dec" to "2 Jan", of each year rehearsed; None where they are no such days."""
        begin = self._room.get("start_date")
        begin = begin if isinstance(begin, dt.date) else self._date(str(begin), (), order)
        if not isinstance(begin, dt.date):
            return None
        rehearsal = {key: each.default for key, each in Rehearsal.model_fields.items()} | self._raw.get("rehearsal", {})
        try:
            first = begin - dt.timedelta(days=rehearsal["warm_up_days"])
            last = begin + dt.timedelta(days=rehearsal["days"] - 1)
            closed, is_read = [], False
            for year in range(first.year - 1, last.year + 1):
                one = _in_year(ends[0], year, order)
                other = _in_year(ends[-1], year, order)
                is_read = is_read or (one is not None and other is not None)
                if one is None or other is None:
                    continue
                other = other if other >= one else _in_year(ends[-1], year + 1, order) or other
                one, other = max(one, first), min(other, last)
                closed += [f"{one} to {other}"] if one <= other else []
        except (TypeError, OverflowError):  # told of the rehearsal
            return None
        return closed if is_read else None

    def _tell(self, path: Path, given: str, which: str, remedy: str) -> None:
        self.findings.append((dotted(self._raw, path), f"is {as_written(given)}, which {which}", remedy))


def _read(text: str) -> DateRead | None:
    """A date without a time of day; None for what is none."""
    try:
        read = read_date(text)
    except UnreadableError:
        return None
    return read if read.time is None else None


def _as_the_last(first: str, last: str, end: dt.date, order: DateOrder | None) -> str:
    """The first of two days with what only the last says: the year of "24 Dec to 2 Jan 2027", the month of "20 to
    31 Dec 2026"."""
    if first.strip().isdigit():
        return re.sub(r"\d{1,2}", first.strip(), last, count=1)
    for year in (end.year, end.year - 1):
        if (day := _in_year(first, year, order)) is not None and day <= end:
            return day.isoformat()
    return first


def _in_year(text: str, year: int, order: DateOrder | None) -> dt.date | None:
    """A day and month, "24 Dec" or "24/12", in that year; None where it is none."""
    read = _read(f"{text.strip().rstrip('.')} {year}")
    try:
        return read.date(order if read.is_ambiguous else None) if read else None
    except UnreadableError:
        return None
