"""A figure never travels alone: mean, range of the mean, range of one week or year, and how many years it rests on."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest

from growsim.ledger.catalogue import CATALOGUE
from growsim.run.intervals import mean_interval, paired_differences, proportion_interval, quantiles, summarize


def test_a_weekly_figure_speaks_of_one_week(fakes: ModuleType) -> None:
    """The mean is over years; p10, p50 and p90 are over all weeks of all years together."""
    years = [
        fakes.outcome(0, {"kg_packed": (1.0, 2.0, 6.0)}, kg_packed_per_week=3.0),
        fakes.outcome(1, {"kg_packed": (4.0, 5.0, 6.0)}, kg_packed_per_week=5.0),
    ]
    found = summarize(years)["kg_packed_per_week"]

    assert (found.mean, found.n, found.of) == (4.0, 2, "one week")
    assert (found.p10, found.p50, found.p90) == pytest.approx(np.percentile([1, 2, 6, 4, 5, 6], [10, 50, 90]))


def test_a_yearly_figure_speaks_of_one_year(fakes: ModuleType) -> None:
    """Where no weekly series stands behind a figure, the range is over years."""
    years = [fakes.outcome(i, kwh_per_kg=float(i)) for i in range(11)]
    found = summarize(years)["kwh_per_kg"]

    assert (found.p10, found.p50, found.p90, found.of) == (1.0, 5.0, 9.0, "one year")


def test_a_figure_that_does_not_exist_is_left_out_and_n_says_so(fakes: ModuleType) -> None:
    """Cost per kilogram in a year without a kilogram is absent, never a made-up number."""
    years = [fakes.outcome(0, cost_per_kg=4.0), fakes.outcome(1), fakes.outcome(2, cost_per_kg=6.0)]
    found = summarize(years)

    assert (found["cost_per_kg"].mean, found["cost_per_kg"].n) == (5.0, 2)
    assert list(found) == ["cost_per_kg"]


def test_one_year_gives_a_mean_without_range(fakes: ModuleType) -> None:
    """One rehearsal says nothing about how far its mean is off."""
    found = summarize([fakes.outcome(0, kwh_per_kg=9.0)])["kwh_per_kg"]

    assert (found.mean, found.mean_low, found.mean_high, found.p50, found.n) == (9.0, None, None, 9.0, 1)


def test_no_years_give_no_figures() -> None:
    """Nothing rehearsed, nothing said."""
    assert summarize([]) == {}


def test_a_few_values_that_differ_have_no_range() -> None:
    """From five on they have; values that are all alike differ by nothing, however few (common practice, no source)."""
    assert mean_interval([1.0, 2.0, 3.0, 4.0]) == (2.5, None, None)
    assert None not in mean_interval([1.0, 2.0, 3.0, 4.0, 5.0])
    assert mean_interval([2.0, 2.0]) == (2.0, 2.0, 2.0)
    assert None not in mean_interval([1.0, 2.0], fewest=2)


def test_figures_come_in_the_catalogues_order(fakes: ModuleType) -> None:
    """Tables list figures as the catalogue does, whatever the order in an outcome."""
    found = summarize([fakes.outcome(0, **dict.fromkeys(reversed(CATALOGUE), 0.5))])

    assert list(found) == list(CATALOGUE)


def test_a_range_stays_where_the_figure_can_be(fakes: ModuleType) -> None:
    """No share above 1 and no kilograms below 0, but a temperature may be below 0."""
    years = [
        fakes.outcome(i, orders_filled_fraction=share, kg_wasted_per_week=kg, air_temperature_max_c=kg)
        for i, (share, kg) in enumerate([(1.0, 0.0)] * 4 + [(0.8, 3.0)])
    ]
    found = summarize(years)

    assert found["orders_filled_fraction"].mean_high == 1.0
    assert found["kg_wasted_per_week"].mean_low == 0.0
    assert found["air_temperature_max_c"].mean_low == pytest.approx(mean_interval([0.0, 0.0, 0.0, 0.0, 3.0])[1])
    assert found["air_temperature_max_c"].mean_low < 0.0


def test_order_of_years_changes_no_bit(fakes: ModuleType) -> None:
    """The same years in another order give the same estimate, bit for bit."""
    values = [float(value) for value in np.random.default_rng(3).normal(5.0, 2.0, 101)]
    years = [fakes.outcome(i, kwh_per_kg=value) for i, value in enumerate(values)]

    assert repr(summarize(years)) == repr(summarize(years[::-1]))


def test_differences_are_paired_by_replication(fakes: ModuleType) -> None:
    """Luck that both rooms share cancels: the difference is known exactly although the years differ wildly."""
    luck = [3.0, 90.0, 41.0, 7.0]
    today = [fakes.outcome(i, kg_packed_per_week=value) for i, value in enumerate(luck)]
    more = [fakes.outcome(i, kg_packed_per_week=luck[i] + 2.0) for i in (3, 1, 0, 2)]
    found = paired_differences(today, {"one more rack": more}, ["kg_packed_per_week"])["one more rack"][
        "kg_packed_per_week"
    ]

    assert (found.mean, found.low, found.high, found.chance_better, found.n) == (2.0, 2.0, 2.0, 1.0, 4)


def test_less_can_be_better(fakes: ModuleType) -> None:
    """Less electricity is better; no change is neither; surplus has no better side."""
    today = [fakes.outcome(i, kwh_per_kg=10.0, kg_surplus_per_week=1.0) for i in range(4)]
    changed = [fakes.outcome(i, kwh_per_kg=10.0 + i - 2, kg_surplus_per_week=3.0) for i in range(4)]
    found = paired_differences(today, {"": changed}, ["kwh_per_kg", "kg_surplus_per_week"])[""]

    assert found["kwh_per_kg"].chance_better == 0.5
    assert found["kg_surplus_per_week"].chance_better is None


def test_more_questions_make_wider_ranges(fakes: ModuleType) -> None:
    """Each of g ranges is made at 1 - 0.05/g, so that all hold at once."""
    luck = np.random.default_rng(4).normal(size=(2, 12))
    today = [fakes.outcome(i, kwh_per_kg=0.0, cost_per_kg=0.0) for i in range(12)]
    other = [fakes.outcome(i, kwh_per_kg=float(luck[0, i]), cost_per_kg=float(luck[1, i])) for i in range(12)]
    found = paired_differences(today, {"a": other, "b": other}, ["kwh_per_kg", "cost_per_kg"])["a"]["kwh_per_kg"]

    assert (found.low, found.high) == mean_interval(list(luck[0]), level=1 - 0.05 / 4)[1:]


def test_a_difference_needs_the_figure_on_both_sides(fakes: ModuleType) -> None:
    """A year counts where both rooms have the figure; no such year, no difference."""
    today = [fakes.outcome(0, cost_per_kg=4.0), fakes.outcome(1), fakes.outcome(2, cost_per_kg=5.0)]
    other = [fakes.outcome(0, cost_per_kg=3.0), fakes.outcome(1, cost_per_kg=2.0), fakes.outcome(3, cost_per_kg=5.0)]
    found = paired_differences(today, {"a": other}, ["cost_per_kg", "kwh_per_kg"])["a"]

    assert list(found) == ["cost_per_kg"]
    assert (found["cost_per_kg"].mean, found["cost_per_kg"].low, found["cost_per_kg"].n) == (-1.0, None, 1)


def test_impossible_counts_are_refused() -> None:
    """No mean of nothing, no share of more than all."""
    with pytest.raises(ValueError, match="no values"):
        mean_interval([])
    with pytest.raises(ValueError, match="7 of 6 is no share"):
        proportion_interval(7, 6)


def test_quantiles_of_one_value_are_that_value() -> None:
    """One week known: every quantile is it."""
    assert quantiles([4.0], (0.1, 0.9)) == (4.0, 4.0)
