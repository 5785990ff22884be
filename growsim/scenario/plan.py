"""How a rehearsal is run: how long, from what start. The room itself is in `scenario`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class ShelfLot:
    """Plants standing on the shelves on day 0 (from a shelves file).

    lot: its label. days_since_sowing: whole days, from date to date. plants: living plants; cells sown while nothing
    is up yet. rack: where they stand, "" for any rack with free slots. harvests: how often they have been harvested
    already.
    """

    lot: str
    crop: str
    stage: str
    days_since_sowing: int
    plants: int
    rack: str = ""
    harvests: int = 0


@dataclass(frozen=True)
class StoredGreens:
    """Packed greens in the cooler on day 0. grams: whole. days_since_harvest: whole days, from date to date."""

    lot: str
    crop: str
    grams: int
    days_since_harvest: int


@dataclass(frozen=True)
class RunPlan:
    """Horizon and start of a replication.

    days: days counted. warm_up_days: days lived through before counting (start == "filled" only). start: "empty" (bare
    room on day 0), "filled" (the plan has been running for warm_up_days), "shelves" (`shelves` stand there on day 0,
    `cooler` holds what is packed).
    every_flood_an_event: simulate each flood as an event; same ledger, slower; for checks.
    """

    days: int
    warm_up_days: int = 0
    start: Literal["empty", "filled", "shelves"] = "filled"
    shelves: tuple[ShelfLot, ...] = ()
    cooler: tuple[StoredGreens, ...] = ()
    every_flood_an_event: bool = False

    @property
    def lead_in_days(self) -> int:
        """Days simulated before the first counted day."""
        return self.warm_up_days if self.start == "filled" else 0
