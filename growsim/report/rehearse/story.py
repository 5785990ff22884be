"""One replication told day by day in words, or as one CSV row a happening. Text is made from the log, never kept
in it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from growsim.ledger import events
from growsim.report.crop_words import unit_of
from growsim.report.words import (
    counted,
    day_and_date,
    hour_of_day,
    mass,
    money,
    number,
    short_date,
    span,
    temperature,
    volume,
)
from growsim.scenario.scenario import Scenario
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.losses import NOT_EMERGED, fate_of
from growsim.vocabulary.machines import BY_KEY, NO_FLOOD
from growsim.vocabulary.obstacles import because

Event = Any  # one of the records of ledger.events


@dataclass(frozen=True)
class Terms:
    """The room's own words. units: crop -> what is harvested as one of it."""

    currency: str
    units: Mapping[str, str]

    def is_cut_whole(self, event: Event) -> bool:
        """Whether it is about a crop of which pots or trays are harvested whole."""
        return self._unit(event) != "plant"

    def counted(self, event: Event, count: float, of: str = "plant") -> str:
        """So many of what the event is about: "3 plants", "2 trays"."""
        return counted(count, self._unit(event) if self.is_cut_whole(event) else of)

    def _unit(self, event: Event) -> str:
        crop = getattr(event, "crop", "") or next(iter(event.lot.split("/")[1:2]), "")
        return self.units.get(crop, "plant")


HALF_A_LITER_ML = 500
QUIET = (events.TaskDue, events.Worked, events.MetersRead, events.AirRead, events.Packed)


def story(book_rows: Iterable[Event], scenario: Scenario) -> str:
    """What happened, day by day. Readings, single pieces of work and the like are left to the log book."""
    told = [event for event in book_rows if type(event) not in QUIET and hasattr(event, "minute")]
    told.sort(key=lambda event: event.minute)  # stable: what shares a minute keeps the order of the log
    terms = Terms(scenario.prices.currency, {crop.name: unit_of(crop) for crop in scenario.crops})
    pages = []
    for day, of_day in groupby(told, key=lambda event: event.minute // MINUTES_PER_DAY):
        lines = list(_day(list(of_day), terms))
        if lines:
            warm_up = " (warm-up, not counted)" if day < 0 else ""
            date = scenario.room.start_date + dt.timedelta(days=day)
            pages.append("\n".join([f"{day_and_date(date)}, day {day}{warm_up}", *lines]))
    return "\n\n".join(pages) + "\n" if pages else "Nothing happened.\n"


def _day(of_day: list[Event], terms: Terms) -> Iterator[str]:
    """Lines of one day; floods missed by one reservoir for one reason are told once."""
    missed: dict[tuple[str, str], int] = {}
    for event in of_day:
        if isinstance(event, events.FloodMissed):
            missed[event.reservoir, event.why] = missed.get((event.reservoir, event.why), 0) + 1
    for event in of_day:
        if isinstance(event, events.FloodMissed):
            times = missed.pop((event.reservoir, event.why), 0)
            if times:
                yield _line(
                    event.minute,
                    f"{counted(times, 'flood')} of {event.reservoir} missed this day: {NO_FLOOD[event.why]}",
                )
            continue
        words = tell(event, terms)
        if words:
            yield _line(event.minute, words)


def _line(minute: int, words: str) -> str:
    return f"  {hour_of_day((minute % MINUTES_PER_DAY) / 60)}  {words}."


def tell(event: Event, terms: Terms) -> str:
    """One happening in words, without time or full stop; "" where there is nothing worth saying."""
    teller = _TELLERS.get(type(event))
    if teller is None:
        given = ", ".join(f"{name} {value}" for name, value in event._asdict().items() if name != "minute")
        return f"{type(event).__name__}: {given}"
    return teller(event, terms)


def _named(lot: str) -> str:
    """A lot's id from the plan ("2031-04-07/basil/basil Mondays") as one would say it."""
    try:
        date, crop, line = lot.split("/", 2)
        return f"{crop} of {short_date(dt.date.fromisoformat(date))} ({line})"
    except ValueError:  # a lot from a shelves file has the label the planner gave it
        return lot


def _lot(event: Event) -> str:
    return _named(event.lot) + (f" part {event.part}" if getattr(event, "part", 0) > 1 else "")


def _machine(event: Event) -> str:
    return BY_KEY[event.machine].at(event.where)


def _kg(grams: float) -> str:
    return mass(grams / 1000)


def _sown(event: events.Sown, terms: Terms) -> str:
    cells = terms.counted(event, event.cells, "cell")
    seeds = "" if terms.is_cut_whole(event) else f"{counted(event.seeds, 'seed')} in "
    return f"{_lot(event)} sown: {seeds}{cells} on {event.rack}"


def _came_up(event: events.Germinated, terms: Terms) -> str:
    if terms.is_cut_whole(event):
        return f"{_lot(event)} is up: {terms.counted(event, event.filled_cells)}"
    extra = f", {counted(event.extra_seedlings, 'extra seedling')} to pull" if event.extra_seedlings else ""
    stayed = f"; {counted(event.not_emerged, 'seed')} did not germinate"
    return f"{_lot(event)} is up: {counted(event.filled_cells, 'cell')} filled{extra}{stayed}"


def _waiting(event: events.Waiting, terms: Terms) -> str:
    end = "got a slot" if event.got_slot else "was given up"
    lot = f"{_lot(event)} ({terms.counted(event, event.plants)})"
    return f"{lot} {end} for {event.stage} after {span(event.waited_minutes)}"


def _late(event: events.Transplanted | events.Harvested) -> str:
    why = f" because {because(event.held_up)}" if event.held_up else ""
    return f", {number(event.days_late, 1)} days late{why}" if event.days_late >= 0.05 else ""


def _moved(event: events.Transplanted, terms: Terms) -> str:
    late = _late(event)
    to = f"{terms.counted(event, event.plants)} moved to {event.stage} on {event.rack}"
    return f"{_lot(event)}: {to}, {counted(event.trays, 'tray')}{late}"


def _cut(event: events.Harvested, terms: Terms) -> str:
    again = f" (harvest {event.number})" if event.number > 1 else ""
    late = _late(event)
    age = (event.minute - event.sown_minute) / MINUTES_PER_DAY
    plants = terms.counted(event, event.plants)
    return f"{_lot(event)}: {plants} harvested{again}, {_kg(event.grams)}, {number(age)} days old{late}"


def _handed_out(event: events.HandedOut, _: Terms) -> str:
    to = event.partner or "open distribution"
    kept = span(event.minute - event.harvest_minute)
    return f"{_kg(event.grams)} from {_named(event.lot)} to {to}, harvested {kept} before"


def _served(event: events.OrderServed, _: Terms) -> str:
    short = (
        "" if event.grams_given >= event.grams_ordered else f", short by {_kg(event.grams_ordered - event.grams_given)}"
    )
    return f"{event.partner} ordered {_kg(event.grams_ordered)} of {event.crop} and got {_kg(event.grams_given)}{short}"


def _topped_up(event: events.ToppedUp, _: Terms) -> str:
    if event.added_ml < HALF_A_LITER_ML and not event.drained_ml:  # found full
        return ""

    def liters(milliliters: int) -> str:
        return f"{volume(milliliters / 1000)}"

    drained = f"emptied of {liters(event.drained_ml)}, " if event.drained_ml else ""
    strength = f"{number(event.ec_ms_cm, 1)} mS/cm"
    return f"{event.reservoir}: {drained}{liters(event.added_ml)} added, now {liters(event.level_ml)} at {strength}"


def _shift(event: events.ShiftHeld, _: Terms) -> str:
    lead = "with a lead" if event.lead else "without a lead"
    present = event.volunteer_minutes + event.lead_minutes
    hours = f"{number(event.worked_minutes / 60, 1)} of {number(present / 60, 1)} person-hours worked"
    came = f"{event.came} of {event.signed_up} volunteers came" if event.signed_up else "no volunteer is signed up"
    return f"shift {event.shift} ends: {came}, {lead}; {hours}"


def _task(event: events.TaskDone, _: Terms) -> str:
    """Work whose effect has a line of its own is told only where it was late or left undone."""
    late = event.minute - event.due_minute
    about = f" ({_named(event.about)})" if event.about else ""
    if not event.finished:
        return f"{event.task}{about}: withdrawn, not done"
    if late <= 0 and event.task != "wash":
        return ""
    return f"{event.task}{about}: done{f', {span(late)} late' if late > 0 else ''}"


def _repaired(event: events.Repaired, terms: Terms) -> str:
    part = f", part {money(event.price, terms.currency)}" if event.price else ""
    return f"{_machine(event)}: up again after {span(event.down_minutes)}{part}"


def _lost(event: events.Lost, terms: Terms) -> str:
    if event.cause == NOT_EMERGED.key:
        return ""  # told with the lot's germination
    again = " (harvested before)" if event.after_harvest else ""
    why = f" because {because(event.held_up)}" if event.held_up else ""
    return f"{_lot(event)}: {terms.counted(event, event.plants)} {fate_of(event.cause).label}{again}{why}"


_TELLERS: dict[type, Callable[[Any, Terms], str]] = {
    events.Sown: _sown,
    events.Found: lambda e, terms: f"{_lot(e)} stands here: {terms.counted(e, e.plants)} in {e.stage} on {e.rack}",
    events.SowingSkipped: lambda e, terms: (
        f"{_named(e.lot)}: {terms.counted(e, e.cells, 'cell')} not sown because {because(e.held_up)}"
    ),
    events.Germinated: _came_up,
    events.Waiting: _waiting,
    events.Transplanted: _moved,
    events.Lost: _lost,
    events.Harvested: _cut,
    events.Packed: lambda e, _: f"{_lot(e)}: {_kg(e.grams)} packed",
    events.HandedOut: _handed_out,
    events.Wasted: lambda e, _: f"{_kg(e.grams)} from {_named(e.lot)} too old, thrown away",
    events.OrderServed: _served,
    events.WentDown: lambda e, _: f"{_machine(e)}: down",
    events.Noticed: lambda e, _: (
        f"{_machine(e)}: noticed by {'the alarm' if e.by == 'alarm' else 'somebody looking in'}"
    ),
    events.Repaired: _repaired,
    events.FloodMissed: lambda e, _: f"a flood of {e.reservoir} missed: {NO_FLOOD[e.why]}",
    events.ToppedUp: _topped_up,
    events.AirRead: lambda e, _: f"the air is at {temperature(e.temperature_c)}",
    events.ShiftHeld: _shift,
    events.TaskDone: _task,
}
