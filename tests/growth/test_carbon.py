"""CO2 taken up and breathed out: stoichiometry by hand, conservation and a published range."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth import lettuce
from growsim.growth.carbon import CO2_G_PER_G_DRY, exchange_between
from growsim.growth.curves import Environment

CARBON, HYDROGEN, OXYGEN = 12.011, 1.008, 15.999  # g/mol, IUPAC standard atomic weights (abridged)
SEED_G = 0.0011
MASS_G = st.floats(0.002, 6.0)


def test_a_gram_of_sugar_is_so_much_co2() -> None:
    """CO2 + H2O -> CH2O + O2: 44.009 g of CO2 make 30.026 g of CH2O, 1.466 to 1; the model rounds 30/44 to 0.68."""
    by_hand = (CARBON + 2 * OXYGEN) / (CARBON + 2 * HYDROGEN + OXYGEN)

    assert pytest.approx(by_hand, rel=0.005) == CO2_G_PER_G_DRY
    carbon_of_dry_mass = CO2_G_PER_G_DRY * CARBON / (CARBON + 2 * OXYGEN)
    assert 0.37 < carbon_of_dry_mass < 0.43  # plants: about 0.4 (common practice, no source)


def test_closed_stands_take_up_about_what_was_measured() -> None:
    """Wheeler et al. 1994, *J. Amer. Soc. Hort. Sci.* 119(3):610-615 (from memory): stands of 'Waldmann's Green' under
    some 290 µmol, 16 h, 22 to 23 °C and 1000 ppm took up 17 µmol CO2/m²/s at harvest on day 28.

    The model's closed canopy at 150 g/m² of structure, net of its breath in the light, within a third (another variety,
    and light from the sides of a chamber).
    """
    light = lettuce.rates(lettuce.par_w_m2(290.0), 22.5, 1000.0)
    sugar, structure = 20.0, 150.0
    gained, grown = lettuce.slopes(sugar, structure, light)
    net_umol = (gained + grown) * CO2_G_PER_G_DRY / 44.01 * 1e6

    assert net_umol == pytest.approx(17.0, rel=0.33)


@given(masses=st.tuples(MASS_G, MASS_G, MASS_G).map(sorted))
def test_the_way_is_the_sum_of_its_parts(masses: list[float]) -> None:
    """From a to c is from a to b and on to c; and what is kept for good is the dry mass gained."""
    a, b, c = masses
    mild = Environment(250.0, 16.0, 22.0, 420.0, 65.0)

    def between(begin: float, end: float) -> Any:
        return exchange_between(begin, end, 28.0, SEED_G, mild)

    whole, parts = between(a, c), between(a, b).plus(between(b, c))
    assert whole.fixed_g == pytest.approx(parts.fixed_g, rel=1e-9, abs=1e-12)
    assert whole.breathed_in_dark_g == pytest.approx(parts.breathed_in_dark_g, rel=1e-9, abs=1e-12)
    assert whole.net_g == pytest.approx((c - a) * CO2_G_PER_G_DRY, rel=1e-9, abs=1e-12)


def test_breath_is_a_good_third_of_what_is_fixed(mild: Environment) -> None:
    """Of what lettuce fixes it breathes out some 30 to 50 % (crops in general: a third to a half, common practice)."""
    grown = exchange_between(SEED_G, 6.0, 28.0, SEED_G, mild)

    assert 0.25 < 1.0 - grown.net_g / grown.fixed_g < 0.5
    assert 0.0 < grown.breathed_in_dark_g < grown.breathed_in_light_g


def test_beyond_what_it_can_weigh_it_goes_on_as_on_its_last_day(mild: Environment) -> None:
    """Each gram more still is 44/30 g of CO2."""
    whole = exchange_between(SEED_G, 500.0, 28.0, SEED_G, mild)

    assert whole.net_g == pytest.approx((500.0 - SEED_G) * CO2_G_PER_G_DRY, rel=1e-9)
    assert exchange_between(400.0, 500.0, 28.0, SEED_G, mild).net_g == pytest.approx(100.0 * CO2_G_PER_G_DRY, rel=1e-9)


def test_in_light_all_day_nothing_is_breathed_in_the_dark(mild: Environment) -> None:
    """And a plant that loses exchanges nothing on a way it does not go."""
    assert exchange_between(SEED_G, 1.0, 28.0, SEED_G, replace(mild, light_hours=24.0)).breathed_in_dark_g == 0.0
    assert exchange_between(1.0, 1.0, 28.0, SEED_G, mild).fixed_g == 0.0
    assert exchange_between(SEED_G, 1.0, 28.0, SEED_G, replace(mild, ppfd_umol_m2_s=0.5)).fixed_g == 0.0
