"""The room of one scenario, begun, run and closed: `simulate` gives the log book of one replication."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.ledger.events import Standing
from growsim.room.inside import Inside
from growsim.room.standing import lie_already, stand_already
from growsim.room.upkeep import Upkeep
from growsim.scenario.calendar import day_of

if TYPE_CHECKING:
    from growsim.chance.streams import Luck
    from growsim.growth.crops import Curves
    from growsim.ledger.book import Book
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario


def simulate(scenario: Scenario, curves: Curves, luck: Luck, plan: RunPlan) -> Book:
    """One replication from the first day of its lead-in to the last counted day. Gives the log book, complete."""
    room = RoomHere(scenario, curves, luck, plan)
    room.start()
    room.clock.run(plan.days * 1440)
    room.finish()
    return room.book


class RoomHere(Inside):
    """A room with all that the calendar brings to it."""

    def __init__(self, scenario: Scenario, curves: Curves, luck: Luck, plan: RunPlan) -> None:
        super().__init__(scenario, curves, luck, plan)
        self._upkeep = Upkeep(self)

    def start(self) -> None:
        """Put the first of everything on the calendar."""
        first_day = day_of(self.clock.now)
        self.mains.start()
        for machine in self.machines:
            machine.start()
        self.air.start()
        for reservoir in self.reservoirs.values():
            reservoir.start()
        self.crew.start(first_day)
        self.cooler.start(first_day)
        self._upkeep.start(first_day)
        stand_already(self, self.plan.shelves)
        lie_already(self, self.plan.cooler)

    def finish(self) -> None:
        """Last readings, and what stands on the shelves."""
        self._upkeep.read_meters()
        for reservoir in self.reservoirs.values():
            reservoir.top_up(by_hand=False)
        self._count_standing()

    def _count_standing(self) -> None:
        """Tell the book of everything that still stands in the room."""
        for part in self.parts:
            plants = part.seeds + part.plants + part.extra
            if plants:
                lot = part.lot
                self.book.standing.append(
                    Standing(
                        lot.name,
                        part.number,
                        lot.crop_name,
                        plants,
                        part.sown_minute,
                        part.stand.stage,
                        part.stand.bay.rack,
                        part.already_harvested,
                    )
                )
