"""Ranges at their edges: shares of all and none, one try, figures that may pass one."""

from __future__ import annotations

import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval, paired_differences, proportion_interval, summarize


def outcome(number: int, **measures: float) -> Outcome:
    """A replication with nothing but these figures."""
    return Outcome(number, measures, weeks={}, fates={}, accounts={})


def test_a_share_of_nothing_is_refused() -> None:
    """No tries, no share; more hits than tries neither."""
    for hits, tries in ((0, 0), (1, 0), (3, 2), (-1, 2)):
        with pytest.raises(ValueError, match="is no share"):
            proportion_interval(hits, tries)


def test_all_and_none_reach_the_end_exactly() -> None:
    """Wilson's range of no hit begins at 0, of nothing but hits it ends at 1: not a last digit beside it."""
    for tries in range(1, 200):
        none, all_of_them = proportion_interval(0, tries), proportion_interval(tries, tries)

        assert (none.low, all_of_them.high) == (0.0, 1.0)
        assert 0.0 < none.high < 1.0
        assert 0.0 < all_of_them.low < 1.0


def test_only_a_share_is_held_under_one() -> None:
    """A range of kilograms passes 1; a range of a share does not, and none falls under 0."""
    years = [
        outcome(i, kg_packed_per_week=kg, orders_filled_fraction=min(kg / 9, 1.0))
        for i, kg in enumerate((0.1, 0.1, 0.1, 0.1, 18.0))
    ]
    found = summarize(years)
    kg, share = found["kg_packed_per_week"], found["orders_filled_fraction"]

    assert (kg.key, share.key) == ("kg_packed_per_week", "orders_filled_fraction")
    assert kg.mean_low == 0.0
    assert kg.mean_high is not None
    assert kg.mean_high > 9.0
    assert (share.mean_low, share.mean_high) == (0.0, 1.0)


def test_one_comparison_alone_is_a_plain_range_of_differences() -> None:
    """One alternative, one figure: the 95 % t-range itself; ties are not better, small gains are."""
    changes = (0.5, 0.0, -0.25, 0.75, 0.25, -0.5)
    today = [outcome(i, kg_packed_per_week=4.0) for i in range(6)]
    other = [outcome(i, kg_packed_per_week=4.0 + change) for i, change in enumerate(changes)]
    found = paired_differences(today, {"other": other}, ("kg_packed_per_week",))["other"]["kg_packed_per_week"]

    assert (found.mean, found.low, found.high) == mean_interval(changes)
    assert (found.key, found.chance_better, found.n) == ("kg_packed_per_week", 0.5, 6)


def test_no_values_have_no_mean() -> None:
    """In so many words."""
    with pytest.raises(ValueError, match=r"^no values, no mean$"):
        mean_interval([])
