"""Slots on shelves: ask, wait in line, hold, give back. A tray fills a whole slot.

Whoever asks may get part of what they asked for at once (move what fits, the rest waits). Shelves of one rack that are
alike make one Bay; a request looks for a bay that takes it all and is shared out over bays where none does. Bays for
the fewest stages are tried first: who has a choice leaves alone the shelves that others depend on. Waiting requests
stand in one line for each stage and tray, first come first served; of the lines, the one whose first has waited longest
goes first. Whoever got only part keeps their place in line for the rest.
"""

from __future__ import annotations

from bisect import insort_right
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.scenario.place import Rack, Shelves, Tray


class Bay:
    """Shelves of one rack that are alike. free: slots nobody holds."""

    __slots__ = ("free", "rack", "shelves", "total")

    def __init__(self, rack: str, shelves: Shelves) -> None:
        self.rack = rack
        self.shelves = shelves
        self.total = self.free = shelves.total_slots


Grant = list[tuple[Bay, int]]


class Request:
    """Trays waiting for slots. granted is called with [] once `deadline` passes."""

    __slots__ = ("granted", "is_open", "since", "stage", "trays")

    def __init__(self, stage: str, trays: int, since: int, granted: Callable[[Grant], None]) -> None:
        self.stage = stage
        self.trays = trays
        self.since = since
        self.granted = granted
        self.is_open = True


class ShelfBook:
    """Who holds which slots. Never gives more than there are."""

    def __init__(self, racks: tuple[Rack, ...], trays: dict[str, Tray], clock: Clock, book: Book) -> None:
        self._clock = clock
        self._book = book
        self._trays = trays
        self.bays = [Bay(rack.name, shelves) for rack in racks for shelves in rack.shelves if shelves.total_slots > 0]
        self._bays_for: dict[tuple[str, str], list[Bay]] = {}
        self._waiting: dict[str, list[Request]] = {}
        self.on_slots: Callable[[Bay, str, int], object] = lambda bay, stage, trays: None  # a watcher puts itself here

    def bays_for(self, stage: str, tray: str) -> list[Bay]:
        """Bays where this tray may stand in this stage: those for the fewest stages first, then as in the room file."""
        key = (stage, tray)
        if key not in self._bays_for:
            kind = self._trays[tray]
            bays = [bay for bay in self.bays if stage in bay.shelves.stages and bay.shelves.fits(kind)]
            self._bays_for[key] = sorted(bays, key=lambda bay: len(set(bay.shelves.stages)))
        return self._bays_for[key]

    def ask(
        self,
        stage: str,
        tray: str,
        trays: int,
        deadline: int,
        granted: Callable[[Grant], None],
        *,
        since: int | None = None,
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
        request = Request(stage, trays, self._clock.now if since is None else since, granted)
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
        bay.free -= trays
        self._book.level("slots", bay.rack, stage).add(self._clock.now, trays)
        self.on_slots(bay, stage, trays)

    def give_back(self, bay: Bay, stage: str, trays: int) -> None:
        """Slots are free again (trays washed); those waiting get them."""
        bay.free += trays
        if bay.free > bay.total:
            raise RuntimeError(f"{bay.rack}: more slots given back than there are")
        self._book.level("slots", bay.rack, stage).add(self._clock.now, -trays)
        self.on_slots(bay, stage, -trays)
        if any(self._waiting.values()):
            self._serve_waiting()

    def _serve_waiting(self) -> None:
        stuck: set[str] = set()
        while heads := [(line[0].since, key) for key, line in self._waiting.items() if line and key not in stuck]:
            _, key = min(heads)
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
        bays = self.bays_for(stage, tray)
        for bay in bays:
            if bay.free >= trays:
                return [(bay, trays)]
        grant: Grant = []
        for bay in bays:
            if bay.free > 0 and trays > 0:
                taken = min(bay.free, trays)
                grant.append((bay, taken))
                trays -= taken
        return grant

    def _hold(self, stage: str, grant: Grant) -> None:
        for bay, trays in grant:
            bay.free -= trays
            self._book.level("slots", bay.rack, stage).add(self._clock.now, trays)
            self.on_slots(bay, stage, trays)

    def _expire(self, line: list[Request], request: Request) -> None:
        if request.is_open:
            request.is_open = False
            line.remove(request)
            self._book.level("waiting", request.stage).add(self._clock.now, -request.trays)
            request.granted([])
