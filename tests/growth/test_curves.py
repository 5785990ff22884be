"""Mass curves and paces."""

from __future__ import annotations

import pickle
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lettuce_days import integrate

from growsim.growth import lettuce, water
from growsim.growth.curves import (
    LONGEST_CURVE_DAYS,
    YOUNG_CANOPY_LAI,
    Environment,
    MassCurve,
    base_curve,
    growth_pace,
    paced,
    water_pace,
)

environments = st.builds(
    Environment,
    ppfd_umol_m2_s=st.floats(20.0, 600.0),
    light_hours=st.floats(4.0, 24.0),
    air_temperature_c=st.floats(10.0, 34.0),
    co2_ppm=st.floats(300.0, 1500.0),
    relative_humidity_percent=st.floats(30.0, 90.0),
)
curves = st.builds(
    base_curve, plants_per_m2=st.floats(10.0, 2000.0), seedling_dry_g=st.floats(1e-4, 0.02), environment=environments
)
rates = st.floats(0.05, 20.0)


@settings(max_examples=40, deadline=None)
@given(curve=curves)
def test_a_curve_rises_at_every_step_and_so_does_the_water_drunk(curve: MassCurve) -> None:
    """No flat and no backward piece, whatever the spacing, seed and conditions."""
    assert all(later > earlier for earlier, later in pairwise(curve.dry))
    assert all(later > earlier for earlier, later in pairwise(curve.water))
    assert curve.last_days <= LONGEST_CURVE_DAYS


@settings(max_examples=40, deadline=None)
@given(curve=curves, rate=rates, share=st.floats(0.0, 1.0))
def test_age_from_mass_and_mass_from_age_agree(curve: MassCurve, rate: float, share: float) -> None:
    """Round trip both ways, on the curve as calibrated."""
    curve = paced(curve, rate)
    age = share * curve.last_days
    mass = curve.dry[0] + share * (curve.dry[-1] - curve.dry[0])

    assert curve.age_days(curve.dry_g(age)) == pytest.approx(age, rel=1e-6, abs=1e-6)
    assert curve.dry_g(curve.age_days(mass)) == pytest.approx(mass, rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(curve=curves)
def test_beyond_its_ends_a_curve_holds(curve: MassCurve) -> None:
    """Before germination and past the last day mass stays; ages stop at the ends."""
    assert curve.dry_g(-3.0) == curve.dry_g(0.0) == curve.dry[0]
    assert curve.dry_g(curve.last_days + 50.0) == curve.dry_g(curve.last_days) == curve.dry[-1]
    assert curve.age_days(curve.dry[0] / 2.0) == 0.0
    assert curve.age_days(curve.dry[-1] * 2.0) == curve.last_days
    assert curve.water_ml(-3.0) == 0.0


def test_past_its_end_a_grown_plant_still_drinks(mild: Environment) -> None:
    """A plant that gains no more goes on at the last rate: a reservoir does not stop falling."""
    curve = base_curve(28.0, 0.0011, mild)
    last = curve.last_days
    daily = curve.water_ml(last) - curve.water_ml(last - 0.25)

    assert curve.water_ml(last + 1.0) == pytest.approx(curve.water_ml(last) + 4.0 * daily)


@settings(max_examples=30, deadline=None)
@given(curve=curves, rate=rates, share=st.floats(0.0, 1.0))
def test_a_quicker_clock_reaches_the_same_mass_sooner_on_less_water(
    curve: MassCurve, rate: float, share: float
) -> None:
    """Age shrinks by the rate; water to a mass too, since a plant of that mass drinks as much a day as before."""
    quick, age = paced(curve, rate), share * curve.last_days

    assert quick.dry_g(age / rate) == pytest.approx(curve.dry_g(age), rel=1e-9)
    assert quick.water_ml(age / rate) == pytest.approx(curve.water_ml(age) / rate, rel=1e-9)


def test_an_uncalibrated_clock_changes_nothing(mild: Environment) -> None:
    """Pace 1 is the curve itself."""
    curve = base_curve(81.0, 0.0011, mild)

    assert paced(curve, 1.0) == curve


def test_curves_travel_to_worker_processes(mild: Environment) -> None:
    """Pickled and back, equal."""
    curve = base_curve(81.0, 0.0011, mild)

    assert pickle.loads(pickle.dumps(curve)) == curve


def test_crowded_plants_grow_less_than_spaced_ones(mild: Environment) -> None:
    """Same seedling, same age: the wider the spacing, the heavier."""
    tight, middle, wide = (base_curve(density, 0.0011, mild).dry_g(30.0) for density in (1000.0, 81.0, 28.0))

    assert tight < middle < wide


def test_where_nothing_grows_a_curve_is_one_point_and_harmless(mild: Environment) -> None:
    """Nearly dark: the seedling stays as it germinated, and asking does not fail."""
    curve = base_curve(1000.0, 0.0011, replace(mild, ppfd_umol_m2_s=0.1))

    assert curve.dry == (0.0011,)
    assert (curve.dry_g(5.0), curve.age_days(1.0), curve.water_ml(5.0), curve.last_days) == (0.0011, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("rate", [0.0, -1.0])
def test_a_clock_that_stands_or_runs_backwards_is_refused(mild: Environment, rate: float) -> None:
    """A pace is above 0."""
    with pytest.raises(ValueError, match="above 0"):
        paced(base_curve(81.0, 0.0011, mild), rate)


@pytest.mark.parametrize(
    ("step", "dry", "drunk", "words"),
    [(1.0, (), (), "needs"), (0.0, (1.0,), (0.0,), "needs"), (1.0, (1.0, 1.0), (0.0, 0.0), "must rise")],
)
def test_a_grid_that_is_no_curve_is_refused(
    step: float, dry: tuple[float, ...], drunk: tuple[float, ...], words: str
) -> None:
    """Empty, without a step, or flat."""
    with pytest.raises(ValueError, match=words):
        MassCurve.from_grid(step, dry, drunk)


@settings(deadline=None)
@given(setpoint=environments)
def test_at_the_setpoints_both_paces_are_one(setpoint: Environment) -> None:
    """Nothing has changed: 1 in every room, however dim, in which a seedling grows at all."""
    if len(base_curve(28.0, 0.0011, setpoint).dry) > 1:
        assert growth_pace(setpoint, setpoint) == pytest.approx(1.0)
    assert water_pace(setpoint, setpoint) == pytest.approx(1.0)


@given(now=environments, setpoint=environments)
def test_growth_pace_stays_between_nought_and_two(now: Environment, setpoint: Environment) -> None:
    """By contract with the room."""
    assert 0.0 <= growth_pace(now, setpoint) <= 2.0
    assert water_pace(now, setpoint) > 0.0


@given(now=environments)
def test_less_light_or_less_co2_never_grows_faster(now: Environment) -> None:
    """Directions of the pace."""
    pace = growth_pace(now, replace(now, ppfd_umol_m2_s=600.0, light_hours=24.0, co2_ppm=1500.0))

    for less in (
        replace(now, ppfd_umol_m2_s=now.ppfd_umol_m2_s * 0.8),
        replace(now, light_hours=now.light_hours * 0.8),
        replace(now, co2_ppm=now.co2_ppm * 0.8),
    ):
        assert growth_pace(less, replace(now, ppfd_umol_m2_s=600.0, light_hours=24.0, co2_ppm=1500.0)) <= pace


def test_lights_out_stops_growth_and_slows_drinking(mild: Environment) -> None:
    """A dead light bank: no gain, some thirst."""
    dark = replace(mild, light_hours=0.0)

    assert growth_pace(dark, mild) == 0.0
    assert 0.0 < water_pace(dark, mild) < 1.0
    assert growth_pace(mild, dark) == 0.0


def test_cold_and_heat_both_slow_growth(mild: Environment) -> None:
    """Lettuce is at its best in the low twenties; at 40 °C it stops."""
    paces = [growth_pace(replace(mild, air_temperature_c=t), mild) for t in (10.0, 15.0, 22.0, 30.0, 35.0, 40.0)]

    assert paces[0] < paces[1] < paces[2] > paces[3] > paces[4] > paces[5] == 0.0


@pytest.mark.parametrize(
    "change",
    [
        {"air_temperature_c": 15.0},
        {"air_temperature_c": 18.0},
        {"air_temperature_c": 26.0},
        {"air_temperature_c": 30.0},
        {"light_hours": 8.0},
        {"ppfd_umol_m2_s": 125.0},
        {"co2_ppm": 1000.0},
    ],
)
def test_pace_agrees_with_growing_the_whole_plant_there(mild: Environment, change: dict[str, float]) -> None:
    """The shortcut on one canopy against a plant's whole life on its curves, sheet to harvest: within 10 %."""
    there = replace(mild, **change)

    def days(environment: Environment) -> float:
        legs = ((1000.0, 0.0011, 0.04), (81.0, 0.04, 0.8), (28.0, 0.8, 6.3))  # plants/m², dry g from, dry g to
        curves = [(base_curve(density, 0.0011, environment), start, end) for density, start, end in legs]
        return sum(curve.age_days(end) - curve.age_days(start) for curve, start, end in curves)

    assert growth_pace(there, mild) == pytest.approx(days(mild) / days(there), rel=0.10)


def test_water_on_the_curve_is_the_transpiration_of_its_canopy(mild: Environment) -> None:
    """A day of a closed stand: curve against the transpiration formula at the leaf area of that day."""
    curve, density = base_curve(28.0, 0.0011, mild), 28.0
    states = integrate(
        0.25 * density * 0.0011,
        0.75 * density * 0.0011,
        41,
        ppfd_umol_m2_s=mild.ppfd_umol_m2_s,
        light_hours=mild.light_hours,
        air_temperature_c=mild.air_temperature_c,
        co2_ppm=mild.co2_ppm,
    )
    area = lettuce.leaf_area_index((states[40][1] + states[41][1]) / 2.0)
    lit = water.transpiration_g_m2_h(area, 250.0, 22.0, 65.0)
    dark = water.transpiration_g_m2_h(area, 0.0, 22.0, 65.0)

    assert (curve.water_ml(41.0) - curve.water_ml(40.0)) * density == pytest.approx(16 * lit + 8 * dark, rel=2e-3)
    assert area > YOUNG_CANOPY_LAI


def test_between_grid_points_growth_stays_near_equal_ratios(mild: Environment) -> None:
    """Half a day and an eighth of a day into the quickest growth: straight pieces are within 0.1 % of a smooth rise."""
    curve = base_curve(28.0, 0.0011, mild)
    start, end = curve.dry_g(5.0), curve.dry_g(6.0)

    assert end / start > 1.2
    for share in (0.125, 0.5, 0.875):
        assert curve.dry_g(5.0 + share) == pytest.approx(start * (end / start) ** share, rel=1e-3)
