"""Transpiration against the energy balance it solves, solved afresh by root finding (SciPy brentq)."""

from __future__ import annotations

import pytest

from growsim.growth import water

CASES = [(3.0, 250.0, 22.0, 65.0), (0.5, 150.0, 18.0, 75.0), (6.0, 400.0, 26.0, 55.0), (3.0, 0.0, 22.0, 65.0)]
JOULES_PER_G = 2450.0  # to evaporate water: 2.45 MJ/kg, FAO-56 annex 3


def leaf_balance(case: tuple[float, float, float, float], *, straight: bool) -> float:
    """Latent heat (W/m²) at the leaf temperature where light = sensible + latent (Graamans et al. 2017, as reproduced).

    straight: the saturation curve taken as its tangent at air temperature, else as it is.
    """
    from scipy.optimize import brentq

    area, ppfd, air_c, humidity = case
    active = water.active_leaf_area_index(area)
    cover = 1.0 - 2.718281828459045 ** (-0.9 * area)
    light = 0.95 * ppfd / 4.6 * cover
    in_air = water.saturation_vapour_pressure_kpa(air_c) * humidity / 100.0
    pores = 60.0 * (1500.0 + ppfd) / (200.0 + ppfd)

    def latent(leaf_c: float) -> float:
        at_leaf = water.saturation_vapour_pressure_kpa(leaf_c)
        if straight:
            at_leaf = water.saturation_vapour_pressure_kpa(air_c) + water.slope_kpa_per_c(air_c) * (leaf_c - air_c)
        return active * 1206.0 / (0.665e-3 * 101.3) * (at_leaf - in_air) / (pores + 100.0)

    def surplus(leaf_c: float) -> float:
        return light - active * 1206.0 * (leaf_c - air_c) / 100.0 - latent(leaf_c)

    return latent(float(brentq(surplus, air_c - 20.0, air_c + 20.0, xtol=1e-12)))


@pytest.mark.parametrize("case", CASES)
def test_the_closed_form_solves_the_balance(case: tuple[float, float, float, float]) -> None:
    """Light absorbed = sensible + latent heat, to the last digits: the balance closes."""
    grams = water.transpiration_g_m2_h(*case)

    assert grams * JOULES_PER_G / 3600 == pytest.approx(leaf_balance(case, straight=True), rel=1e-8)


@pytest.mark.parametrize("case", CASES)
def test_taking_the_saturation_curve_straight_costs_little(case: tuple[float, float, float, float]) -> None:
    """Against the curve as it is: within 3 %, since leaves stay within a few degrees of the air."""
    grams = water.transpiration_g_m2_h(*case)

    assert grams * JOULES_PER_G / 3600 == pytest.approx(leaf_balance(case, straight=False), rel=0.03)
