"""The room's heat and CO2 against an independent integration: SciPy's solve_ivp."""

from __future__ import annotations

import pytest

from growsim.growth import air
from growsim.ledger.events import AirRead


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


@pytest.mark.parametrize("limit_c", [-5.0, 0.0, 12.0, 25.0])
@pytest.mark.parametrize(("start_c", "end_c"), [(21.0, -2.3), (-2.3, 21.0), (21.0, 20.9), (12.0, 12.0)])
@pytest.mark.parametrize("minutes", [7.0, 60.0, 600.0])
def test_mean_and_degree_hours_of_a_drift_are_the_integrals(
    start_c: float, end_c: float, minutes: float, limit_c: float
) -> None:
    """Quadrature by SciPy, split where the limit is crossed; the air of a doorway has a time constant of 40 minutes, so
    that the mean of an hour's two ends would be degrees off."""
    from scipy.integrate import quad

    drift = air.Drift(minutes, start_c, end_c, 40.0)
    crossed = air.minutes_to_reach(limit_c, start_c, end_c, 40.0) or 0.0
    above, below, mean = (
        quad(course, 0.0, minutes, points=[min(crossed, minutes)])[0]
        for course in (
            lambda t: max(0.0, air.temperature_after(t, start_c, end_c, 40.0) - limit_c),
            lambda t: max(0.0, limit_c - air.temperature_after(t, start_c, end_c, 40.0)),
            lambda t: air.temperature_after(t, start_c, end_c, 40.0) / minutes,
        )
    )

    assert drift.degree_minutes_above(limit_c) == pytest.approx(above, abs=1e-6)
    assert drift.degree_minutes_below(limit_c) == pytest.approx(below, abs=1e-6)
    assert drift.mean_c == pytest.approx(mean, abs=1e-9)


def test_a_night_with_the_door_open_is_the_integrated_balance() -> None:
    """The round room lived through, -20 °C outside, 200 W of light, a heater of 3.35 kW that works below 20 °C, and
    1,000 m³ of outside air an hour from 0:00 to 6:00 besides: C dT/dt = heat - (walls + air) (T - outdoor), hour by
    hour until it is nearly warm again. The figures of walls, air and heat are written out here, not the model's."""
    from scipy.integrate import solve_ivp
    from small_rooms import DAY, lived, tables

    raw = tables()
    raw["room"]["outdoor_temperature_c"] = [-20] * 12
    raw["climate"]["heating_kw"] = 3.35
    raw["outages"] = [{"name": "night", "machine": "door", "start_day": 3, "start_hour": 0, "hours": 6}]
    read = {each.minute - 3 * DAY: each.temperature_c for each in lived(raw, 4).of(AirRead)}

    def balance(second: float, y: list[float]) -> list[float]:
        watts_per_k = 20.0 + (1.2 * 1005.0 * 1000.0 / 3600.0 if second < 6 * 3600.0 else 0.0)
        return [(200.0 + 3350.0 - watts_per_k * (y[0] + 20.0)) / 720_000.0]

    hours = [minute for minute in read if minute % 60 == 0 and minute <= 420]
    solved = solve_ivp(
        balance, (0.0, 420 * 60.0), [20.0], t_eval=[60.0 * each for each in hours], rtol=1e-9, atol=1e-9, max_step=60.0
    )

    assert hours == list(range(0, 421, 60))
    assert [read[each] for each in hours] == pytest.approx([float(each) for each in solved.y[0]], abs=0.01)


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
