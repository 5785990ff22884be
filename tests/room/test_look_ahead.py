"""A reservoir looks ahead seldom, but never too late: what it reckons with is more than plants can drink."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from small_rooms import DAY, scenario_of, straight_curves, tables

from growsim.chance.fixed import FixedLuck
from growsim.growth.crops import build_curves
from growsim.ledger.events import FloodMissed
from growsim.room.look_ahead import DAYS_AHEAD, LookAhead
from growsim.room.model import RoomHere
from growsim.scenario.plan import RunPlan


def room_of(change: dict[str, Any], curves: Callable[..., Any] = build_curves, **plan: Any) -> RoomHere:
    """A small room with nights, luck switched off; `change` is for its reservoir."""
    raw = tables()
    raw["lights"][0] |= {"hours_per_day": 16, "on_hour": 5}
    raw["crops"][0] |= {"typical_mass_g": 110}
    raw["reservoirs"][0] |= change
    scenario = scenario_of(raw)
    room = RoomHere(scenario, curves(scenario), FixedLuck(), RunPlan(40, start="empty", **plan))
    room.start()
    return room


def test_what_is_spare_is_never_less_than_it_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whenever plants are reckoned with roughly, the level worked out plant by plant leaves at least as much."""
    seen: list[tuple[float, float]] = []
    rough = LookAhead.just_read

    def and_exactly(ahead: LookAhead) -> None:
        rough(ahead)
        if ahead._up_to_pace:
            seen.append((ahead._spare_ml, ahead.level_at(ahead._until) - ahead._lowest_ml))

    monkeypatch.setattr(LookAhead, "just_read", and_exactly)
    room_of({}).clock.run(40 * DAY)

    assert len(seen) > 3
    assert all(0.0 <= rough <= exact for rough, exact in seen)
    assert any(rough < exact for rough, exact in seen)


def test_a_reservoir_that_runs_low_between_two_looks_is_found_out() -> None:
    """With hardly any water above the lowest level the first flood is missed at the very minute at which it is missed
    when every flood is an event; with much, none is."""

    def missed(lowest_flood_level_l: float, **plan: Any) -> list[FloodMissed]:
        room = room_of({"lowest_flood_level_l": lowest_flood_level_l}, straight_curves, **plan)
        room.clock.run(40 * DAY)
        return list(room.book.of(FloodMissed))

    capacity_l = tables()["reservoirs"][0]["capacity_l"]
    nearly_full = capacity_l - 0.3
    assert missed(nearly_full)
    assert missed(nearly_full) == missed(nearly_full, every_flood_an_event=True)
    assert missed(capacity_l / 10) == []


def test_a_look_put_off_comes_on_its_new_day() -> None:
    """Filled up again and again, the reservoir looks on the last flood of the days ahead, and the looks go on."""
    room = room_of({})
    room.clock.run(20 * DAY)
    ahead = room.reservoirs["reservoir"]._ahead

    assert room.clock.now < ahead._planned <= ahead._due <= room.clock.now + (DAYS_AHEAD + 1) * DAY
