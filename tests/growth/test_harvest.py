"""Harvest: how many plants are big enough, and what they weigh."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth.harvest import mean_above, share_above

MASS = st.floats(1.0, 1000.0)
CV = st.floats(0.01, 1.5)


def test_plants_all_alike_are_all_in_or_all_out() -> None:
    """No spread: a step at the threshold."""
    assert (share_above(50.0, 50.0, 0.0), mean_above(50.0, 50.0, 0.0)) == (1.0, 50.0)
    assert (share_above(51.0, 50.0, 0.0), mean_above(51.0, 50.0, 0.0)) == (0.0, 51.0)


def test_without_a_threshold_everything_is_handed_out() -> None:
    """All plants, at their mean."""
    assert (share_above(0.0, 50.0, 0.2), mean_above(0.0, 50.0, 0.2)) == (1.0, 50.0)


def test_far_above_every_plant_the_mean_is_the_threshold() -> None:
    """The limit, not a division of zero by zero."""
    assert share_above(1e9, 50.0, 0.1) == 0.0
    assert mean_above(1e9, 50.0, 0.1) == 1e9


@pytest.mark.parametrize(("mean", "cv"), [(0.0, 0.2), (50.0, -0.1)])
def test_masses_without_sense_are_refused(mean: float, cv: float) -> None:
    """A mean above 0, a spread not below."""
    with pytest.raises(ValueError, match="above 0"):
        share_above(10.0, mean, cv)


@given(threshold=MASS, mean=MASS, cv=CV)
def test_a_higher_bar_passes_fewer_and_heavier_plants(threshold: float, mean: float, cv: float) -> None:
    """Share falls, mean of those that pass rises, and both keep their limits."""
    share, kept = share_above(threshold, mean, cv), mean_above(threshold, mean, cv)

    assert 0.0 <= share_above(threshold * 1.1, mean, cv) <= share <= 1.0
    assert mean_above(threshold * 1.1, mean, cv) >= kept >= threshold
    assert share * kept <= mean * (1.0 + 1e-9)


@given(threshold=MASS, mean=MASS, cv=CV, unit=st.floats(0.001, 1000.0))
def test_grams_or_ounces_give_the_same_share(threshold: float, mean: float, cv: float, unit: float) -> None:
    """A change of unit changes nothing."""
    assert share_above(threshold * unit, mean * unit, cv) == pytest.approx(share_above(threshold, mean, cv), abs=1e-9)
