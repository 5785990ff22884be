"""The room's air: heat drifts, heat pump, CO2."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from growsim.growth import air

TEMPERATURE = st.floats(-20.0, 60.0)
TAU = st.floats(1.0, 5000.0)
MINUTES = st.floats(0.01, 1e4)
HEAT = st.floats(0.0, 2e4)
CONDUCTANCE = st.floats(1.0, 500.0)


def test_walls_and_leaking_air_both_lose_heat() -> None:
    """50 m³ at one change an hour: 1206 J/(m³ K) x 50 / 3600 = 16.75 W/K beside 40 W/K of walls."""
    assert air.conductance_w_per_k(40.0, 1.0, 50.0) == pytest.approx(56.75)
    assert air.equilibrium_c(5.0, 1135.0, 40.0, 1.0, 50.0) == pytest.approx(25.0)


def test_an_open_door_is_a_doorway_between_mild_and_cold() -> None:
    """Cold air below, warm air above: flow = 0.6 / 3 × area × √(g × height × difference / mean temperature), Brown and
    Solvason's equation for an opening in a wall (from memory), 0.9 m by 2 m. The one figure for all weathers lies
    between a difference of 5 °C and one of 20 °C."""

    def doorway_m3_per_hour(difference_k: float) -> float:
        return 0.6 / 3.0 * 1.8 * (9.81 * 2.0 * difference_k / 288.0) ** 0.5 * 3600.0

    added = air.open_door_air_changes_per_hour(0.5, 80.0) - 0.5
    assert doorway_m3_per_hour(5.0) < 80.0 * added < doorway_m3_per_hour(20.0)
    assert 80.0 * added == pytest.approx(air.OPEN_DOOR_M3_PER_HOUR)


def test_a_perfectly_tight_room_still_has_an_equilibrium() -> None:
    """No division by zero where walls and leaks are given as 0."""
    assert air.equilibrium_c(5.0, 10.0, 0.0, 0.0, 50.0) == pytest.approx(105.0)


def test_two_thousand_kilojoules_over_forty_watts_a_degree_is_fourteen_hours() -> None:
    """2,000,000 / 40 / 60 = 833 min."""
    assert air.time_constant_minutes(2000.0, 40.0) == pytest.approx(833.33, abs=0.01)


@given(start=TEMPERATURE, end=TEMPERATURE, tau=TAU, minutes=MINUTES)
def test_a_drift_never_overshoots(start: float, end: float, tau: float, minutes: float) -> None:
    """The temperature stays between start and equilibrium."""
    then = air.temperature_after(minutes, start, end, tau)

    assert min(start, end) - 1e-9 <= then <= max(start, end) + 1e-9


@given(start=TEMPERATURE, end=TEMPERATURE, tau=TAU, share=st.floats(0.001, 0.999))
def test_time_to_reach_a_temperature_is_the_time_after_which_it_is_there(
    start: float, end: float, tau: float, share: float
) -> None:
    """Round trip through the drift."""
    assume(start == end or abs(end - start) > 1e-9)  # else there is nothing between the two
    target = start + share * (end - start)
    minutes = air.minutes_to_reach(target, start, end, tau)

    assert minutes is not None
    assert air.temperature_after(minutes, start, end, tau) == pytest.approx(target, abs=1e-6)


@pytest.mark.parametrize("target", [19.0, 30.0, 31.0])
def test_a_drift_that_never_gets_there_says_so(target: float) -> None:
    """From 20 to 30 °C: not below the start, not the equilibrium itself, not beyond."""
    assert air.minutes_to_reach(target, 20.0, 30.0, 100.0) is None


def test_where_the_room_is_already_no_time_is_needed() -> None:
    """Target reached at once, whatever the drift."""
    assert air.minutes_to_reach(20.0, 20.0, 20.0, 100.0) == air.minutes_to_reach(20.0, 20.0, 30.0, 100.0) == 0.0


@given(
    setpoint=st.floats(5.0, 40.0),
    outdoor=TEMPERATURE,
    heat=HEAT,
    conductance=CONDUCTANCE,
    cooling=st.floats(0.0, 20.0),
    heating=st.floats(0.0, 20.0),
)
def test_heat_of_a_held_room_closes(
    *, setpoint: float, outdoor: float, heat: float, conductance: float, cooling: float, heating: float
) -> None:
    """Released + brought in = lost to outside + taken out; never both cooling and heating, never beyond capacity."""
    held, out_w, in_w = air.held_temperature(setpoint, outdoor, heat, conductance, cooling, heating)

    assert heat + in_w == pytest.approx(conductance * (held - outdoor) + out_w, abs=1e-6)
    assert 0.0 <= out_w <= cooling * 1000.0
    assert 0.0 <= in_w <= heating * 1000.0
    assert not (out_w and in_w)


def test_a_strong_heat_pump_holds_its_setpoint_and_a_weak_one_does_not() -> None:
    """3 kW of lamps, 40 W/K, 10 °C outside: 2520 W to take out at 22 °C."""
    assert air.held_temperature(22.0, 10.0, 3000.0, 40.0, 5.0, 0.0) == pytest.approx((22.0, 2520.0, 0.0))
    assert air.held_temperature(22.0, 10.0, 3000.0, 40.0, 2.0, 0.0) == pytest.approx((35.0, 2000.0, 0.0))
    assert air.held_temperature(22.0, -20.0, 0.0, 40.0, 5.0, 1.0) == pytest.approx((5.0, 0.0, 1000.0))


def test_a_supply_that_cannot_keep_up_with_the_leak_gives_what_it_can() -> None:
    """50 m³ at 0.3 changes an hour lose 15 m³/h; a ppm of that is 0.000659 kg a day at 20 °C."""
    enough = (1000.0 - 420.0) * air.co2_leak_kg_per_day_per_ppm(0.3, 50.0)

    assert enough == pytest.approx(580 * 15 * 24 * 44.01 / 24.055 / 1e6, rel=1e-9)
    assert air.co2_balance_ppm(1000.0, 420.0, enough * 1.01, 0.3, 50.0) == 1000.0
    assert air.co2_balance_ppm(1000.0, 420.0, enough / 2.0, 0.3, 50.0) == pytest.approx(710.0)


@pytest.mark.parametrize(
    ("setpoint", "supply", "changes", "ppm"),
    [(1000.0, 0.0, 0.3, 420.0), (400.0, 5.0, 0.3, 420.0), (1000.0, 0.1, 0.0, 1000.0)],
)
def test_co2_without_supply_is_outside_air_and_without_leak_the_setpoint(
    setpoint: float, supply: float, changes: float, ppm: float
) -> None:
    """The three corners of the balance."""
    assert air.co2_balance_ppm(setpoint, 420.0, supply, changes, 50.0) == ppm
