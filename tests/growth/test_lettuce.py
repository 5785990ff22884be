"""The lettuce model: extremes and directions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lettuce_days import derivatives, integrate

from growsim.growth import lettuce


def test_in_the_dark_plants_live_on_their_sugar() -> None:
    """No light: sugar falls, structure still grows from it, the whole loses mass."""
    sugar, structure = derivatives(10.0, 30.0, 0.0, 20.0, 420.0)

    assert sugar < 0.0 < structure
    assert sugar + structure < 0.0


def test_without_sugar_nothing_grows_but_upkeep_goes_on() -> None:
    """A starved plant in the dark builds nothing and loses."""
    sugar, structure = derivatives(0.0, 30.0, 0.0, 20.0, 420.0)

    assert structure == 0.0
    assert sugar < 0.0


@pytest.mark.parametrize(("temperature_c", "co2_ppm"), [(2.0, 420.0), (45.0, 420.0), (20.0, 30.0)])
def test_outside_its_range_the_leaf_earns_nothing(temperature_c: float, co2_ppm: float) -> None:
    """Too cold, too hot or too little CO2: no photosynthesis, and no crash."""
    assert lettuce.rates(50.0, temperature_c, co2_ppm).gross_g_m2_s == 0.0


@given(par=st.floats(1.0, 300.0), temperature_c=st.floats(8.0, 35.0), co2_ppm=st.floats(250.0, 2000.0))
def test_more_light_and_more_co2_never_earn_less(par: float, temperature_c: float, co2_ppm: float) -> None:
    """Photosynthesis rises with both."""
    now = lettuce.rates(par, temperature_c, co2_ppm).gross_g_m2_s

    assert lettuce.rates(par * 1.1, temperature_c, co2_ppm).gross_g_m2_s > now
    assert lettuce.rates(par, temperature_c, co2_ppm * 1.1).gross_g_m2_s > now


def test_a_white_lamp_of_460_umol_gives_100_watts() -> None:
    """By the constant of the module: 4.6 µmol a joule."""
    assert lettuce.par_w_m2(460.0) == pytest.approx(100.0)


def test_a_day_of_light_only_or_dark_only_is_possible() -> None:
    """24 h of light and 0 h of light are both days."""
    always = integrate(0.7, 2.1, 5, ppfd_umol_m2_s=230.0, light_hours=24.0, air_temperature_c=20.0, co2_ppm=1000.0)
    never = integrate(0.7, 2.1, 5, ppfd_umol_m2_s=230.0, light_hours=0.0, air_temperature_c=20.0, co2_ppm=1000.0)

    assert len(always) == len(never) == 6
    assert sum(always[-1]) > sum(always[0])
    assert sum(never[-1]) < sum(never[0])


def test_leaf_area_counts_shoots_only() -> None:
    """0.075 m² a gram of shoot, 7 % of dry mass in roots."""
    assert lettuce.leaf_area_index(100.0) == pytest.approx(0.075 * 0.93 * 100.0)
