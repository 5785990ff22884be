"""Electricity of lamps against a published conversion and worked examples."""

from __future__ import annotations

import pytest
from checks_table import PublishedChecks

from growsim.scenario.equipment import LightBank


def mol_per_kwh(efficacy_umol_j: float) -> float:
    """Light (mol) that a bank gives for a kWh: 100 µmol/m²/s on 1 m² for an hour, over the electricity it takes."""
    bank = LightBank(
        name="bank", ppfd_umol_m2_s=100, on_hour=0, hours_per_day=16, efficacy_umol_j=efficacy_umol_j,
        light_on_trays_fraction=1,
    )  # fmt: skip
    return 100.0 * 3600.0 / 1e6 / (bank.power_w(1.0) / 1000.0)


def test_lamps_of_2_umol_a_joule_give_7_2_mol_a_kwh(published_check: PublishedChecks) -> None:
    """Cornell CEA energy page (cornellcea.com)."""
    published_check(
        "light of a kWh at 2 µmol/J", "Cornell CEA, energy page", 7.2, mol_per_kwh(2.0), "mol",
        checks=LightBank.power_w, within=1e-6,
    )  # fmt: skip


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


@pytest.mark.parametrize(("on_trays", "watts"), [(1.0, 128.3), (0.8, 160.4)])
def test_a_square_meter_at_17_mol_in_16_hours(on_trays: float, watts: float) -> None:
    """17 mol in 16 h is 295.1 µmol (computed); at 2.3 µmol/J 128 W, or 160 W where a fifth misses the trays."""
    ppfd = 17.0e6 / (16.0 * 3600.0)
    bank = LightBank(
        name="bank", ppfd_umol_m2_s=ppfd, on_hour=0, hours_per_day=16, efficacy_umol_j=2.3,
        light_on_trays_fraction=on_trays,
    )  # fmt: skip

    assert ppfd == pytest.approx(295.1, abs=0.05)
    assert bank.power_w(1.0) == pytest.approx(watts, abs=0.05)
