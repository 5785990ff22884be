"""Harm: drought, heat and wrong feed."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth.stress import COLD_HARM, HEAT_HARM, ec_pace, plug_hours, surviving_air, surviving_fraction
from growsim.scenario.load import load_scenario

DOSE = st.floats(0.0, 1e9)
HALF = st.floats(1e-3, 1e5)


def test_half_the_plants_are_left_at_the_half_way_dose() -> None:
    """By definition, whatever the shape."""
    assert surviving_fraction(12.0, 12.0) == pytest.approx(0.5)
    assert surviving_fraction(12.0, 12.0, shape=5.0) == pytest.approx(0.5)


def test_a_quarter_of_the_dose_costs_few() -> None:
    """Slow start: 2^-(1/16) = 95.8 % are left."""
    assert surviving_fraction(3.0, 12.0) == pytest.approx(2.0 ** (-1.0 / 16.0))


@pytest.mark.parametrize(("half", "shape"), [(0.0, 2.0), (-1.0, 2.0), (12.0, 0.0)])
def test_a_curve_without_half_dose_or_shape_is_refused(half: float, shape: float) -> None:
    """Both must be above 0."""
    with pytest.raises(ValueError, match="above 0"):
        surviving_fraction(1.0, half, shape)


@given(dose=DOSE, half=HALF)
def test_survivors_are_a_share_that_never_rises_with_the_dose(dose: float, half: float) -> None:
    """0 to 1; all alive at no dose; more harm, no more plants."""
    left = surviving_fraction(dose, half)

    assert 0.0 <= left <= 1.0
    assert surviving_fraction(dose * 1.5 + 1.0, half) <= left
    assert surviving_fraction(0.0, half) == 1.0


def test_a_plug_of_25_ml_holds_20_and_lasts_20_hours_at_1_ml_an_hour() -> None:
    """0.80 of the volume is water; stress begins when 0.30 of that is left, after 14 h."""
    assert plug_hours(25.0, 1.0) == pytest.approx((14.0, 20.0))


def test_a_plug_nobody_drinks_from_never_empties() -> None:
    """Seed that is not up yet."""
    assert plug_hours(25.0, 0.0) == (math.inf, math.inf)


@given(volume=st.floats(1.0, 1000.0), rate=st.floats(0.01, 100.0), factor=st.floats(1.01, 10.0))
def test_hours_scale_as_store_over_thirst(volume: float, rate: float, factor: float) -> None:
    """Twice the plug or half the thirst: twice the hours."""
    hours = plug_hours(volume, rate)

    assert plug_hours(volume * factor, rate) == pytest.approx([factor * h for h in hours])
    assert plug_hours(volume, rate / factor) == pytest.approx([factor * h for h in hours])


@pytest.mark.parametrize(
    ("ec", "pace"), [(0.0, 0.0), (0.4, 0.5), (0.8, 1.0), (1.6, 1.0), (3.0, 1.0), (6.0, 0.5), (9.0, 0.0), (20.0, 0.0)]
)
def test_feed_inside_the_band_is_full_pace_and_falls_off_straight(ec: float, pace: float) -> None:
    """Band 0.8-3.0 mS/cm: 0 at plain water and at 9."""
    assert ec_pace(ec, 0.8, 3.0) == pytest.approx(pace)


def test_plain_water_is_no_fault_where_the_band_begins_at_nought() -> None:
    """A planner may say that no strength is too low."""
    assert ec_pace(0.0, 0.0, 3.0) == 1.0


def test_a_spell_of_heat_and_cold_strikes_whom_the_other_left() -> None:
    """Half are left at the half-way dose of each, 1 / 16th of whose logarithm at a quarter of it: 0.5 × 2^(-1/16). A
    crop bears air between its limits: 33 °C is 3 past 30, 1 °C is 4 past 5. (By hand; the shape has no source.)"""
    crop = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario.crops[0]
    crop = crop.model_copy(
        update={
            "heat_limit_c": 30.0,
            "cold_limit_c": 5.0,
            "heat_half_loss_degree_hours": 60.0,
            "cold_half_loss_degree_hours": 120.0,
        }
    )

    assert surviving_air(crop, [(HEAT_HARM, 60.0), (COLD_HARM, 30.0)]) == pytest.approx(0.5 * 2.0 ** (-1.0 / 16.0))
    assert surviving_air(crop, []) == 1.0
    assert [HEAT_HARM.past(air_c, HEAT_HARM.limit_c(crop)) for air_c in (33.0, 20.0, 1.0)] == [3.0, 0.0, 0.0]
    assert [COLD_HARM.past(air_c, COLD_HARM.limit_c(crop)) for air_c in (33.0, 20.0, 1.0)] == [0.0, 0.0, 4.0]
