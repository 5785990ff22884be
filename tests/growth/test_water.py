"""Water in the air and out of the leaves: extremes and directions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth import water

AREA = st.floats(0.01, 10.0)
PPFD = st.floats(0.0, 800.0)
TEMPERATURE = st.floats(8.0, 38.0)
HUMIDITY = st.floats(20.0, 95.0)


def test_bare_trays_give_off_nothing() -> None:
    """No leaf, no transpiration."""
    assert water.transpiration_g_m2_h(0.0, 250.0, 22.0, 65.0) == 0.0


def test_saturated_air_in_the_dark_takes_nothing() -> None:
    """No light and no deficit."""
    assert water.transpiration_g_m2_h(3.0, 0.0, 22.0, 100.0) == pytest.approx(0.0)


def test_plants_drink_in_the_dark_too() -> None:
    """Dry air alone draws water, less than with light."""
    dark, lit = (water.transpiration_g_m2_h(3.0, ppfd, 22.0, 65.0) for ppfd in (0.0, 250.0))

    assert 0.0 < dark < lit


@given(area=AREA, ppfd=PPFD, temperature_c=TEMPERATURE, humidity=HUMIDITY)
def test_more_leaf_more_light_drier_and_warmer_air_draw_more(
    area: float, ppfd: float, temperature_c: float, humidity: float
) -> None:
    """Every one of the four pushes the same way."""
    now = water.transpiration_g_m2_h(area, ppfd, temperature_c, humidity)

    assert water.transpiration_g_m2_h(area * 1.1, ppfd, temperature_c, humidity) >= now
    assert water.transpiration_g_m2_h(area, ppfd + 50.0, temperature_c, humidity) > now
    assert water.transpiration_g_m2_h(area, ppfd, temperature_c, humidity - 5.0) > now
    assert water.transpiration_g_m2_h(area, ppfd, temperature_c + 1.0, humidity) > now


@given(area=AREA)
def test_active_leaf_area_is_all_of_a_young_stand_and_levels_off(area: float) -> None:
    """Never more than the leaf there is, never more than 3."""
    active = water.active_leaf_area_index(area)

    assert 0.0 < active <= min(area, water.ACTIVE_LEAF_AREA_INDEX)
