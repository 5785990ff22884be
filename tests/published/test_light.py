"""Electricity of lamps against published figures and worked examples."""

from __future__ import annotations

import pytest
from checks_table import PublishedChecks

from growsim.growth.light import lamp_power_w


def mol_per_kwh(efficacy_umol_j: float) -> float:
    """Mol of photons from a kWh, by lamps that give a square meter 100 µmol/m²/s for an hour."""
    return 100.0 * 3600.0 / 1e6 / (lamp_power_w(100.0, 1.0, efficacy_umol_j) / 1000.0)


def test_lamps_of_2_umol_a_joule_give_7_2_mol_a_kwh(published_check: PublishedChecks) -> None:
    """Cornell CEA energy page (cornellcea.com)."""
    published_check("light of a kWh at 2 µmol/J", "Cornell CEA, energy page", 7.2, mol_per_kwh(2.0), "mol", within=1e-6)


def test_lighting_of_cornells_lettuce_takes_80_kwh_a_square_foot_and_year() -> None:
    """17 mol a day, lamps of 2 µmol/J: 80.1 kWh/ft²/yr; 84 heads of 5 oz: 0.954 kWh a head, 6.73 kWh/kg.

    Computed from the inputs of the Cornell CEA energy page.
    """
    mol_per_square_foot = 17.0 * 365.0 * 0.09290304
    kwh = mol_per_square_foot / mol_per_kwh(2.0)

    assert kwh == pytest.approx(80.1, abs=0.05)
    assert kwh / 84.0 == pytest.approx(0.954, abs=1e-3)
    assert kwh / 84.0 / (5 * 0.028349523) == pytest.approx(6.73, abs=0.01)


def test_lighting_at_the_listing_minimum_and_a_measured_light_use() -> None:
    """29 g fresh a mol (Carotti et al. 2021) and 2.3 µmol/J (DesignLights Consortium V3.0): 4.16 kWh/kg (computed)."""
    assert 1000.0 / 29.0 / mol_per_kwh(2.3) == pytest.approx(4.16, abs=5e-3)


def test_a_square_meter_at_17_mol_in_16_hours() -> None:
    """17 mol in 16 h is 295.1 µmol (computed); at 2.3 µmol/J that takes 128 W and 2.05 kWh a day."""
    ppfd = 17.0e6 / (16.0 * 3600.0)
    watts = lamp_power_w(ppfd, 1.0, 2.3)

    assert ppfd == pytest.approx(295.1, abs=0.05)
    assert watts == pytest.approx(128.3, abs=0.05)
    assert watts * 16.0 / 1000.0 == pytest.approx(17.0 / mol_per_kwh(2.3))
