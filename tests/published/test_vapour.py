"""Vapour pressure, its slope and the deficit against FAO Irrigation and Drainage Paper 56 (Allen et al. 1998)."""

from __future__ import annotations

import pytest
from checks_table import PublishedChecks

from growsim.growth.water import saturation_vapour_pressure_kpa, slope_kpa_per_c, vapour_pressure_deficit_kpa


def test_example_3(published_check: PublishedChecks) -> None:
    """FAO-56 Example 3, as the NCAR manual of satvpr_temp_fao56 repeats it."""
    published_check.table(
        "saturation vapour pressure at 15 and 24.5 °C", "FAO-56 Example 3, via NCAR", (1.705, 3.075),
        [saturation_vapour_pressure_kpa(15.0), saturation_vapour_pressure_kpa(24.5)], "kPa",
        checks=saturation_vapour_pressure_kpa, within=5e-4,
    )  # fmt: skip


def test_example_3_mean_and_the_humidity_it_gives(published_check: PublishedChecks) -> None:
    """Mean of the two 2.39 kPa; with 1.91 kPa in the air 79.9 % humidity, deficit 0.48 kPa (FAO-56 eq. 10, NCAR)."""
    mean = (saturation_vapour_pressure_kpa(15.0) + saturation_vapour_pressure_kpa(24.5)) / 2.0

    published_check(
        "mean saturation pressure of that day", "FAO-56 Example 3, via NCAR", 2.39, mean, "kPa",
        checks=saturation_vapour_pressure_kpa, within=5e-3,
    )  # fmt: skip
    assert 191.0 / mean == pytest.approx(79.9, abs=0.05)
    assert mean - 1.91 == pytest.approx(0.48, abs=5e-3)


def test_slope_at_19_75(published_check: PublishedChecks) -> None:
    """FAO-56 eq. 13 at 19.75 °C: 0.142793 kPa/°C (NCAR manual)."""
    published_check(
        "slope of the vapour pressure curve at 19.75 °C", "FAO-56 eq. 13, via NCAR", 0.142793, slope_kpa_per_c(19.75),
        "kPa/°C", checks=slope_kpa_per_c, within=1e-6,
    )  # fmt: skip


def test_the_older_table_in_millibar(published_check: PublishedChecks) -> None:
    """Table of the type in FAO-24 (Doorenbos & Pruitt), one decimal: an older formula, so within a tenth of a mbar."""
    table = {15.0: 17.0, 20.0: 23.4, 22.0: 26.4, 24.0: 29.8, 25.0: 31.7, 30.0: 42.4}

    published_check.table(
        "saturation vapour pressure, 15 to 30 °C", "table of the FAO-24 type", list(table.values()),
        [10.0 * saturation_vapour_pressure_kpa(temperature_c) for temperature_c in table], "mbar",
        checks=saturation_vapour_pressure_kpa, within=0.1,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("temperature_c", "kpa"),
    [
        (0.0, 0.611),
        (5.0, 0.872),
        (10.0, 1.228),
        (18.0, 2.064),
        (20.0, 2.338),
        (22.0, 2.644),
        (30.0, 4.243),
        (40.0, 7.376),
    ],
)
def test_the_range_of_a_grow_room(temperature_c: float, kpa: float) -> None:
    """Computed from FAO-56 eq. 11 apart from this code; the paper's own table 2.3 was not readable."""
    assert saturation_vapour_pressure_kpa(temperature_c) == pytest.approx(kpa, abs=6e-4)


@pytest.mark.parametrize(("temperature_c", "humidity", "kpa"), [(24.0, 65.0, 1.044), (22.0, 70.0, 0.793)])
def test_deficit(temperature_c: float, humidity: float, kpa: float) -> None:
    """Computed from FAO-56 eq. 10 and 11 apart from this code."""
    assert vapour_pressure_deficit_kpa(temperature_c, humidity) == pytest.approx(kpa, abs=5e-4)
