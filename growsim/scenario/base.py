"""The paper the drawing is made on: a frozen, checked table, and the figure helper that carries meaning and unit."""

from __future__ import annotations

import datetime as dt
import re
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, field_validator

from growsim.scenario.reading import as_written, is_shown

_DAYS_IN_A_ROW = re.compile(r"""["'\s]*(\S+)\s+(?:to|until|-|–)\s+([^\s"']+)["'\s]*""")
_MOST_DAYS = 366
MOST_LETTERS = 2000  # of a note
_LONG_TEXTS = ("about", "note", "source")


class RefusedError(ValueError):
    """A value a table will not take: what is wrong with it and what would be right, each half a sentence."""

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem, self.remedy = problem, remedy
        super().__init__(f"{problem}; {remedy}")


class Table(BaseModel):
    """One table of the room file. Frozen; refuses unknown keys, NaN, infinity, text or yes/no as a number."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)

    source: str = Field(
        "",
        description="Where the figures of this table come from; 'invented' for made-up ones, 'invented: height_m, "
        "doors' where only those named are.",
        max_length=MOST_LETTERS,
    )

    @field_validator("*", mode="before")
    @classmethod
    def _lists_never_change(cls, given: Any, info: ValidationInfo) -> Any:
        if isinstance(given, str) and not given.isprintable():
            _refuse_unseen(given, may_break=info.field_name in _LONG_TEXTS)
        return tuple(given) if isinstance(given, list) else given


def _refuse_unseen(given: str, *, may_break: bool) -> None:
    """Raises RefusedError for a text with letters that are not seen where they stand, or a name on several lines."""
    if not may_break and len(given.strip().splitlines()) > 1:
        raise RefusedError(f"is {as_written(given)}, on more than one line", "write it on one line")
    if not all((may_break and letter in "\r\n\t") or is_shown(letter) for letter in given.strip()):
        raise RefusedError(
            f"is {as_written(given)}, with a letter that cannot be shown (here ?)", "type it again, letter by letter"
        )


def _date_from_text(given: Any) -> Any:
    """A date in quotes is as good as a bare one. Raises RefusedError for text that is no date."""
    if not isinstance(given, str):
        return given
    try:
        return dt.date.fromisoformat(given.strip())
    except ValueError:
        raise RefusedError(
            f"is {given!r}, which is no date of the calendar", "give a date such as 2031-01-06"
        ) from None


CalendarDay = Annotated[dt.date, BeforeValidator(_date_from_text)]


def days_in_a_row(given: Any) -> Any:
    """A list of days in which "2031-12-20 to 2032-01-02" stands for every day from the first to the last, both with it.

    Whatever is no such text is left for others to judge. Raises RefusedError for one that cannot be meant.
    """
    if not isinstance(given, (list, tuple)):
        return given
    days: list[Any] = []
    for each in given:
        found = _DAYS_IN_A_ROW.fullmatch(each) if isinstance(each, str) else None
        days += [each] if found is None else _each_day(each, found[1], found[2])
    return tuple(days)


def _each_day(written: str, first: str, last: str) -> list[dt.date]:
    try:
        begin, end = dt.date.fromisoformat(first), dt.date.fromisoformat(last)
    except ValueError:
        raise RefusedError(
            f"has {written!r}, in which a date is no date of the calendar",
            'give days such as "2031-12-20 to 2032-01-02"',
        ) from None
    if not 0 <= (end - begin).days < _MOST_DAYS:
        raise RefusedError(
            f"has {written!r}, which {'ends before it begins' if end < begin else 'is more than a year'}",
            'give the first day and the last, such as "2031-12-20 to 2032-01-02"',
        )
    return [begin + dt.timedelta(days=day) for day in range((end - begin).days + 1)]


def figure(
    meaning: str,
    unit: str = "",
    *,
    default: Any = ...,
    ge: float | None = None,
    gt: float | None = None,
    le: float | None = None,
    lt: float | None = None,
    example: Any = None,
    plausible: tuple[float, float, str] | None = None,
) -> Any:
    """A field with its meaning, unit, limits and an example, from which data dictionary, schema and forms are made.

    plausible: (low, high, why): outside these, both still allowed, `growsim check` asks whether it is meant.
    """
    extra: dict[str, Any] = {"unit": unit}
    if plausible is not None:
        extra["plausible"] = list(plausible)
    if example is not None:
        extra["example"] = example
    limits: dict[str, Any] = {
        name: value for name, value in (("ge", ge), ("gt", gt), ("le", le), ("lt", lt)) if value is not None
    }
    return Field(default, description=meaning, json_schema_extra=extra, **limits)


def long_text(meaning: str) -> Any:
    """A text to be read, of one line or some; may be left out."""
    return Field("", description=meaning, max_length=MOST_LETTERS)


def name_field(meaning: str, example: str) -> Any:
    """A name: 1 to 60 characters."""
    return Field(
        ..., description=meaning, min_length=1, max_length=60, json_schema_extra={"unit": "", "example": example}
    )
