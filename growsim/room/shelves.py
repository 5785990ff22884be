"""Slots on shelves: ask, wait in line, hold, give back. A tray fills a whole slot.

Whoever asks may get part of what they asked for at once (move what fits, the rest waits). Shelves of one rack that are
alike make one Bay; a request looks for a bay that takes it all and is shared out over bays where none does. Who has a
choice leaves alone the shelves that others depend on, then takes the emptiest rack (`growsim.scenario.bays`). Waiting
requests stand in one line for each stage and tray, first come first served; of the lines, the one whose first has
waited longest goes first, of equals plants to be moved before seed to be sown. Whoever got only part keeps their place
in line for the rest.
"""

from __future__ import annotations

from bisect import insort_right
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.scenario.bays import Bays
    from growsim.scenario.place import Shelves, Tray


class RackSlots:
    """The slots of a rack, on all its shelves. free: slots nobody holds."""

    __slots__ = ("free", "total")

    def __init__(self) -> None:
        self.free = self.total = 0


class Bay:
    """Shelves of one rack that are alike. free: slots nobody holds. of_rack: those of the whole rack."""

    __slots__ = ("free", "of_rack", "rack", "shelves", "total")

    def __init__(self, rack: str, shelves: Shelves, of_rack: RackSlots) -> None:
        self.rack = rack
        self.shelves = shelves
        self.total = self.free = shelves.total_slots
        self.of_rack = of_rack
        of_rack.total += self.total
        of_rack.free += self.total

    def change(self, more: int) -> None:
        """So many more slots are free (or fewer, below 0)."""
        self.free += more
        self.of_rack.free += more

    @property
    def free_share(self) -> float:
        """Share of the rack's slots that nobody holds."""
        return self.of_rack.free / self.of_rack.total


Grant = list[tuple[Bay, int]]


class Request:
    """Trays waiting for slots. granted is called with [] once `deadline` passes. is_sowing: for seed."""

    __slots__ = ("granted", "is_open", "is_sowing", "since", "stage", "trays")

    def __init__(
        self, stage: str, trays: int, since: int, granted: Callable[[Grant], None], *, is_sowing: bool
    ) -> None:
        self.stage = stage
        self.trays = trays
        self.since = since
        self.granted = granted
        self.is_sowing = is_sowing
        self.is_open = True


class ShelfBook:
    """Who holds which slots. Never gives more than there are."""

    def __init__(self, bays: Bays, trays: dict[str, Tray], clock: Clock, book: Book) -> None:
        self._clock = clock
        self._book = book
        self._trays = trays
        self._order = bays
        racks = {rack.name: RackSlots() for rack, _ in bays.all}
        self.bays = [Bay(rack.name, shelves, racks[rack.name]) for rack, shelves in bays.all]
        self._tiers: dict[tuple[str, str], list[list[Bay]]] = {}
        self._waiting: dict[str, list[Request]] = {}
        self.on_slots: Callable[[Bay, str, int], object] = lambda bay, stage, trays: None  # a watcher puts itself here

    def tiers(self, stage: str, tray: str) -> list[list[Bay]]:
        """Bays where this tray may stand in this stage, in tiers: first those that others depend on least."""
        key = (stage, tray)
        tiers = self._tiers.get(key)
        if tiers is None:
            tiers = self._tiers[key] = [
                [self.bays[bay] for bay in tier] for tier in self._order.tiers(stage, self._trays[tray])
            ]
        return tiers

    def ask(
        self,
        stage: str,
        tray: str,
        trays: int,
        deadline: int,
        granted: Callable[[Grant], None],
        *,
        since: int | None = None,
        is_sowing: bool = False,
    ) -> None:
        """Ask for slots. `granted` is called now with what there is (if anything), or later, or with [] at the
        deadline.

        Requests that still wait for the same stage and tray are served before a new one; `since` tells of one that
        first asked earlier.
        """
        grant = self.at_once(stage, tray, trays)
        if grant:
            granted(grant)
            return
        line = self._waiting.setdefault(f"{stage}\n{tray}", [])
        since = self._clock.now if since is None else since
        request = Request(stage, trays, since, granted, is_sowing=is_sowing)
        insort_right(line, request, key=lambda waiting: waiting.since)
        self._book.level("waiting", stage).add(self._clock.now, trays)
        self._clock.at_deadline(max(deadline, self._clock.now), lambda _: self._expire(line, request))

    def at_once(self, stage: str, tray: str, trays: int) -> Grant:
        """Slots that are free now and nobody waits for, held from now on: all that are asked for, or some, or []."""
        if self._waiting.get(f"{stage}\n{tray}"):
            return []
        grant = self._find(stage, tray, trays)
        self._hold(stage, grant)
        return grant

    def take(self, bay: Bay, stage: str, trays: int) -> None:
        """Slots held from the start, by what stands there already. Raises ValueError where they are not free."""
        if bay.free < trays:
            raise ValueError(f"{bay.rack}: {trays} slots taken where {bay.free} are free")
        bay.change(-trays)
        self._book.level("slots", bay.rack, stage).add(self._clock.now, trays)
        self.on_slots(bay, stage, trays)

    def give_back(self, bay: Bay, stage: str, trays: int) -> None:
        """Slots are free again (trays washed); those waiting get them."""
        bay.change(trays)
        if bay.free > bay.total:
            raise RuntimeError(f"{bay.rack}: more slots given back than there are")
        self._book.level("slots", bay.rack, stage).add(self._clock.now, -trays)
        self.on_slots(bay, stage, -trays)
        if any(self._waiting.values()):
            self._serve_waiting()

    def _serve_waiting(self) -> None:
        stuck: set[str] = set()
        while heads := [
            (line[0].since, line[0].is_sowing, key) for key, line in self._waiting.items() if line and key not in stuck
        ]:
            _, _, key = min(heads)
            line = self._waiting[key]
            request = line[0]
            stage, tray = key.split("\n")
            grant = self._find(stage, tray, request.trays)
            if grant:
                line.pop(0)
                self._book.level("waiting", stage).add(self._clock.now, -request.trays)
                request.is_open = False
                self._hold(stage, grant)
                request.granted(grant)
            else:
                stuck.add(key)

    def _find(self, stage: str, tray: str, trays: int) -> Grant:
        tiers = self.tiers(stage, tray)
        for tier in tiers:
            best: Bay | None = None
            largest = -1.0
            for bay in tier:
                if bay.free >= trays:
                    share = bay.free_share
                    if share > largest:
                        best, largest = bay, share
            if best is not None:
                return [(best, trays)]
        grant: Grant = []
        for tier in tiers:
            for bay in sorted(tier, key=lambda bay: -bay.free_share):
                if bay.free > 0 and trays > 0:
                    taken = min(bay.free, trays)
                    grant.append((bay, taken))
                    trays -= taken
        return grant

    def _hold(self, stage: str, grant: Grant) -> None:
        for bay, trays in grant:
            bay.change(-trays)
            self._book.level("slots", bay.rack, stage).add(self._clock.now, trays)
            self.on_slots(bay, stage, trays)

    def _expire(self, line: list[Request], request: Request) -> None:
        if request.is_open:
            request.is_open = False
            line.remove(request)
            self._book.level("waiting", request.stage).add(self._clock.now, -request.trays)
            request.granted([])
