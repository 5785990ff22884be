"""Which slot each tray is drawn in: a tray keeps its slot, a new one gets the first that is free."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass


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
