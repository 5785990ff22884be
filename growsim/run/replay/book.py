"""From the log book to what happened on each day: who worked, what was down, what was sown, harvested, lost, given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from growsim.ledger import events
from growsim.ledger.book import Book
from growsim.run.replay.day import CropAmount, DownThatDay, OrderThatDay, ShiftThatDay, WorkThatDay
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.obstacles import because


@dataclass
class Happened:
    """What one day brings, filled in from the book."""

    shifts: list[ShiftThatDay] = field(default_factory=list)
    people: dict[str, set[str]] = field(default_factory=dict)
    minutes: dict[str, int] = field(default_factory=dict)
    jobs: dict[str, int] = field(default_factory=dict)
    late: dict[str, int] = field(default_factory=dict)
    down: list[DownThatDay] = field(default_factory=list)
    floods_missed: dict[tuple[str, str], int] = field(default_factory=dict)
    warmest_c: float | None = None
    sown: dict[tuple[str, str], list[int]] = field(default_factory=dict)
    harvested: dict[tuple[str, str], list[int]] = field(default_factory=dict)
    lost: dict[tuple[str, str], list[int]] = field(default_factory=dict)
    handed_out_grams: int = 0
    wasted_grams: int = 0
    orders: list[OrderThatDay] = field(default_factory=list)

    def work(self) -> tuple[WorkThatDay, ...]:
        """By task, most minutes first."""
        tasks = sorted({*self.minutes, *self.jobs}, key=lambda task: (-self.minutes.get(task, 0), task))
        return tuple(
            WorkThatDay(
                task, len(self.people.get(task, ())), self.minutes.get(task, 0), self.jobs.get(task, 0),
                self.late.get(task, 0),
            )
            for task in tasks
        )  # fmt: skip


def amounts_of(amounts: dict[tuple[str, str], list[int]]) -> tuple[CropAmount, ...]:
    """(crop, what) -> [plants, grams] as a sorted tuple."""
    return tuple(CropAmount(crop, what, plants, grams) for (crop, what), (plants, grams) in sorted(amounts.items()))


def happened(book: Book, days: int) -> list[Happened]:
    """One entry for each counted day. What happens at midnight belongs to the day it begins, as in all measures.

    A shift, or a piece of work, that ends at midnight belongs to the day it was in.
    """
    found = [Happened() for _ in range(days)]
    for record in book.records:
        tell = _TELL.get(type(record))
        if tell is not None:
            ended = isinstance(record, (events.ShiftHeld, events.Worked))
            day = (record.minute - (1 if ended else 0)) // MINUTES_PER_DAY
            if 0 <= day < days:
                tell(found[day], record)
    for spell in _spells(book):
        _spread(spell, found)
    return found


@dataclass
class _Spell:
    machine: str
    where: str
    down: int
    up: int | None = None
    noticed: tuple[int, str] | None = None


def _spells(book: Book) -> Iterable[_Spell]:
    """Times machines was down. Two machines of one kind and place (twin pumps) are told apart by the order of
    repair: first down, first up."""
    standing: dict[tuple[str, str], list[_Spell]] = {}
    every: list[_Spell] = []
    for record in book.records:
        if isinstance(record, events.WentDown):
            spell = _Spell(record.machine, record.where, record.minute)
            standing.setdefault((record.machine, record.where), []).append(spell)
            every.append(spell)
        elif isinstance(record, events.Noticed):
            unnoticed = [one for one in standing.get((record.machine, record.where), ()) if one.noticed is None]
            if unnoticed:
                unnoticed[0].noticed = (record.minute, record.by)
        elif isinstance(record, events.Repaired):
            waiting = standing.get((record.machine, record.where), [])
            ended = next((one for one in waiting if record.minute - record.down_minutes == one.down), None)
            if ended is not None:
                ended.up = record.minute
                waiting.remove(ended)
    return every


def _spread(spell: _Spell, found: list[Happened]) -> None:
    end = len(found) * MINUTES_PER_DAY if spell.up is None else spell.up
    first = max(0, spell.down // MINUTES_PER_DAY)
    for day in range(first, min(len(found) - 1, end // MINUTES_PER_DAY) + 1):
        midnight = day * MINUTES_PER_DAY
        begin, until = max(0, spell.down - midnight), min(MINUTES_PER_DAY, end - midnight)
        if until > begin or (until == begin and begin < MINUTES_PER_DAY and spell.down == end):
            known = spell.noticed is not None and spell.noticed[0] < midnight + MINUTES_PER_DAY
            noticed = spell.noticed[1] if known and spell.noticed is not None else ""
            found[day].down.append(DownThatDay(spell.machine, spell.where, begin, until, noticed))


def _add(amounts: dict[tuple[str, str], list[int]], crop: str, what: str, plants: int, grams: int = 0) -> None:
    here = amounts.setdefault((crop, what), [0, 0])
    here[0] += plants
    here[1] += grams


def _shift(day: Happened, held: events.ShiftHeld) -> None:
    day.shifts.append(
        ShiftThatDay(
            held.shift, held.signed_up, held.came, held.worked_in_room, held.lead,
            held.volunteer_minutes + held.lead_minutes, held.worked_minutes,
        )
    )  # fmt: skip


def _worked(day: Happened, piece: events.Worked) -> None:
    day.people.setdefault(piece.task, set()).add(piece.person)
    day.minutes[piece.task] = day.minutes.get(piece.task, 0) + piece.minute - piece.began_minute


def _done(day: Happened, done: events.TaskDone) -> None:
    if done.finished:
        day.jobs[done.task] = day.jobs.get(done.task, 0) + 1
        day.late[done.task] = day.late.get(done.task, 0) + (done.minute > done.due_minute)


def _missed(day: Happened, missed: events.FloodMissed) -> None:
    day.floods_missed[missed.reservoir, missed.why] = day.floods_missed.get((missed.reservoir, missed.why), 0) + 1


def _air(day: Happened, read: events.AirRead) -> None:
    day.warmest_c = read.temperature_c if day.warmest_c is None else max(day.warmest_c, read.temperature_c)


def _handed_out(day: Happened, given: events.HandedOut) -> None:
    day.handed_out_grams += given.grams


def _wasted(day: Happened, wasted: events.Wasted) -> None:
    day.wasted_grams += wasted.grams


def _order(day: Happened, served: events.OrderServed) -> None:
    day.orders.append(OrderThatDay(served.partner, served.crop, served.grams_ordered, served.grams_given))


_TELL: dict[type, Any] = {
    events.ShiftHeld: _shift,
    events.Worked: _worked,
    events.TaskDone: _done,
    events.FloodMissed: _missed,
    events.AirRead: _air,
    events.Sown: lambda day, sown: _add(day.sown, sown.crop, "sown", sown.seeds),
    events.SowingSkipped: lambda day, skipped: _add(
        day.sown, skipped.crop, f"skipped because {because(skipped.held_up)}", skipped.cells
    ),
    events.Harvested: lambda day, cut: _add(day.harvested, cut.crop, "harvested", cut.plants, cut.grams),
    events.Lost: lambda day, lost: _add(day.lost, lost.crop, lost.cause, lost.plants),
    events.HandedOut: _handed_out,
    events.Wasted: _wasted,
    events.OrderServed: _order,
}
