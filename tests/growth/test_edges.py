"""Biology at its edges: small doses and huge ones, half an hour of light, vapour from the leaves."""

from __future__ import annotations

import pytest

from growsim.growth.air import minutes_to_reach
from growsim.growth.lettuce import integrate
from growsim.growth.stress import surviving_fraction


def test_small_doses_do_small_harm() -> None:
    """exp(-ln 2 (dose/half)^shape) below a dose of one, and with shape 1 (a constant hazard)."""
    assert surviving_fraction(0.5, 1.0) == pytest.approx(0.5**0.25)
    assert surviving_fraction(3.0, 1.0, shape=1.0) == pytest.approx(0.125)
    assert surviving_fraction(0.5, 1.0, shape=0.5) == pytest.approx(0.5 ** (0.5**0.5))


def test_a_dose_beyond_all_measure_leaves_nothing() -> None:
    """No overflow, however small the half-way dose."""
    assert surviving_fraction(1e6, 1e-300) == 0.0


def test_a_curve_without_a_half_way_dose_is_refused() -> None:
    """In a sentence."""
    for half, shape in ((0.0, 2.0), (-1.0, 2.0), (1.0, 0.0)):
        with pytest.raises(ValueError, match=r"^the dose that kills half.* must be above 0$"):
            surviving_fraction(1.0, half, shape)


def test_half_an_hour_of_light_a_day_is_not_darkness() -> None:
    """A short day grows more than no day."""
    by_day = {
        hours: integrate(0.7, 2.1, 10, ppfd_umol_m2_s=250.0, light_hours=hours, air_temperature_c=20.0, co2_ppm=800.0)[
            10
        ]
        for hours in (0.0, 0.5)
    }

    assert sum(by_day[0.5]) > sum(by_day[0.0])


def test_drift_never_reaches_what_lies_across_the_equilibrium() -> None:
    """From 20 towards 30 °C the air passes 25 and not 31; away from it it does not go."""
    assert minutes_to_reach(25.0, 20.0, 30.0, 60.0) == pytest.approx(60.0 * 0.6931471805599453)
    assert [minutes_to_reach(target, 20.0, 30.0, 60.0) for target in (31.0, 30.0, 19.0)] == [None, None, None]
    assert minutes_to_reach(20.0, 20.0, 20.0, 60.0) == 0.0
