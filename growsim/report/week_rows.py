"""The rows of a shift's sheet: tasks in order, small ones of a kind put together, so that a shift fits on one page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from growsim.report import week_words
from growsim.report.words import listed

if TYPE_CHECKING:
    from growsim.spec.scenario import Scenario
    from growsim.study.tasks_done import Line

TOGETHER = ("wash", "pack", "thin")  # of these, tasks of one crop (washing: of any) make one row


@dataclass(frozen=True)
class Row:
    """One row to work off. note: carried on, goes on. blanks: to write the record into."""

    what: str
    where: str
    minutes: int
    lead_only: bool
    note: str
    blanks: str


def rows_of(lines: tuple[Line, ...], scenario: Scenario) -> tuple[Row, ...]:
    """Rows in the order of the first task in each."""
    groups: dict[tuple[str, str, str], list[Line]] = {}
    for number, line in enumerate(lines):
        if line.task == "wash":
            key = ("wash", "", "")
        elif line.task in TOGETHER:
            key = (line.task, line.crop, line.sown if line.task == "thin" else "")
        else:
            key = (line.task, line.lot, str(number))
        groups.setdefault(key, []).append(line)
    return tuple(_row(group, scenario) for group in groups.values())


def _row(group: list[Line], scenario: Scenario) -> Row:
    first = replace(group[0], count=sum(line.count for line in group), trays=sum(line.trays for line in group))
    places = list(dict.fromkeys(place for line in group if (place := week_words.where(line))))
    notes = []
    if any(line.carried_on for line in group):
        notes.append("carried on")
    if any(line.goes_on for line in group):
        notes.append("goes on in the next shift")
    return Row(
        what=week_words.what(first, scenario),
        where=listed(places),
        minutes=sum(line.minutes for line in group),
        lead_only=first.lead_only,
        note=listed(notes),
        blanks=week_words.BLANKS[first.task],
    )
