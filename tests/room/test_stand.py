"""Trays of a stand empty in proportion: plants keep standing as densely as they stood."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from growsim.ledger.events import ToppedUp
from growsim.room.part import Stand
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

ELSEWHERE: Any = None  # a stand asks nothing of its bay, rack and kind of tray


def stand(plants: int, trays: int) -> Stand:
    """So many plants on so many trays."""
    found = Stand(ELSEWHERE, ELSEWHERE, "leaf", ELSEWHERE, trays)
    found.settle_in(plants)
    return found


def test_trays_empty_in_proportion() -> None:
    """24 plants on 3 trays stand 8 to a tray: 17 still need 3, 16 need 2, 8 need 1, none none."""
    here = stand(24, 3)

    assert [here.leave(gone) for gone in (7, 1, 7, 1, 8)] == [0, 1, 0, 1, 1]
    assert (here.trays, here.plants_here) == (0, 0)


@given(st.integers(1, 12), st.integers(1, 60), st.data())
def test_no_tray_is_lost(trays: int, places: int, data: st.DataObject) -> None:
    """However plants leave, each tray is emptied once, and those that are left have room for the plants on them."""
    plants = data.draw(st.integers((trays - 1) * places + 1, trays * places))
    here, emptied = stand(plants, trays), 0
    while here.plants_here:
        emptied += here.leave(data.draw(st.integers(1, here.plants_here)))
        assert emptied + here.trays == trays
        assert here.plants_here <= here.trays * places
    assert emptied == trays


def test_a_reservoir_is_topped_up_by_hand_where_people_do_it() -> None:
    """What the log book says of every top-up is how the room file says it is done; the first and last apart."""
    scenario = load_scenario(Path(__file__).parents[2] / "scenarios" / "millrace").scenario
    ways = {reservoir.name: reservoir.top_up == "by hand" for reservoir in scenario.reservoirs}
    book = trace(prepare(scenario), 3, 0, RunPlan(days=28, warm_up_days=28))

    filled = [each for each in book.of(ToppedUp) if abs(each.minute) < 28 * 1440 and each.added_ml > 0]
    assert filled
    assert all(each.by_hand for each in filled if ways[each.reservoir])
