"""The room's heat and CO2 against an independent integration: SciPy's solve_ivp."""

from __future__ import annotations

import pytest

from growsim.growth import air


@pytest.mark.parametrize(("start_c", "outdoor_c", "heat_w"), [(22.0, 35.0, 3000.0), (22.0, -10.0, 200.0)])
def test_a_drift_is_newtons_law_of_cooling(start_c: float, outdoor_c: float, heat_w: float) -> None:
    """C dT/dt = heat - G (T - outdoor): temperature after 4 hours, heat pump dead, lamps on or off."""
    from scipy.integrate import solve_ivp

    capacity_kj, minutes = 2000.0, 240.0
    conductance = air.conductance_w_per_k(40.0, 0.3, 50.0)
    solved = solve_ivp(
        lambda _, y: [(heat_w - conductance * (y[0] - outdoor_c)) / (capacity_kj * 1000.0)],
        (0.0, minutes * 60.0),
        [start_c],
        rtol=1e-10,
        atol=1e-10,
    )
    tau = air.time_constant_minutes(capacity_kj, conductance)
    end = air.equilibrium_c(outdoor_c, heat_w, 40.0, 0.3, 50.0)

    assert air.temperature_after(minutes, start_c, end, tau) == pytest.approx(float(solved.y[0, -1]), abs=1e-6)


def test_time_to_a_limit_is_where_the_integration_crosses_it() -> None:
    """Heat pump dead in summer: minutes from 22 to 32 °C, by event detection."""
    from scipy.integrate import solve_ivp

    tau, end = 150.0, 60.0

    def crossing(_: float, y: list[float]) -> float:
        return y[0] - 32.0

    solved = solve_ivp(lambda _, y: [(end - y[0]) / tau], (0.0, 600.0), [22.0], events=crossing, rtol=1e-10, atol=1e-10)

    assert air.minutes_to_reach(32.0, 22.0, end, tau) == pytest.approx(float(solved.t_events[0][0]), abs=1e-4)


def test_co2_settles_where_supply_meets_leak() -> None:
    """A well-mixed 50 m³ at 0.3 changes an hour with 0.2 kg a day: integrated until it is down."""
    from scipy.integrate import solve_ivp

    grams_per_ppm = 50.0 * 44.01 / 24.055 / 1000.0
    solved = solve_ivp(
        lambda _, y: [200.0 / 24.0 / grams_per_ppm - 0.3 * (y[0] - 420.0)], (0.0, 200.0), [420.0], rtol=1e-9, atol=1e-9
    )

    assert air.co2_balance_ppm(2000.0, 420.0, 0.2, 0.3, 50.0) == pytest.approx(float(solved.y[0, -1]), rel=1e-6)
