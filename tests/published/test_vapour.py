"""Vapour pressure, its slope and the deficit against FAO Irrigation and Drainage Paper 56 (Allen et al. 1998)."""

from __future__ import annotations

import pytest

from growsim.growth.water import saturation_vapour_pressure_kpa, slope_kpa_per_c, vapour_pressure_deficit_kpa


@pytest.mark.parametrize(("temperature_c", "kpa"), [(15.0, 1.705), (24.5, 3.075)])
def test_example_3(temperature_c: float, kpa: float) -> None:
    """FAO-56 Example 3, as the NCAR manual of satvpr_temp_fao56 repeats it."""
    assert saturation_vapour_pressure_kpa(temperature_c) == pytest.approx(kpa, abs=5e-4)


def test_example_3_mean_and_the_humidity_it_gives() -> None:
    """Mean of the two 2.39 kPa; with 1.91 kPa in the air 79.9 % humidity, deficit 0.48 kPa (FAO-56 eq. 10, NCAR)."""
    mean = (saturation_vapour_pressure_kpa(15.0) + saturation_vapour_pressure_kpa(24.5)) / 2.0

    assert mean == pytest.approx(2.39, abs=5e-3)
    assert 100.0 * 1.91 / mean == pytest.approx(79.9, abs=0.05)
    assert mean - 1.91 == pytest.approx(0.48, abs=5e-3)


def test_slope_at_19_75() -> None:
    """FAO-56 eq. 13 at 19.75 °C: 0.142793 kPa/°C (NCAR manual)."""
    assert slope_kpa_per_c(19.75) == pytest.approx(0.142793, abs=5e-7)


@pytest.mark.parametrize(
    ("temperature_c", "mbar"), [(15.0, 17.0), (20.0, 23.4), (22.0, 26.4), (24.0, 29.8), (25.0, 31.7), (30.0, 42.4)]
)
def test_the_older_table_in_millibar(temperature_c: float, mbar: float) -> None:
    """Table of the type in FAO-24 (Doorenbos & Pruitt), one decimal: an older formula, so within a tenth of a mbar."""
    assert saturation_vapour_pressure_kpa(temperature_c) * 10.0 == pytest.approx(mbar, abs=0.1)


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
