"""The made-up rooms of other tests are rooms that pass every check and whose crops can grow."""

from __future__ import annotations

from hypothesis import given, settings
from strategies import room_tables, rooms

from growsim.run.prepare import prepare
from growsim.scenario.load import scenario_from
from growsim.scenario.scenario import Scenario


@settings(max_examples=60, deadline=None)
@given(rooms())
def test_made_up_rooms_are_possible(room: Scenario) -> None:
    """Every one has slots, people and a growth rate for each of its crops."""
    prepared = prepare(room)

    assert set(prepared.curves.growth_rate) == {crop.name for crop in room.crops}
    assert sum(group.total_slots for rack in room.racks for group in rack.shelves) >= 4


@settings(max_examples=30, deadline=None)
@given(room_tables(failures=False, luck=False))
def test_rooms_without_failures_have_none(raw: dict[str, object]) -> None:
    """Asked for a room in which nothing fails, one gets it."""
    room, _ = scenario_from(raw, "made up")

    assert all(reservoir.pump.reliability.running_hours_to_failure is None for reservoir in room.reservoirs)
    assert room.power.outages_per_year == 0
