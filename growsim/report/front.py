"""The page of an answer: what will happen, what to do, the question's own table, one picture, how sure this is.

The table is data: terminal, report, page, workbook and summary.json show these same cells.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from growsim.ledger.catalogue import CATALOGUE
from growsim.report.tables import Table, told_as

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate

MOST_WORDS: Final = 120  # before the table
MOST_NUMBERS: Final = 15
MOST_ADVICE: Final = 2
WHY: Final = "Why"
TOO_FEW: Final = "too few for a range"
CSV_COLUMNS: Final = ("row", "column", "of", "text", "mean", "low", "high", "unit")
_NUMBER: Final = re.compile(r"(?<![\w.,])[-+]?\d[\d,]*(?:\.\d+)?")


@dataclass(frozen=True)
class Cell:
    """What stands in one place. text: as it is shown, in the room's own units. mean, low, high: behind it, in `unit`,
    as summary.json states units; None where the cell is no number or has no range.
    """

    text: str
    mean: float | None = None
    low: float | None = None
    high: float | None = None
    unit: str = ""

    @classmethod
    def ranged(
        cls, mean: float, low: float | None, high: float | None, told: Callable[[float], str], unit: str, mark: str = ""
    ) -> Cell:
        """An average with the range it lies in: "3.1 (2.9 to 3.3)". told: a number as shown, without its unit."""
        return cls(told(mean) + in_brackets(mean, low, high, told) + mark, mean, low, high, unit)

    @classmethod
    def between(cls, low: float, middle: float, high: float, told: Callable[[float], str], unit: str) -> Cell:
        """What eight cases in ten bring: "2.9 to 3.3". middle: behind it."""
        one, two = told(low), told(high)
        return cls(one if one == two else f"{one} to {two}", middle, low, high, unit)

    def entry(self) -> dict[str, Any]:
        """As summary.json has it."""
        return {"text": self.text, "mean": self.mean, "low": self.low, "high": self.high, "unit": self.unit}


def in_brackets(middle: float, low: float | None, high: float | None, told: Callable[[float], str]) -> str:
    """ " (2.9 to 3.3)" behind a middle, which lies in its range as shown; "" where there is none, or all read alike."""
    if low is None or high is None:
        return ""
    one, two = told(min(low, middle)), told(max(high, middle))
    return "" if one == two else f" ({one} to {two})"


def is_wide(found: Estimate) -> bool:
    """Whether so few years leave its average less known than a single year is."""
    low, high = found.mean_low, found.mean_high
    single = found.p90 - found.p10 if found.of == "one year" else math.inf
    return low is not None and high is not None and high - low > single > 0.0


def average_cell(found: Estimate) -> Cell:
    """A figure's average with its range, as the page of an answer has it."""
    ends = (found.mean_low, found.mean_high)
    if found.not_seen:
        return Cell("none seen", found.mean, *ends, CATALOGUE[found.key].unit)
    told = told_as(found.key, found.mean, *(each for each in ends if each is not None))
    cell = Cell.ranged(found.mean, *ends, told, CATALOGUE[found.key].unit)
    return replace(cell, text=f"{told(found.mean)} ({TOO_FEW})") if is_wide(found) else cell


@dataclass(frozen=True)
class Column:
    """label: its head. of: which room and plan its cells are of, said in words."""

    label: str
    of: str


@dataclass(frozen=True)
class Row:
    """label: what its cells are about, with the unit they share."""

    label: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class AnswerTable:
    """The rows of the question itself. first: head of the column of labels."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    note: str = ""
    first: str = ""

    def __post_init__(self) -> None:
        """Raises ValueError where a row has not one cell a column."""
        for row in self.rows:
            if len(row.cells) != len(self.columns):
                raise ValueError(f"the row {row.label!r} has {len(row.cells)} cells; it needs {len(self.columns)}.")

    def entry(self) -> dict[str, Any]:
        """As summary.json has it."""
        return {
            "title": self.title,
            "first": self.first,
            "columns": [{"label": column.label, "of": column.of} for column in self.columns],
            "rows": [{"label": row.label, "cells": [cell.entry() for cell in row.cells]} for row in self.rows],
            "note": self.note,
        }

    @classmethod
    def of_entry(cls, entry: dict[str, Any]) -> AnswerTable:
        """Back from summary.json. Raises KeyError, TypeError or ValueError where it is none."""
        return cls(
            str(entry["title"]),
            tuple(Column(str(each["label"]), str(each["of"])) for each in entry["columns"]),
            tuple(Row(str(each["label"]), tuple(Cell(**cell) for cell in each["cells"])) for each in entry["rows"]),
            str(entry["note"]),
            str(entry["first"]),
        )

    def is_text(self, place: int) -> bool:
        """Whether no cell of the column at `place` is a number; it then reads from the left."""
        return all(row.cells[place].mean is None for row in self.rows)

    def plain(self) -> Table:
        """As a reader sees it."""
        head = (self.first, *(column.label for column in self.columns))
        return Table(self.title, head, tuple((row.label, *(cell.text for cell in row.cells)) for row in self.rows))

    def csv_rows(self) -> list[list[Any]]:
        """Tidy, one row a cell, under CSV_COLUMNS."""
        return [
            [row.label, column.label, column.of, cell.text, cell.mean, cell.low, cell.high, cell.unit]
            for row in self.rows
            for column, cell in zip(self.columns, row.cells, strict=True)
        ]

    def lines(self, width: int) -> list[str]:
        """For a terminal of so many columns: side by side where it fits, else a row's cells one under the other."""
        table = self.plain()
        widths = [max(len(line[place]) for line in (table.head, *table.rows)) for place in range(len(table.head))]
        said = [self.title]
        if sum(widths) + 2 * len(widths) <= width:
            for line in (table.head, *table.rows):
                cells = [
                    cell.ljust(wide) if not place else cell.rjust(wide)
                    for place, (cell, wide) in enumerate(zip(line, widths, strict=True))
                ]
                said.append("  ".join(cells).rstrip())
        else:
            for row in table.rows:
                said.append(row[0])
                said += [f"  {label}: {cell}" for label, cell in zip(table.head[1:], row[1:], strict=True) if cell]
        return [*said, *(textwrap.wrap(self.note, max(20, width)) if self.note else ())]


@dataclass(frozen=True)
class Front:
    """What stands on the page, besides its picture. headline: what will happen, with its range. why: the cause that
    weighs most, "" where none is told. advice: what to do, at most two sentences, each tried in the same years. sure:
    how sure this is, one sentence.
    """

    headline: str
    advice: tuple[str, ...]
    table: AnswerTable
    sure: str
    why: str = ""

    def __post_init__(self) -> None:
        """Raises ValueError where there is more advice than a reader takes in."""
        if len(self.advice) > MOST_ADVICE:
            raise ValueError(f"{len(self.advice)} pieces of advice; say the {MOST_ADVICE} that bring most.")

    @classmethod
    def within(
        cls, headline: Sequence[str], advice: Sequence[str], table: AnswerTable, sure: str, why: str = "", kept: int = 1
    ) -> Front:
        """As much as a reader takes in before the table. headline: sentences, of which the first `kept` stand in any
        case, as do why and the first piece of advice; the rest, and then more advice, as far as there is room.
        """
        first = [each for each in headline[:kept] if each]
        asked = [each for each in advice if each]
        made = cls(" ".join(first), tuple(asked[:1]), table, sure, why)
        for each in headline[kept:]:
            more = replace(made, headline=f"{made.headline} {each}".strip())
            made = more if each and more.fits else made
        for each in asked[1:MOST_ADVICE]:
            more = replace(made, advice=(*made.advice, each))
            made = more if more.fits else made
        return made

    @property
    def fits(self) -> bool:
        """Whether a reader takes it in before the table."""
        words, numbers = self.spent()
        return words <= MOST_WORDS and numbers <= MOST_NUMBERS

    def said(self) -> tuple[tuple[str, str], ...]:
        """(head, sentence), as `answer` and `answer_heads` of summary.json."""
        advice = [("What to do" if not place else "", each) for place, each in enumerate(self.advice)]
        return (("", self.headline), *(((WHY, self.why),) if self.why else ()), *advice, ("How sure", self.sure))

    def spent(self) -> tuple[int, int]:
        """(words, numbers) that a reader meets before the table."""
        before = " ".join((self.headline, self.why, *self.advice))
        return len(before.split()), len(_NUMBER.findall(before))

    def lines(self, width: int) -> list[str]:
        """For a terminal of so many columns."""
        first, *rest, sure = (textwrap.wrap(f"{head}: {each}" if head else each, width) for head, each in self.said())
        middle = [*(line for each in rest for line in each), *([""] if rest else [])]
        return [*first, "", *middle, *self.table.lines(width), "", *sure]


def front_of(summary: Mapping[str, Any]) -> Front:
    """The page of an answer back from its summary. Raises KeyError, TypeError or ValueError where it has none."""
    said = list(zip(summary["answer_heads"], summary["answer"], strict=True))
    why = [sentence for head, sentence in said if head == WHY]
    advice = [sentence for head, sentence in said[1:-1] if head != WHY]
    return Front(
        said[0][1], tuple(advice), AnswerTable.of_entry(summary["table"]), said[-1][1], why=why[0] if why else ""
    )
