"""A difference has a sign, and the unit of its reader."""

from __future__ import annotations

import pytest

from growsim.report.words import amount, as_difference, difference_alone, plus, sizes
from growsim.units import shown_in


@pytest.mark.parametrize(
    ("key", "value", "metric", "us"),
    [
        ("kg_handed_out_per_week", 2.0, "+2.0", "+4.4"),  # 1 kg = 2.2046 lb, international pound of 1959
        ("kg_handed_out_per_week", -0.04, "-0.04", "-0.09"),
        ("orders_filled_fraction", 0.041, "+4.1 of 100", "+4.1 of 100"),
        ("air_temperature_max_c", -2.0, "-2.0", "-3.6"),  # a difference: no 32 is added
        ("cost_per_kg", -0.5, "USD -0.50", "USD -0.23"),
        ("kwh_per_kg", 1.0, "+1.0", "+0.5"),
        ("plants_harvested", 1234.4, "+1,234", "+1,234"),
        ("seeds_sown", -0.2, "0", "0"),
        ("cost_per_kg", None, "–", "–"),
    ],
)
def test_a_signed_difference(key: str, value: float | None, metric: str, us: str) -> None:
    """As a table shows it."""
    assert as_difference(key, value, "USD") == metric
    with shown_in("us"):
        assert as_difference(key, value, "USD") == us


def test_a_difference_that_stands_alone_has_its_unit() -> None:
    """In a list of what changes, no head of a column says it."""
    assert difference_alone("kg_wasted_per_week", 0.09, "USD") == "+0.09 kg"
    assert difference_alone("grams_per_plant_mean", 4.2, "USD") == "+4 g"
    assert difference_alone("kwh_per_week", -11.3, "USD") == "-11 kWh"
    assert difference_alone("orders_filled_fraction", 0.041, "USD") == "+4.1 of 100"
    assert difference_alone("seeds_sown", -3.0, "USD") == "-3"


def test_sizes_have_no_sign_and_their_unit() -> None:
    """As a sentence says it."""
    assert amount("kg_handed_out_per_week", 5.2, "USD") == "5.2 kg"
    assert amount("crew_hours_needed_per_week", 3.14, "USD") == "3.1 hours"
    assert amount("orders_filled_fraction", 0.04, "USD") == "4.0 of 100"
    assert sizes("kg_handed_out_per_week", 4.1, 6.3, "USD") == "4.1 to 6.3 kg"
    with shown_in("us"):
        assert sizes("kg_handed_out_per_week", 4.1, 6.3, "USD") == "9.0 to 13.9 lb"
        assert difference_alone("grams_per_plant_mean", 28.349523125, "USD") == "+1.0 oz"
        assert amount("cost_per_kg", 2.2046226218, "USD") == "USD 1.00"
    assert sizes("cost_per_kg", 0.1, 0.25, "EUR") == "EUR 0.10 to 0.25"
    with pytest.raises(ValueError, match="no words for a difference"):
        amount("kwh_per_kg", 1.0, "USD")


def test_nought_has_no_sign() -> None:
    """Neither +0 nor -0."""
    assert (plus(0.04, 1), plus(-0.04, 1), plus(0.06, 1)) == ("0.0", "0.0", "+0.1")
