"""Biology at its edges: small doses and huge ones, half an hour of light, vapour from the leaves."""

from __future__ import annotations

import pytest
from lettuce_days import integrate

from growsim.growth.air import minutes_to_reach
from growsim.growth.curves import MassCurve
from growsim.growth.germination import days_to_emerge, minutes_to_emerge
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
    """Half an hour of bright light grows more than half an hour of none."""
    bright, dim = (
        integrate(0.7, 2.1, 10, ppfd_umol_m2_s=ppfd, light_hours=0.5, air_temperature_c=20.0, co2_ppm=800.0)[10]
        for ppfd in (500.0, 0.0)
    )

    assert sum(bright) > 1.01 * sum(dim)


def test_drift_never_reaches_what_lies_across_the_equilibrium() -> None:
    """From 20 towards 30 °C the air passes 25 and not 31; away from it it does not go."""
    assert minutes_to_reach(25.0, 20.0, 30.0, 60.0) == pytest.approx(60.0 * 0.6931471805599453)
    assert [minutes_to_reach(target, 20.0, 30.0, 60.0) for target in (31.0, 30.0, 19.0)] == [None, None, None]
    assert minutes_to_reach(20.0, 20.0, 20.0, 60.0) == 0.0
    assert minutes_to_reach(21.0, 20.5, 21.5, 60.0) == pytest.approx(60.0 * 0.6931471805599453)
    assert minutes_to_reach(22.0, 21.0, 20.0, 60.0) is None


# Half-day steps; the last of them drinks 4 mL.
CURVE = MassCurve.from_grid(0.5, (0.1, 0.2, 0.4, 0.9), (0.0, 1.0, 3.0, 7.0))


@pytest.mark.parametrize(
    ("age_days", "water_ml", "ml_a_day"),
    [(0.0, 0.0, 2.0), (0.25, 0.5, 2.0), (0.5, 1.0, 4.0), (0.75, 2.0, 4.0), (1.25, 5.0, 8.0), (2.0, 11.0, 8.0)],
)
def test_water_and_its_rate_in_one_look(age_days: float, water_ml: float, ml_a_day: float) -> None:
    """Straight lines between half-days, the last rate beyond the end: by hand, and as `water_ml` has it."""
    assert CURVE.water_and_rate(age_days) == pytest.approx((water_ml, ml_a_day))
    assert CURVE.water_ml(age_days) == pytest.approx(water_ml)


def test_a_plant_of_one_point_drinks_nothing() -> None:
    """What cannot grow has a curve of one point."""
    assert MassCurve.from_grid(1.0, (0.1,), (0.0,)).water_and_rate(5.0) == (0.0, 0.0)
    assert MassCurve.from_grid(1.0, (0.1, 0.2), (0.0, 3.0)).water_and_rate(5.0) == pytest.approx((15.0, 3.0))


# 144 minutes at 10 °C, 29 at 20 °C.
TEMPERATURES_C, DAYS = (10.0, 20.0), (0.1, 0.02)


@pytest.mark.parametrize("ahead_c", [8.0, 14.0, 20.0])
@pytest.mark.parametrize("before_c", [5.0, 12.0, 18.0])
def test_seed_is_up_in_the_first_minute_that_its_mean_warmth_allows(before_c: float, ahead_c: float) -> None:
    """Against looking at every minute in turn, from now on, however long ago the air changed."""
    for passed in range(80):

        def needed(minutes: int, passed: int = passed) -> int:
            mean_c = (before_c * passed + ahead_c * (minutes - passed)) / minutes
            return max(1, round(1440 * days_to_emerge(mean_c, TEMPERATURES_C, DAYS)))

        first = next(minutes for minutes in range(max(1, passed), 500) if needed(minutes) <= minutes)

        assert minutes_to_emerge(passed, before_c * passed, ahead_c, TEMPERATURES_C, DAYS) == first


def test_the_quickest_seed_takes_a_minute() -> None:
    """However short the table, germination is after sowing."""
    assert minutes_to_emerge(0, 0.0, 20.0, (20.0,), (0.0005,)) == 1
    assert minutes_to_emerge(0, 0.0, 20.0, (20.0,), (0.0001,)) == 1


def test_no_age_is_thirstier_than_the_thirstiest() -> None:
    """Steps of 1, 2 and 4 mL in half a day each: 8 mL a day at most, at any age and beyond the last."""
    assert CURVE.thirstiest_ml == 8.0
    assert max(CURVE.water_and_rate(age / 10)[1] for age in range(40)) == CURVE.thirstiest_ml
    assert MassCurve.from_grid(1.0, (0.1,), (0.0,)).thirstiest_ml == 0.0
