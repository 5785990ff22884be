"""The rows of a shift's sheet: tasks in order, small ones of a kind put together, so that a shift fits on one page. And
the week's shifts and pick-ups as an iCalendar file (RFC 5545), written by the icalendar library.

Times float (no time zone): they are the room's own clock. The stamp is the week's Monday, so that the same week
gives the same file.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from growsim.report.week import words as week_words
from growsim.report.words import counted, listed, mass
from growsim.vocabulary.tasks import TASKS

MOST_PLACES = 3  # named; more would make a row too high for the sheet

if TYPE_CHECKING:
    from growsim.scenario.scenario import Scenario
    from growsim.study.week.question import WeekPlan
    from growsim.study.week.tasks import Line


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
    groups: dict[tuple[str, ...], list[Line]] = {}
    for number, line in enumerate(lines):
        together = {
            "its own": (line.lot, str(number)),
            "sowing": (line.crop, line.sown, line.stage),
            "crop": (line.crop,),
            "shift": (),
        }[TASKS[line.task].row]
        groups.setdefault((line.task, *together), []).append(line)
    return tuple(_row(group, scenario) for group in groups.values())


def _row(group: list[Line], scenario: Scenario) -> Row:
    first = replace(
        group[0],
        count=math.fsum(line.count for line in group),
        trays=sum(line.trays for line in group),
        grams=sum(line.grams for line in group),
    )
    places = week_words.where(group)
    notes = []
    if any(line.carried_on for line in group):
        notes.append("carried on")
    if any(line.goes_on for line in group):
        notes.append("goes on in the next shift")
    return Row(
        what=week_words.what(first, scenario),
        where=listed(places) if len(places) <= MOST_PLACES else f"{len(places)} places",
        minutes=sum(line.minutes for line in group),
        lead_only=first.lead_only,
        note=listed(notes),
        blanks=TASKS[first.task].asks,
    )


def calendar_bytes(week: WeekPlan) -> bytes:
    """The file's content."""
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//growsim//week sheets//EN")
    calendar.add("version", "2.0")
    stamp = dt.datetime.combine(week.monday, dt.time(), dt.UTC)
    for sheet in week.sheets:
        event = Event()
        begin = _at(sheet.date, sheet.shift.start_hour)
        event.add("uid", _uid(week, "shift", sheet.shift.name, begin))
        event.add("dtstamp", stamp)
        event.add("dtstart", begin)
        event.add("dtend", _at(sheet.date, sheet.shift.start_hour + sheet.shift.hours))
        alone = sheet.shift.lead and not sheet.signed_up
        expected = "the lead alone" if alone else f"{counted(sheet.people, 'volunteer')} expected"
        event.add("summary", f"{sheet.shift.name}: {expected}")
        tasks = [f"- {row.what}{f' ({row.where})' if row.where else ''}" for row in rows_of(sheet.lines, week.scenario)]
        told = [week_words.briefing(sheet, week.scenario, week.pick_ups), *tasks]
        event.add("description", "\n".join([*told, *week_words.cautions_for(sheet, week.scenario)]))
        event.add("location", week.scenario.room.name)
        calendar.add_component(event)
    for each in week.pick_ups:
        event = Event()
        begin = _at(each.date, each.hour)
        event.add("uid", _uid(week, "pick-up", each.partner, begin))
        event.add("dtstamp", stamp)
        event.add("dtstart", begin)
        event.add("dtend", begin + dt.timedelta(minutes=30))
        event.add("summary", f"{each.partner} collects")
        event.add("description", "\n".join(f"{mass(kg)} {crop}" for crop, kg in each.orders))
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _at(date: dt.date, hour: float) -> dt.datetime:
    return dt.datetime.combine(date, dt.time()) + dt.timedelta(minutes=round(hour * 60))


def _uid(week: WeekPlan, kind: str, name: str, begin: dt.datetime) -> str:
    told = f"{week.scenario.room.name}/{kind}/{name}/{begin.isoformat()}"
    return f"{hashlib.sha256(told.encode()).hexdigest()[:32]}@growsim"
