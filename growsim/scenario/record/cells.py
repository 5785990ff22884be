"""From one cell to a date, a moment or a number. A cell that cannot be read says why in half a sentence."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Literal

from growsim.scenario.reading import as_written
from growsim.scenario.spreadsheets import Cell
from growsim.vocabulary.days import SHORT_MONTHS, WEEKDAYS
from growsim.vocabulary.regions import BY_NAME

DateOrder = Literal["day-first", "month-first"]
FIRST_YEAR, LAST_YEAR = 1990, 2200

_MONTHS = tuple(name.lower() for name in SHORT_MONTHS)
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_NUMBERED = re.compile(r"(\d{1,2})[-/. ]+(\d{1,2})(?:[-/. ]+(\d{4})|[/.](\d{2}))")
_DAY_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[-/. ]+([a-z]{3,9})\.?[-/., ]+(\d{4})")
_NAMED_DAY = re.compile(r"([a-z]{3,9})\.?[-/. ]+(\d{1,2})(?:st|nd|rd|th)?[-/., ]+(\d{4})")
_WEEKDAY = re.compile(rf"^(?:{'|'.join(WEEKDAYS)})[a-z]*\.?,?\s+")
_TIME = re.compile(r"(?:\s+|t)(\d{1,2})[:.](\d{2})(?:[:.](\d{2})(?:\.\d+)?)?\s*(am|pm)?$")


def order_in(region: object, units: object) -> DateOrder | None:
    """How dates such as 3/4/2031 are meant in a region; None where people write either (or none is told, but for units
    of the US)."""
    if region == "US" or (region not in BY_NAME and units == "us"):
        return "month-first"
    return None if region not in BY_NAME or region in ("elsewhere", "Canada") else "day-first"


class UnreadableError(ValueError):
    """A cell that cannot be used; the message says why."""


@dataclass(frozen=True)
class DateRead:
    """A date as far as it can be told.

    readings: by order of day and month; one entry under "" where the order does not matter. time: of day, if given.
    """

    readings: dict[str, dt.date]
    time: dt.time | None = None

    @property
    def is_ambiguous(self) -> bool:
        """Whether it means one date day first and another month first."""
        return len(self.readings) == 2

    @property
    def only(self) -> str:
        """The one order it can have; "" where it has either or both."""
        return next(iter(self.readings)) if len(self.readings) == 1 else ""

    def date(self, order: DateOrder | None) -> dt.date:
        """The date. Raises UnreadableError where it is none in that order (or in doubt, where no order is known)."""
        if "" in self.readings:
            return self.readings[""]
        if order is None:
            if self.is_ambiguous:
                raise UnreadableError("could be two dates")
            return next(iter(self.readings.values()))
        if order not in self.readings:
            raise UnreadableError(f"is no date with the {order.removesuffix('-first')} first")
        return self.readings[order]


def read_date(cell: Cell) -> DateRead:
    """A date, with the time of day where there is one. Raises UnreadableError."""
    if isinstance(cell, dt.datetime):
        return DateRead({"": _sane(cell.date(), cell)}, cell.time() if cell.time() != dt.time() else None)
    if isinstance(cell, dt.date):
        return DateRead({"": _sane(cell, cell)})
    if not isinstance(cell, str):
        raise UnreadableError(
            f"is {as_written(cell)}, which is no date" + ("; format the column as dates" if _is_serial(cell) else "")
        )
    text = " ".join(cell.lower().split())
    time = None
    found = _TIME.search(text)
    if found:
        time, text = _time(found, cell), text[: found.start()]
    text = _WEEKDAY.sub("", text).strip(" ,")
    return DateRead(_readings(text, cell), time)


def _readings(text: str, cell: Cell) -> dict[str, dt.date]:
    if found := _ISO.fullmatch(text):
        return {"": _made(*(int(part) for part in found.groups()), cell=cell)}
    if found := _DAY_NAMED.fullmatch(text):
        return {"": _made(int(found[3]), _month(found[2], cell), int(found[1]), cell=cell)}
    if found := _NAMED_DAY.fullmatch(text):
        return {"": _made(int(found[3]), _month(found[1], cell), int(found[2]), cell=cell)}
    if found := _NUMBERED.fullmatch(text):
        one, two, year = int(found[1]), int(found[2]), int(found[3] or 2000) + int(found[4] or 0)
        readings: dict[str, dt.date] = {}
        for order, month, day in (("day-first", two, one), ("month-first", one, two)):
            try:
                readings[order] = _sane(dt.date(year, month, day), cell)
            except ValueError:
                continue
        if not readings:
            raise UnreadableError(f"is {as_written(cell)}, which is no date of the calendar")
        return {"": next(iter(readings.values()))} if len(set(readings.values())) < len(readings) else readings
    hint = "; format the column as dates" if _is_serial(cell) else "; give a date such as 2031-03-25"
    raise UnreadableError(f"is {as_written(cell)}, which is no date{hint}")


def _is_serial(cell: Cell) -> bool:
    """Whether it looks like a spreadsheet's own count of days."""
    text = str(cell)
    return not isinstance(cell, bool) and bool(re.fullmatch(r"\d{5}(\.\d+)?", text)) and 30000 < float(text) < 80000


def _month(word: str, cell: Cell) -> int:
    if word[:3] not in _MONTHS:
        raise UnreadableError(f"is {as_written(cell)}, which is no date; give a date such as 2031-03-25")
    return _MONTHS.index(word[:3]) + 1


def _made(year: int, month: int, day: int, *, cell: Cell) -> dt.date:
    try:
        return _sane(dt.date(year, month, day), cell)
    except ValueError as error:
        if isinstance(error, UnreadableError):
            raise
        raise UnreadableError(f"is {as_written(cell)}, which is no date of the calendar") from None


def _sane(date: dt.date, cell: Cell) -> dt.date:
    if not FIRST_YEAR <= date.year <= LAST_YEAR:
        raise UnreadableError(f"is {as_written(cell)}; give a year from {FIRST_YEAR} to {LAST_YEAR}")
    return date


def _time(found: re.Match[str], cell: Cell) -> dt.time:
    hour, half = int(found[1]), found[4]
    if half:
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return dt.time(hour, int(found[2]))
    except ValueError:
        raise UnreadableError(f"is {as_written(cell)}, whose time is no time of day") from None


def read_number(cell: Cell, low: float, high: float, *, whole: bool = False) -> float:
    """A number within limits. A decimal comma is a decimal comma; "1,234" could be two numbers and is neither.

    Raises UnreadableError.
    """
    if isinstance(cell, bool) or not isinstance(cell, (int, float, str)):
        raise UnreadableError(f"is {as_written(cell)}, which is no number")
    number = _number_of(cell) if isinstance(cell, str) else float(cell)
    if whole and number != int(number):
        raise UnreadableError(f"is {as_written(cell)}; give a whole number")
    if not low <= number <= high:
        raise UnreadableError(f"is {as_written(cell)}; give a number from {low:g} to {high:.9g}")
    return number


def _number_of(text: str) -> float:
    plain = text.replace("\u00a0", "").replace(" ", "")
    if re.fullmatch(r"-?\d{1,3}(,\d{3})+", plain):
        raise UnreadableError(f"is {as_written(text)}, which could be two numbers; write it without the comma")
    if re.fullmatch(r"-?\d{1,3}(,\d{3})+\.\d+", plain):
        plain = plain.replace(",", "")
    plain = plain.replace(",", ".") if plain.count(",") == 1 and "." not in plain else plain
    if not re.fullmatch(r"[+-]?(\d{1,15}(\.\d*)?|\.\d+)", plain):
        hint = " without its unit" if re.match(r"[+-]?\d", plain) else ""
        raise UnreadableError(f"is {as_written(text)}, which is no number; give a number{hint}")
    return float(plain)
