"""A replication watched day by day: the same year that `replicate` measures, looked at once a day.

Looking is a call on the room's own clock, after everything else of its minute; it changes nothing and draws nothing.
It sees who holds which slots, and what waits for hands; a tray is drawn in the slot it had the day before.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.room.model import RoomHere
from growsim.run.prepare import Prepared
from growsim.run.replay.book import amounts_of, happened
from growsim.run.replay.day import DayHere, Replay, ShelfHere, TraysHere, WaitingWork
from growsim.run.replicate import ON_PAPER, seldom_collected
from growsim.scenario.calendar import Calendar, Order, minute_of
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    from growsim.room.board import Job
    from growsim.room.part import Part, Stand
    from growsim.room.shelves import Bay

LOOK_HOUR = 12.0
_LATEST_FIRST = tuple(row.key for row in reversed(TASKS.values()) if row.lot_waits and row.waits)


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


class Watcher:
    """Listens to slots being held and work being posted; on looking, writes down what stands where.

    It only listens: the room does what it would have done. Make it before the room starts.
    """

    def __init__(self, room: RoomHere) -> None:
        self.shelves: list[ShelfHere] = []
        self.seen: list[tuple[tuple[TraysHere, ...], tuple[WaitingWork, ...]]] = []
        self._room = room
        self._shelf_of: dict[Bay, list[int]] = {}
        self._places = {bay: SlotPlaces(bay.total) for bay in room.shelves.bays}
        self._held: dict[tuple[Bay, str], int] = {}
        self._jobs: list[tuple[Job, Part | None, Stand | None, int]] = []
        as_in_file = [(rack.name, shelves.name) for rack in room.scenario.racks for shelves in rack.shelves]
        for bay in sorted(room.shelves.bays, key=lambda bay: as_in_file.index((bay.rack, bay.shelves.name))):
            self._number_shelves(bay)
        room.shelves.on_slots = self._hold
        room.tasks.on_post = self._hear_of_work

    def _number_shelves(self, bay: Bay) -> None:
        group = bay.shelves
        self._shelf_of[bay] = []
        for number in range(1, group.count + 1):
            self._shelf_of[bay].append(len(self.shelves))
            self.shelves.append(ShelfHere(bay.rack, group.name, number, group.count, group.slots, group.stages))

    def _hold(self, bay: Bay, stage: str, trays: int) -> None:
        self._held[bay, stage] = self._held.get((bay, stage), 0) + trays

    def _hear_of_work(self, job: Job, part: Part | None, units: float) -> None:
        self._jobs.append((job, part, None if part is None else part.stand, round(units)))

    # --- looking -----------------------------------------------------------------------------------------------

    def look(self, _: object) -> None:
        """Write down what stands where, and what waits for hands."""
        self._jobs = [entry for entry in self._jobs if entry[0].is_open]
        self.seen.append((tuple(self._trays()), self._waiting()))

    def _waiting(self) -> tuple[WaitingWork, ...]:
        now = self._room.clock.now
        jobs = [job for job, _, _, _ in self._jobs]
        return tuple(
            WaitingWork(
                task,
                sum(1 for job in jobs if job.task == task),
                sum(1 for job in jobs if job.task == task and job.due_minute <= now),
            )
            for task in sorted({job.task for job in jobs})
        )

    def _trays(self) -> Iterator[TraysHere]:
        stands: dict[Stand, list[Part]] = {}
        for part in self._room.parts:
            stands.setdefault(part.stand, []).append(part)
        for bay, places in self._places.items():
            left = {stage: trays for (where, stage), trays in self._held.items() if where is bay and trays}
            said: list[TraysHere] = []
            holders: list[Holder] = []
            for stand, parts in stands.items():
                if stand.bay is bay and stand.trays:
                    left[stand.stage] -= stand.trays
                    said.append(self._of_stand(stand, parts))
                    holders.append(Holder(stand, stand.trays))
            for job, washed, stood, trays in self._jobs:
                if job.task == "wash" and washed is not None and stood is not None and stood.bay is bay:
                    left[stood.stage] -= trays
                    lot = washed.lot
                    said.append(TraysHere(0, (), "to wash", stood.stage, lot.name, lot.crop.name, 0, trays))
                    holders.append(Holder(job, trays, after=stood))
            for stage, trays in left.items():
                if trays:
                    said.append(TraysHere(0, (), "kept", stage, stand_trays=trays))
                    holders.append(Holder(("kept", stage), trays))
            for one, slots in zip(said, places.settle(holders), strict=True):
                yield from self._shelf_by_shelf(bay, one, slots)

    def _of_stand(self, stand: Stand, parts: list[Part]) -> TraysHere:
        lot = parts[0].lot
        plants, seeds = sum(part.plants for part in parts), sum(part.seeds for part in parts)
        waiting = {job.task for job, part, _, _ in self._jobs if part in parts}
        if seeds:
            state, plants = "seed", seeds // lot.crop.seeds_counted
        elif not plants:
            state = "dead" if any(part.stood for part in parts) else "to sow"
        else:
            state = next((f"to {task}" for task in _LATEST_FIRST if task in waiting), "growing")
        passed = self._room.clock.now - parts[0].sown_minute
        days = 0 if state == "to sow" else max(0, passed // MINUTES_PER_DAY)
        return TraysHere(0, (), state, stand.stage, lot.name, lot.crop.name, plants, stand.trays, days)

    def _shelf_by_shelf(self, bay: Bay, one: TraysHere, slots: tuple[int, ...]) -> Iterator[TraysHere]:
        each = bay.shelves.slots
        for number in sorted({slot // each for slot in slots}):
            here = tuple(slot % each for slot in slots if slot // each == number)
            yield TraysHere(
                self._shelf_of[bay][number], here, one.state, one.stage, one.lot, one.crop, one.plants,
                one.stand_trays, one.days,
            )  # fmt: skip


@dataclass(frozen=True)
class Holder:
    """Somebody who holds slots. key: the same from one look to the next. after: whose slots it takes over, if any."""

    key: Hashable
    trays: int
    after: Hashable = None


class SlotPlaces:
    """The slots of one group of like shelves, from one look to the next."""

    def __init__(self, slots: int) -> None:
        self._owner: list[Hashable] = [None] * slots

    def settle(self, holders: Sequence[Holder]) -> list[tuple[int, ...]]:
        """Slots of each holder, in the order given. Raises ValueError where they hold more slots than there are."""
        if sum(holder.trays for holder in holders) > len(self._owner):
            raise ValueError(f"{sum(holder.trays for holder in holders)} trays in {len(self._owner)} slots")
        before = self._owner
        now: list[Hashable] = [None] * len(before)
        mine: list[list[int]] = [[] for _ in holders]

        def take(index: int, wanted: Hashable) -> None:
            for slot, owner in enumerate(before):
                if len(mine[index]) >= holders[index].trays:
                    return
                if owner == wanted and now[slot] is None:
                    now[slot] = holders[index].key
                    mine[index].append(slot)

        for index, holder in enumerate(holders):
            take(index, holder.key)
        for index, holder in enumerate(holders):
            if holder.after is not None:
                take(index, holder.after)
        for index, holder in enumerate(holders):
            for slot, owner in enumerate(now):
                if len(mine[index]) >= holder.trays:
                    break
                if owner is None:
                    now[slot] = holder.key
                    mine[index].append(slot)
        self._owner = now
        return [tuple(sorted(slots)) for slots in mine]
