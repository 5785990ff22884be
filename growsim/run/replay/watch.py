"""A replication watched day by day: the same year that `replicate` measures, looked at once a day.

Looking is a call on the room's own clock, after everything else of its minute; it changes nothing and draws nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.room.model import RoomHere
from growsim.run.prepare import Prepared
from growsim.run.replay.book import amounts_of, happened
from growsim.run.replay.day import DayHere, Replay
from growsim.run.replay.look import Watcher
from growsim.run.replicate import ON_PAPER, seldom_collected
from growsim.scenario.calendar import Calendar, Order, minute_of
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.units import MINUTES_PER_DAY

LOOK_HOUR = 12.0


@dataclass(frozen=True)
class Watched:
    """A log book, and the days seen while it was written."""

    book: Book
    replay: Replay


def watch(prepared: Prepared, seed: int, i: int, plan: RunPlan, hour: float = LOOK_HOUR) -> Watched:
    """Live through replication `i` (ON_PAPER: luck switched off) and look at the shelves every day at that hour.

    Raises ValueError for another negative `i`, or an hour outside 0..24.
    """
    if i < 0 and i != ON_PAPER:
        raise ValueError(f"replications are numbered from 0, not {i}")
    if not 0 <= hour < 24:
        raise ValueError(f"{hour} is no hour of the day")
    scenario = prepared.scenario
    luck: Any = FixedLuck() if i == ON_PAPER else Luck(seed, i)
    with seldom_collected():
        room = RoomHere(scenario, prepared.curves, luck, plan)
        watcher = Watcher(room)
        room.start()
        for day in range(plan.days):
            room.clock.at(minute_of(day, hour), Order.READ, watcher.look)
        room.clock.run(plan.days * MINUTES_PER_DAY)
        room.finish()
    return Watched(room.book, _replay(scenario, room.book, watcher, seed, i, plan.days, hour))


def _replay(scenario: Scenario, book: Book, watcher: Watcher, seed: int, i: int, days: int, hour: float) -> Replay:
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    seen = [
        DayHere(
            day, calendar.date(day), calendar.is_closed(day), trays, waiting, tuple(that.shifts), that.work(),
            tuple(that.down), tuple((*key, times) for key, times in sorted(that.floods_missed.items())),
            that.warmest_c, amounts_of(that.sown), amounts_of(that.harvested), amounts_of(that.lost),
            that.handed_out_grams, that.wasted_grams, tuple(that.orders),
        )
        for day, ((trays, waiting), that) in enumerate(zip(watcher.seen, happened(book, days), strict=True))
    ]  # fmt: skip
    return Replay(scenario.room.name, seed, i, hour, tuple(watcher.shelves), tuple(seen))
