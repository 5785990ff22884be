"""The lettuce model: extremes and directions."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth import lettuce


def test_in_the_dark_plants_live_on_their_sugar() -> None:
    """No light: sugar falls, structure still grows from it, the whole loses mass."""
    sugar, structure = lettuce.slopes(10.0, 30.0, lettuce.rates(0.0, 20.0, 420.0))

    assert sugar < 0.0 < structure
    assert sugar + structure < 0.0


def test_without_sugar_nothing_grows_but_upkeep_goes_on() -> None:
    """A starved plant in the dark builds nothing and loses."""
    sugar, structure = lettuce.slopes(0.0, 30.0, lettuce.rates(0.0, 20.0, 420.0))

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


def test_leaf_area_counts_shoots_only() -> None:
    """0.075 m² a gram of shoot, 7 % of dry mass in roots."""
    assert lettuce.leaf_area_index(100.0) == pytest.approx(0.075 * 0.93 * 100.0)
