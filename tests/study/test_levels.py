"""Safe, likely, possible: the stated rates hold for any luck whatever."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.study.promised import Levels, levels_of


@given(st.lists(st.integers(0, 30), min_size=10, max_size=60))
def test_one_more_year_reaches_each_level_at_the_stated_rate(years: list[int]) -> None:
    """Take each of the years in turn for the one to come and promise from the others: exactly counted, at least
    90, 50 and 10 in 100 of them keep the promise, ties and all."""
    kept = {"safe": 0, "likely": 0, "possible": 0}
    for place, year in enumerate(years):
        levels = levels_of(years[:place] + years[place + 1 :])
        for name in kept:
            kept[name] += year >= getattr(levels, name)

    n = len(years)
    assert kept["safe"] >= 0.9 * n
    assert kept["likely"] >= 0.5 * n
    assert kept["possible"] >= 0.1 * n


@pytest.mark.parametrize(
    ("n", "expected"),
    [(9, Levels(1, 5, 9)), (19, Levels(2, 10, 18)), (99, Levels(10, 50, 90)), (100, Levels(10, 50, 90))],
)
def test_levels_are_the_ranks_worked_by_hand(n: int, expected: Levels) -> None:
    """The years 1, 2, ... n. Of 99, the tenth is reached by one more with chance 90 in 100 exactly."""
    assert levels_of(list(range(n, 0, -1))) == expected


def test_eight_years_are_too_few() -> None:
    """The smallest of eight is missed once in nine."""
    with pytest.raises(ValueError, match="8 rehearsals"):
        levels_of([1.0] * 8)
