"""Trays of a shelves file find shelves: none is left over that any arrangement had room for."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from growsim.scenario.load import load_scenario
from growsim.scenario.placing import _place, place
from growsim.scenario.plan import ShelfLot

ROOM = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario


@st.composite
def puzzles(draw: st.DrawFn) -> tuple[list[int], list[list[int]], list[int]]:
    """Trays of each lot, the groups each may stand on, slots of each group."""
    slots = draw(st.lists(st.integers(1, 6), min_size=1, max_size=5))
    trays = draw(st.lists(st.integers(1, 7), min_size=1, max_size=6))
    may = [sorted(draw(st.sets(st.integers(0, len(slots) - 1)))) for _ in trays]
    return trays, may, slots


def most_trays(trays: list[int], may: list[list[int]], slots: list[int]) -> int:
    """How many trays can stand at most. Reference: SciPy's maximum flow (Dinic)."""
    lots, groups = len(trays), len(slots)
    arcs = np.zeros((lots + groups + 2,) * 2, dtype=np.int32)
    arcs[0, 1 : lots + 1] = trays
    arcs[lots + 1 : -1, -1] = slots
    for lot, allowed in enumerate(may):
        arcs[lot + 1, [lots + 1 + group for group in allowed]] = trays[lot]
    return int(maximum_flow(csr_array(arcs), 0, lots + groups + 1).flow_value)


@given(puzzles())
def test_no_tray_is_left_over_that_had_a_place(puzzle: tuple[list[int], list[list[int]], list[int]]) -> None:
    """As many trays stand as the reference can place, each where it may, no slot holding two."""
    trays, may, slots = puzzle

    found = _place(trays, [[bays] for bays in may], slots, [f"rack {bay % 2}" for bay in range(len(slots))])

    here = [[(lot, group, count) for group, count in of_lot] for lot, of_lot in enumerate(found.standing)]
    everywhere = [each for of_lot in here for each in of_lot]
    assert sum(count for _, _, count in everywhere) == most_trays(trays, may, slots)
    assert [sum(count for _, _, count in of_lot) for of_lot in here] == [
        wanted - left for wanted, left in zip(trays, found.left_over, strict=True)
    ]
    assert all(group in may[lot] for lot, group, _ in everywhere)
    used = [sum(count for _, group, count in everywhere if group == number) for number in range(len(slots))]
    assert all(taken <= there for taken, there in zip(used, slots, strict=True))


def test_a_lot_makes_way_for_one_that_can_stand_nowhere_else() -> None:
    """Leaf comes first and would take the top; seedlings may only stand there, so leaf goes below."""
    lots = [ShelfLot("leaf", "cutting leaf", "leaf", 20, 120), ShelfLot("sheets", "small head", "seedling", 5, 240)]

    found = place(lots, ROOM)

    assert found.standing == (((0, 2),), ((1, 4),))  # bays by name: "lower", "top"
    assert found.left_over == (0, 0)
