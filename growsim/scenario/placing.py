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
from growsim.scenario.plan import ShelfLot
from growsim.scenario.scenario import Scenario

Standing = tuple[tuple[int, int], ...]
"""(number of the group of shelves, trays there) of one lot. Groups: numbered through the room, empty ones left out."""


@dataclass(frozen=True)
class Placing:
    """Where every lot stands, in the order of the lots. left_over: trays of each lot for which there is no slot."""

    standing: tuple[Standing, ...]
    left_over: tuple[int, ...]


def place(lots: Sequence[ShelfLot], scenario: Scenario) -> Placing:
    """Find slots for what stands on the shelves; earlier lots and earlier shelves first."""
    trays, crops = on_paper.trays_by_name(scenario), on_paper.crops_by_name(scenario)
    groups = [(rack.name, group) for rack in scenario.racks for group in rack.shelves if group.total_slots > 0]
    wanted, allowed = [], []
    for lot in lots:
        stage = next(stage for stage in crops[lot.crop].stages if stage.name == lot.stage)
        tray = trays[stage.tray]
        wanted.append(math.ceil(lot.plants / tray.places))
        allowed.append(
            [
                number
                for number, (rack, group) in enumerate(groups)
                if lot.rack in ("", rack) and stage.name in group.stages and group.fits(tray)
            ]
        )
    return _place(wanted, allowed, [group.total_slots for _, group in groups])


def _place(wanted: Sequence[int], allowed: Sequence[Sequence[int]], slots: Sequence[int]) -> Placing:
    free = list(slots)
    held: list[dict[int, int]] = [{} for _ in wanted]
    left_over = []
    for lot, trays in enumerate(wanted):
        left = trays
        whole = next((group for group in allowed[lot] if free[group] >= left), None)
        if whole is not None:
            held[lot][whole] = left
            free[whole] -= left
            left = 0
        while left > 0:
            moves = _way(lot, allowed, held, free)
            if not moves:
                break
            last = moves[-1][1]
            amount = min(left, free[last], *(held[mover][group] for mover, group in _leaving(moves)))
            for mover, group in _leaving(moves):
                held[mover][group] -= amount
            for mover, group in moves:
                held[mover][group] = held[mover].get(group, 0) + amount
            free[last] -= amount
            left -= amount
        left_over.append(left)
    return Placing(
        tuple(tuple((group, trays) for group, trays in sorted(of_lot.items()) if trays) for of_lot in held),
        tuple(left_over),
    )


def _leaving(moves: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Who gives up slots on the way: each mover but the first leaves the group that the one before it comes to."""
    return [(mover, moves[step][1]) for step, (mover, _) in enumerate(moves[1:])]


def _way(
    lot: int, allowed: Sequence[Sequence[int]], held: Sequence[dict[int, int]], free: Sequence[int]
) -> list[tuple[int, int]]:
    """The shortest chain of moves, (who, to which group), that makes room for the lot; [] where there is none."""
    came_by: dict[int, tuple[int, int | None]] = dict.fromkeys(allowed[lot], (lot, None))
    waiting = list(came_by)
    for group in waiting:  # grows as it is walked through
        if free[group] > 0:
            moves: list[tuple[int, int]] = []
            here: int | None = group
            while here is not None:
                mover, before = came_by[here]
                moves.append((mover, here))
                here = before
            return moves[::-1]
        for other, of_other in enumerate(held):
            if of_other.get(group, 0) > 0:
                for next_group in allowed[other]:
                    if next_group not in came_by:
                        came_by[next_group] = (other, group)
                        waiting.append(next_group)
    return []
