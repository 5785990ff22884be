"""On which shelves the trays of a shelves file stand. The file names racks at most; this finds shelves for all at once.

Trays to shelves is a transport problem: so many trays of a lot, so many slots on shelves that may hold its stage. It is
solved by augmenting paths (Ford and Fulkerson 1956, from memory), so that trays are left over only where no arrangement
whatever has room for them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.scenario import on_paper
from growsim.scenario.bays import bays_of
from growsim.scenario.plan import ShelfLot
from growsim.scenario.scenario import Scenario

Standing = tuple[tuple[int, int], ...]
"""(number of the bay, trays there) of one lot; bays as `growsim.scenario.bays` numbers them."""


@dataclass(frozen=True)
class Placing:
    """Where every lot stands, in the order of the lots. left_over: trays of each lot for which there is no slot."""

    standing: tuple[Standing, ...]
    left_over: tuple[int, ...]


def place(lots: Sequence[ShelfLot], scenario: Scenario) -> Placing:
    """Find slots for what stands on the shelves, lot by lot, each on the shelves it would be put on today."""
    trays, crops = on_paper.trays_by_name(scenario), on_paper.crops_by_name(scenario)
    bays = bays_of(scenario, lots)
    wanted, tiers = [], []
    for lot in lots:
        stage = next(stage for stage in crops[lot.crop].stages if stage.name == lot.stage)
        tray = trays[stage.tray]
        wanted.append(math.ceil(lot.plants / tray.places))
        tiers.append(
            [[bay for bay in tier if lot.rack in ("", bays.all[bay][0].name)] for tier in bays.tiers(stage.name, tray)]
        )
    return _place(wanted, tiers, [shelves.total_slots for _, shelves in bays.all], [rack.name for rack, _ in bays.all])


def _place(
    wanted: Sequence[int], tiers: Sequence[Sequence[Sequence[int]]], slots: Sequence[int], racks: Sequence[str]
) -> Placing:
    free = list(slots)
    held: list[dict[int, int]] = [{} for _ in wanted]
    allowed: list[list[int]] = []
    left_over = []
    for lot, trays in enumerate(wanted):
        allowed.append(_emptiest_first(tiers[lot], free, slots, racks))
        left = trays
        whole = next((bay for bay in allowed[lot] if free[bay] >= left), None)
        if whole is not None:
            held[lot][whole] = left
            free[whole] -= left
            left = 0
        while left > 0:
            moves = _way(lot, allowed, held, free)
            if not moves:
                break
            last = moves[-1][1]
            amount = min(left, free[last], *(held[mover][bay] for mover, bay in _leaving(moves)))
            for mover, bay in _leaving(moves):
                held[mover][bay] -= amount
            for mover, bay in moves:
                held[mover][bay] = held[mover].get(bay, 0) + amount
            free[last] -= amount
            left -= amount
        left_over.append(left)
    return Placing(
        tuple(tuple((group, trays) for group, trays in sorted(of_lot.items()) if trays) for of_lot in held),
        tuple(left_over),
    )


def _emptiest_first(
    tiers: Sequence[Sequence[int]], free: Sequence[int], slots: Sequence[int], racks: Sequence[str]
) -> list[int]:
    """Bays in the order of their tiers; within a tier, those on the rack with the largest share of free slots first."""
    of_rack: dict[str, tuple[int, int]] = {}
    for rack, free_here, slots_here in zip(racks, free, slots, strict=True):
        free_before, slots_before = of_rack.get(rack, (0, 0))
        of_rack[rack] = free_before + free_here, slots_before + slots_here
    share = {rack: free_here / slots_here for rack, (free_here, slots_here) in of_rack.items()}
    return [bay for tier in tiers for bay in sorted(tier, key=lambda bay: -share[racks[bay]])]


def _leaving(moves: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Who gives up slots on the way: each mover but the first leaves the bay that the one before it comes to."""
    return [(mover, moves[step][1]) for step, (mover, _) in enumerate(moves[1:])]


def _way(
    lot: int, allowed: Sequence[Sequence[int]], held: Sequence[dict[int, int]], free: Sequence[int]
) -> list[tuple[int, int]]:
    """The shortest chain of moves, (who, to which bay), that makes room for the lot; [] where there is none."""
    came_by: dict[int, tuple[int, int | None]] = dict.fromkeys(allowed[lot], (lot, None))
    waiting = list(came_by)
    for bay in waiting:  # grows as it is walked through
        if free[bay] > 0:
            moves: list[tuple[int, int]] = []
            here: int | None = bay
            while here is not None:
                mover, before = came_by[here]
                moves.append((mover, here))
                here = before
            return moves[::-1]
        for other, of_other in enumerate(held):
            if of_other.get(bay, 0) > 0:
                for next_bay in allowed[other]:
                    if next_bay not in came_by:
                        came_by[next_bay] = (other, bay)
                        waiting.append(next_bay)
    return []
