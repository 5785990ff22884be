"""Lamps and electricity."""

from __future__ import annotations

import pytest

from growsim.growth.light import lamp_power_w


def test_power_follows_light_area_and_efficacy() -> None:
    """250 µmol on 2 m² at 2.5 µmol/J is 200 W; with 80 % of it on trays, 250 W."""
    assert lamp_power_w(250.0, 2.0, 2.5) == pytest.approx(200.0)
    assert lamp_power_w(250.0, 2.0, 2.5, 0.8) == pytest.approx(250.0)
