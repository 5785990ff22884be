"""Emergence of vegetable seed against the handbook table."""

from __future__ import annotations

import pytest

from growsim.growth.germination import days_to_emerge, relative_emergence, seedlings_per_cell

# Harrington & Minges 1954, *Vegetable Seed Germination*, Calif. Agric. Ext. mimeo: per cent normal seedlings and days
# to emerge at half an inch, lettuce; days reprinted in *Knott's Handbook for Vegetable Growers* (1997). Read in two
# transcriptions that agree.
TEMPERATURE_C = (0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
LETTUCE_DAYS = (49.0, 15.0, 7.0, 4.0, 3.0, 2.0, 3.0)
LETTUCE_FRACTION = (0.98, 0.98, 0.98, 0.99, 0.99, 0.99, 0.12)
# The same table, crops with figures at every one of these temperatures.
SPINACH_DAYS = (63.0, 23.0, 12.0, 7.0, 6.0, 5.0, 6.0)
ONION_DAYS = (136.0, 31.0, 13.0, 7.0, 5.0, 4.0, 4.0)


@pytest.mark.parametrize(("temperature_c", "days"), [(10.0, 7.0), (15.0, 4.0), (20.0, 3.0), (25.0, 2.0)])
def test_lettuce_comes_up_in_the_days_of_the_handbook(temperature_c: float, days: float) -> None:
    """Lettuce: 7, 4, 3 and 2 days at 10, 15, 20 and 25 °C."""
    assert days_to_emerge(temperature_c, TEMPERATURE_C, LETTUCE_DAYS) == days


def test_warm_lettuce_seed_goes_to_sleep() -> None:
    """Lettuce collapses from 99 % at 25 °C to 12 % at 30 °C."""
    assert relative_emergence(25.0, TEMPERATURE_C, LETTUCE_FRACTION) == pytest.approx(0.99)
    assert relative_emergence(30.0, TEMPERATURE_C, LETTUCE_FRACTION) == pytest.approx(0.12)
    assert relative_emergence(27.5, TEMPERATURE_C, LETTUCE_FRACTION) < 0.6


@pytest.mark.parametrize("table", [LETTUCE_DAYS, SPINACH_DAYS, ONION_DAYS])
def test_every_tabled_point_is_met(table: tuple[float, ...]) -> None:
    """Lettuce, spinach and onion, 0 to 30 °C."""
    assert tuple(days_to_emerge(t, TEMPERATURE_C, table) for t in TEMPERATURE_C) == table


def test_cells_filled_from_seed_at_the_federal_minimum() -> None:
    """7 CFR 201.31 asks 80 % of lettuce seed; one seed a cell fills 80 %, two fill 96 % (binomial)."""
    assert 1 - seedlings_per_cell(0.80, 1)[0] == pytest.approx(0.80)
    assert 1 - seedlings_per_cell(0.80, 2)[0] == pytest.approx(0.96)


def test_spread_of_an_official_test_of_four_hundred_seeds() -> None:
    """7 CFR 201.54: at least 400 seeds; at 80 % the binomial spread is 2.0 percentage points (computed)."""
    chances = seedlings_per_cell(0.80, 400)
    mean = sum(k * c for k, c in enumerate(chances))
    variance = sum((k - mean) ** 2 * c for k, c in enumerate(chances))

    assert variance**0.5 / 400 == pytest.approx(0.020, abs=1e-6)
