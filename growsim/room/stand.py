"""Trays of one lot in one bay: what the plants that came there together share until each has moved out."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from growsim.room.racks import RackHere
    from growsim.room.shelves import Bay
    from growsim.scenario.place import Tray


class Stand:
    """Trays of one lot in one bay, in one stage. plants_at_start sets how full the trays are."""

    __slots__ = ("bay", "plants_at_start", "plants_here", "rack", "stage", "tray", "trays")

    def __init__(self, bay: Bay, rack: RackHere, stage: str, tray: Tray, trays: int) -> None:
        self.bay = bay
        self.rack = rack
        self.stage = stage
        self.tray = tray
        self.trays = trays
        self.plants_at_start = 0
        self.plants_here = 0

    def settle_in(self, plants: int) -> None:
        """So many plants stand here now."""
        self.plants_at_start = self.plants_here = plants

    def leave(self, plants: int) -> int:
        """So many plants are gone from here; returns how many trays that empties (plants stay as they stand)."""
        self.plants_here -= plants
        if self.plants_here <= 0:
            emptied, self.trays = self.trays, 0
            return emptied
        per_tray = self.plants_at_start / max(1, self.trays)
        needed = min(self.trays, -int(-self.plants_here // per_tray))
        emptied = self.trays - needed
        self.trays = needed
        self.plants_at_start = round(per_tray * needed)
        return emptied
