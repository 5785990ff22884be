"""Lamps and electricity."""

from __future__ import annotations

import pytest

from growsim.growth.light import lamp_power_w, mol_per_kwh


def test_power_follows_light_area_and_efficacy() -> None:
    """250 µmol on 2 m² at 2.5 µmol/J is 200 W; with 80 % of it on trays, 250 W."""
    assert lamp_power_w(250.0, 2.0, 2.5) == pytest.approx(200.0)
    assert lamp_power_w(250.0, 2.0, 2.5, 0.8) == pytest.approx(250.0)


def test_power_over_an_hour_is_light_over_mol_per_kwh() -> None:
    """The two functions tell the same story."""
    mol = 250.0 * 2.0 * 3600.0 / 1e6

    assert lamp_power_w(250.0, 2.0, 2.5) / 1000.0 == pytest.approx(mol / mol_per_kwh(2.5))
