"""Pay-back by hand: money saved, kilograms gained, and both."""

from __future__ import annotations

from types import ModuleType

import pytest

from growsim.study.pay_back import pay_back

WEEKS = 365.25 / 7


def test_a_change_that_saves_money(compared: ModuleType) -> None:
    """USD 2 a week saved pays USD 208.71 back in two years; no kilogram more, so no price for one."""
    today = compared.outcomes([30.0, 32.0, 34.0], cost_per_week=[100.0, 101.0, 102.0])
    after = compared.outcomes([30.0, 32.0, 34.0], cost_per_week=[98.0, 99.0, 100.0])
    found = pay_back(4 * WEEKS * 1.0, today, after, 0.05)
    assert found is not None

    assert found.saved_per_year.mean == pytest.approx(2 * WEEKS)
    assert found.years_by_saving == pytest.approx(2.0)
    assert found.price_per_extra_kg_a_year is None


def test_a_change_that_brings_more_and_costs_more(compared: ModuleType) -> None:
    """By hand: 2 kg a week more for USD 5 a week more, in a room where a kilogram costs USD 4."""
    today = compared.outcomes([25.0, 25.0], cost_per_week=[100.0, 100.0])
    after = compared.outcomes([27.0, 27.0], cost_per_week=[105.0, 105.0])
    found = pay_back(3 * WEEKS, today, after, 0.05)
    assert found is not None

    assert found.value_per_kg == pytest.approx(4.0)
    assert found.years_by_saving is None
    assert found.extra_kg_per_year.mean == pytest.approx(2 * WEEKS)
    assert found.price_per_extra_kg_a_year == pytest.approx(1.5)
    # worth a week: 2 kg at USD 4, less USD 5 = USD 3; the price is three weeks' of one dollar a year: one year
    assert found.worth_per_year.mean == pytest.approx(3 * WEEKS)
    assert found.years_by_worth == pytest.approx((1.0, 1.0, 1.0))


def test_what_may_be_worth_nothing_may_never_be_paid_back(compared: ModuleType) -> None:
    """The latest pay-back is never where the range of the worth reaches zero."""
    today = compared.outcomes([25.0] * 5, cost_per_week=[100.0] * 5)
    after = compared.outcomes([24.0, 26.0, 27.0, 24.0, 26.0], cost_per_week=[100.0] * 5)
    found = pay_back(100.0, today, after, 0.05)
    assert found is not None
    average, soonest, latest = found.years_by_worth

    assert soonest is not None and average is not None and soonest < average
    assert latest is None


def test_nothing_handed_out_has_no_pay_back(compared: ModuleType) -> None:
    """No kilogram, no cost of one."""
    nothing = compared.outcomes([0.0, 0.0], cost_per_week=[10.0, 10.0])

    assert pay_back(100.0, nothing, nothing, 0.05) is None
