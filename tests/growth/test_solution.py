"""The reservoir's solution: salt is neither made nor lost."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth.solution import ec_after_uptake, mixed_ec

LITERS = st.floats(0.1, 1e4)
EC = st.floats(0.0, 10.0)


def test_half_water_halves_the_strength() -> None:
    """50 L at 2.0 and 50 L of water make 100 L at 1.0."""
    assert mixed_ec(50.0, 2.0, 50.0, 0.0) == pytest.approx(1.0)


def test_plants_that_take_weak_feed_leave_strong_feed() -> None:
    """100 L at 1.6; 20 L taken at 1.4 leave (160 - 28) / 80 = 1.65."""
    assert ec_after_uptake(100.0, 1.6, 20.0, 1.4) == pytest.approx(1.65)


def test_an_empty_reservoir_keeps_its_strength() -> None:
    """Nothing left to measure, nothing to divide by."""
    assert ec_after_uptake(20.0, 1.6, 20.0, 1.4) == 1.6
    assert mixed_ec(0.0, 1.6, 0.0, 2.0) == 1.6


def test_plants_cannot_take_salt_that_is_not_there() -> None:
    """Strength stops at 0."""
    assert ec_after_uptake(100.0, 0.1, 90.0, 2.0) == 0.0


@given(level=LITERS, ec=EC, added=LITERS, added_ec=EC)
def test_mixing_keeps_the_salt(level: float, ec: float, added: float, added_ec: float) -> None:
    """Liters times strength before and after; the mix lies between the two."""
    mix = mixed_ec(level, ec, added, added_ec)

    assert mix * (level + added) == pytest.approx(level * ec + added * added_ec)
    assert min(ec, added_ec) - 1e-9 <= mix <= max(ec, added_ec) + 1e-9


@given(level=LITERS, ec=st.floats(1.0, 10.0), share=st.floats(0.0, 0.9), uptake=st.floats(0.0, 1.0))
def test_topping_up_what_was_drunk_at_the_strength_it_was_drunk_changes_nothing(
    level: float, ec: float, share: float, uptake: float
) -> None:
    """Taking out and putting back the same is no change."""
    taken = share * level
    left = ec_after_uptake(level, ec, taken, uptake)

    assert mixed_ec(level - taken, left, taken, uptake) == pytest.approx(ec)
