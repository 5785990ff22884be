"""CO2 of plants and of the room against an independent integration: SciPy's solve_ivp, equations written out afresh."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from growsim.growth import lettuce
from growsim.growth.canopy import canopy_by_bank
from growsim.growth.carbon import exchange_between
from growsim.growth.curves import Environment
from growsim.growth.plan_air import canopy_air
from growsim.run.prepare import prepare
from growsim.scenario.load import load_scenario

MILLRACE = Path(__file__).parents[2] / "scenarios" / "millrace"


def test_carbon_in_is_carbon_kept_and_carbon_breathed_out() -> None:
    """Photosynthesis and breath integrated on their own, 20 days of 16 h at 250 µmol, 28 plants/m², 22 °C, 420 ppm.

    Van Henten 1994 with set B written out; g CO2/m² fixed, breathed out in the light and in the dark, to 0.5 %.
    """
    from scipy.integrate import solve_ivp

    t, c, ct, plants, seed_g = 22.0, 420.0, 0.07, 28.0, 0.0011
    g = 40.0 * 2.0 ** ((t - 20.0) / 10.0)
    s = 1.0 / (1.0 / 0.004 + 1.0 / 0.007 + 1.0 / (-1.32e-5 * t * t + 5.94e-4 * t - 2.64e-3))

    def slopes(_: float, y: list[float], par: float) -> list[float]:
        xn, xs, *_ = y
        by_light, by_co2 = 17e-6 * (c - g) / (c + 2.0 * g) * par, s * 1.83e-3 * (c - g)
        fixed = (1.0 - math.exp(-0.9 * 0.075 * (1.0 - ct) * xs)) * by_light * by_co2 / (by_light + by_co2)
        growth = 5e-6 * xn / (xs + xn) * 1.6 ** ((t - 20.0) / 10.0) * xs
        upkeep = (3.47e-7 * (1.0 - ct) + 1.16e-7 * ct) * xs * 2.0 ** ((t - 25.0) / 10.0)
        return [0.68 * fixed - upkeep - 1.25 * growth, growth, fixed, (upkeep + 0.25 * growth) / 0.68]

    y = [0.25 * plants * seed_g, 0.75 * plants * seed_g, 0.0, 0.0]
    in_light = in_dark = 0.0
    for _ in range(20):
        for par, hours in ((250.0 / 4.6, 16.0), (0.0, 8.0)):
            before = y[3]
            solved = solve_ivp(slopes, (0.0, hours * 3600.0), y, args=(par,), method="LSODA", rtol=1e-9, atol=1e-12)
            y = [float(value) for value in solved.y[:, -1]]
            if par:
                in_light += y[3] - before
            else:
                in_dark += y[3] - before

    found = exchange_between(
        seed_g, (y[0] + y[1]) / plants, plants, seed_g, Environment(250.0, 16.0, 22.0, 420.0, 65.0)
    )

    assert y[2] == pytest.approx((y[0] + y[1] - plants * seed_g) / 0.68 + in_light + in_dark, rel=1e-6)
    assert found.fixed_g * plants == pytest.approx(y[2], rel=0.005)
    assert found.breathed_in_light_g * plants == pytest.approx(in_light, rel=0.005)
    assert found.breathed_in_dark_g * plants == pytest.approx(in_dark, rel=0.005)


def test_the_day_of_the_demo_room_stepped_minute_by_minute() -> None:
    """Its CO2 through a week of lights going on and off, as a mass balance; the mean while leaves work, to 10 ppm.

    On paper each part of the day is taken to be in its steady state at once; in truth the air lags by an hour or two.
    """
    prepared = prepare(load_scenario(MILLRACE).scenario)
    scenario, curves = prepared.scenario, prepared.curves
    room, co2 = scenario.room, scenario.co2
    volume_m3 = room.floor_area_m2 * room.height_m
    canopy = canopy_by_bank(scenario, curves.environments, curves.growth_rate)

    def gross(environment: Environment, ppm: float) -> float:
        par = environment.ppfd_umol_m2_s / 4.6
        return lettuce.rates(par, environment.air_temperature_c, ppm).gross_g_m2_s

    ppm, weighed, fixed = co2.outdoor_ppm, 0.0, 0.0
    for minute in range(7 * 1440):
        taken_g = 0.0
        works = 0.0
        for bank in scenario.lights:
            here, e = canopy[bank.name], curves.environments[bank.name]
            if (minute / 60.0 - bank.on_hour) % 24.0 < bank.hours_per_day:
                share = gross(e, ppm) / gross(e, e.co2_ppm)
                taken_g += here.net_in_light_g / bank.hours_per_day / 60.0 * share
                works += here.fixed_g / bank.hours_per_day
            else:
                taken_g -= here.breathed_in_dark_g / (24.0 - bank.hours_per_day) / 60.0
        if minute >= 6 * 1440:
            weighed += works * ppm
            fixed += works
        grams_per_ppm = volume_m3 * 44.01 / 24.055 / 1000.0
        ppm += room.air_changes_per_hour / 60.0 * (co2.outdoor_ppm - ppm) - taken_g / grams_per_ppm

    assert canopy_air(scenario, curves).lit_ppm == pytest.approx(weighed / fixed, abs=10.0)
