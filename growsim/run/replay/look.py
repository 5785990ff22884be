"""Looking in: who holds which slots of a room that is being lived through, and what waits for hands."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from growsim.run.replay.day import ShelfHere, TraysHere, WaitingWork
from growsim.run.replay.places import Holder, SlotPlaces
from growsim.units import MINUTES_PER_DAY

if TYPE_CHECKING:
    from growsim.room.board import Job
    from growsim.room.model import RoomHere
    from growsim.room.part import Part, Stand
    from growsim.room.shelves import Bay


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
        for bay in room.shelves.bays:
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
            state, plants = "seed", seeds // lot.crop.seeds_per_cell
        elif not plants:
            state = "dead" if any(part.stood for part in parts) else "to sow"
        else:
            state = next((f"to {task}" for task in ("harvest", "transplant") if task in waiting), "growing")
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
