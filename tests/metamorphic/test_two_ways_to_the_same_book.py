"""What must not matter does not: two ways to live the same year write the same book, record for record."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_rooms import lived, tables
from troubled_rooms import Lived, steady, troubled_rooms

from growsim.room import rack_clocks

SEEDS = st.integers(0, 1000)


@steady(8)
@given(troubled_rooms(), SEEDS)
def test_the_same_luck_gives_the_same_book(raw: dict[str, Any], seed: int) -> None:
    """Lived again, also after another year with other luck, bit for bit."""
    once = Lived(raw, seed)
    other = Lived(raw, seed + 1)
    again = Lived(raw, seed)

    assert once.story == again.story
    assert once.scenario == other.scenario


@steady(40)
@given(troubled_rooms(failures=True), SEEDS)
def test_every_flood_an_event_or_only_those_that_matter(raw: dict[str, Any], seed: int) -> None:
    """Skipping floods while nothing is wrong changes not one record: failures, harvests, low reservoirs and leaks
    included.
    """
    lazy = Lived(raw, seed)
    eager = Lived(raw, seed, every_flood_an_event=True)

    assert lazy.story == eager.story


@pytest.mark.parametrize("lowest_l", [9.0, 9.2, 9.5, 9.9])
def test_every_flood_an_event_by_the_drop(lowest_l: float) -> None:
    """A reservoir that runs low again and again: to the same flood, whichever way floods are lived."""
    raw = tables()
    raw["reservoirs"][0] |= {"capacity_l": 10, "lowest_flood_level_l": lowest_l, "flood_every_hours": 0.25}
    raw["sowing"][0] |= {"every_weeks": 1}

    lazy, eager = lived(raw, 60), lived(raw, 60, every_flood_an_event=True)

    assert lazy.records == eager.records
    assert lazy.standing == eager.standing


@steady(15)
@given(troubled_rooms(), SEEDS)
def test_looking_more_often_for_ripe_lots_finds_no_more(raw: dict[str, Any], seed: int) -> None:
    """Lots that look at themselves on every harvest morning are harvested on the same days as lots that sleep
    longer.
    """
    asleep = Lived(raw, seed)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rack_clocks, "fastest_pace", lambda setpoint, most_co2_ppm: 1e9)
        awake = Lived(raw, seed)

    assert asleep.story == awake.story


@pytest.mark.parametrize("set_to_c", [10, 16, 22])
def test_warmth_ripens_a_cool_room_in_time(set_to_c: float) -> None:
    """A room kept cooler than its crops like, warmed by a dead heat pump: lots are found ripe as early all the same."""
    raw = tables()
    raw["climate"] |= {"air_temperature_c": set_to_c, "cooling_kw": 5}
    raw["room"] |= {"other_heat_w": 80}
    raw["harvest"]["weekdays"] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    raw["outages"] = [
        {"name": "warm", "machine": "heat pump", "start_day": 12, "start_hour": 0, "hours": 24 * 30},
    ]
    asleep = lived(raw, 60)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rack_clocks, "fastest_pace", lambda setpoint, most_co2_ppm: 1e9)
        awake = lived(raw, 60)

    assert asleep.records == awake.records
