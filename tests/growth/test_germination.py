"""Germination: tables, filled cells, seedlings in a cell."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.growth.germination import days_to_emerge, relative_emergence, seedlings_per_cell

TEMPERATURES = (10.0, 20.0, 25.0)
DAYS = (7.0, 3.0, 2.0)


def test_between_two_tabled_temperatures_days_lie_on_a_straight_line() -> None:
    """15 °C is half way from 10 to 20 °C, so half way from 7 to 3 days."""
    assert days_to_emerge(15.0, TEMPERATURES, DAYS) == pytest.approx(5.0)
    assert relative_emergence(22.5, TEMPERATURES, (0.5, 1.0, 0.8)) == pytest.approx(0.9)


@pytest.mark.parametrize(("temperature_c", "days"), [(-5.0, 7.0), (10.0, 7.0), (25.0, 2.0), (60.0, 2.0)])
def test_beyond_the_table_the_last_value_is_held(temperature_c: float, days: float) -> None:
    """A room hotter or colder than the table must not stop a rehearsal."""
    assert days_to_emerge(temperature_c, TEMPERATURES, DAYS) == days


def test_a_table_of_one_line_is_the_same_everywhere() -> None:
    """A planner who knows one figure gives one."""
    assert days_to_emerge(3.0, (20.0,), (4.0,)) == days_to_emerge(30.0, (20.0,), (4.0,)) == 4.0


@pytest.mark.parametrize(
    ("temperatures", "days", "words"),
    [((), (), "at least one"), ((10.0, 20.0), (3.0,), "as many values"), ((20.0, 10.0), (3.0, 7.0), "must rise")],
)
def test_a_broken_table_is_refused(temperatures: tuple[float, ...], days: tuple[float, ...], words: str) -> None:
    """Empty, uneven or unsorted tables are faults."""
    with pytest.raises(ValueError, match=words):
        days_to_emerge(15.0, temperatures, days)


def test_two_seeds_a_cell_at_eighty_per_cent_fill_ninety_six_cells_in_a_hundred() -> None:
    """1 - 0.2² = 0.96."""
    assert seedlings_per_cell(0.8, 2) == pytest.approx((0.04, 0.32, 0.64))


@pytest.mark.parametrize("p", [-0.1, 1.1])
def test_a_share_outside_nought_to_one_is_refused(p: float) -> None:
    """A share of seed is from 0 to 1."""
    with pytest.raises(ValueError, match="from 0 to 1"):
        seedlings_per_cell(p, 2)


def test_a_negative_number_of_seeds_is_refused() -> None:
    """Nobody sows less than nothing."""
    with pytest.raises(ValueError, match="cannot be -1"):
        seedlings_per_cell(0.5, -1)


@given(p=st.floats(0.0, 1.0), seeds=st.integers(0, 20))
def test_seedlings_in_a_cell_add_up(p: float, seeds: int) -> None:
    """Chances sum to 1, the mean is n p."""
    chances = seedlings_per_cell(p, seeds)

    assert math.fsum(chances) == pytest.approx(1.0)
    assert math.fsum(k * c for k, c in enumerate(chances)) == pytest.approx(seeds * p, abs=1e-12)


@given(p=st.floats(0.0, 1.0), seeds=st.integers(1, 19))
def test_more_seeds_never_fill_fewer_cells(p: float, seeds: int) -> None:
    """A further seed only helps."""
    assert seedlings_per_cell(p, seeds + 1)[0] <= seedlings_per_cell(p, seeds)[0]


@given(temperature_c=st.floats(-20.0, 60.0))
def test_days_never_leave_the_table(temperature_c: float) -> None:
    """Straight lines stay between the tabled values."""
    assert min(DAYS) <= days_to_emerge(temperature_c, TEMPERATURES, DAYS) <= max(DAYS)
