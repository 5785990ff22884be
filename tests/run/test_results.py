"""Tidy tables: one row one fact."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pandas as pd
import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import summarize
from growsim.run.results import fates_frame, measures_frame, week_summary_frame, weeks_frame, write_frame


def test_a_row_a_figure(fakes: ModuleType) -> None:
    """Key, words and unit from the catalogue, then the estimate."""
    frame = measures_frame(summarize([fakes.outcome(i, kwh_per_kg=float(i)) for i in range(3)]), 364)

    assert list(frame.columns) == [
        "measure", "label", "unit", "mean", "mean_low", "mean_high", "p10", "p50", "p90", "n", "of",
    ]  # fmt: skip
    assert frame.loc[0, ["measure", "label", "unit", "mean", "n", "of"]].tolist() == [
        "kwh_per_kg",
        "Electricity per kilogram handed out",
        "kWh/kg",
        1.0,
        3,
        "one year",
    ]


def test_no_range_is_an_empty_cell(fakes: ModuleType, tmp_path: Path) -> None:
    """One year has a mean and no range; the table does not make one up."""
    write_frame(tmp_path / "measures.csv", measures_frame(summarize([fakes.outcome(0, kwh_per_kg=2.0)]), 364))

    assert (tmp_path / "measures.csv").read_text().splitlines()[1] == (
        "kwh_per_kg,Electricity per kilogram handed out,kWh/kg,2.0,,,2.0,2.0,2.0,1,one year"
    )


def test_a_row_a_replication_week_and_series(fakes: ModuleType) -> None:
    """Weeks are numbered from 1."""
    years = [
        fakes.outcome(4, {"kg_packed": (1.0, 2.0), "kwh": (7.0, 8.0)}),
        fakes.outcome(5, {"kg_packed": (3.0, 4.0)}),
    ]

    assert weeks_frame(years).to_numpy().tolist() == [
        [4, 1, "kg_packed", 1.0],
        [4, 2, "kg_packed", 2.0],
        [4, 1, "kwh", 7.0],
        [4, 2, "kwh", 8.0],
        [5, 1, "kg_packed", 3.0],
        [5, 2, "kg_packed", 4.0],
    ]
    assert set(weeks_frame(years, series=["kwh"])["series"]) == {"kwh"}


def test_a_row_a_week_over_all_years(fakes: ModuleType) -> None:
    """Mean and quantiles of one week over the years that have the series.

    Source: pandas' own groupby as the reference.
    """
    years = [fakes.outcome(i, {"kg_packed": (float(i), float(i * i)), "kwh": (1.0, 1.0)}) for i in range(7)]
    found = week_summary_frame(years)
    grouped = weeks_frame(years).groupby(["series", "week"], sort=False)["value"]
    expected = pd.DataFrame({"mean": grouped.mean(), **{f"p{q}": grouped.quantile(q / 100) for q in (10, 50, 90)}})

    assert list(found.columns) == ["week", "series", "mean", "p10", "p50", "p90"]
    pd.testing.assert_frame_equal(found.set_index(["series", "week"]), expected, check_index_type=False)


def test_nothing_rehearsed_gives_empty_tables() -> None:
    """The columns are there all the same."""
    assert list(weeks_frame([]).columns) == ["replication", "week", "series", "value"]
    assert week_summary_frame([]).empty
    assert measures_frame({}, 364).empty


def test_units_are_true_for_the_days_counted(fakes: ModuleType) -> None:
    """Losses of 28 days are not losses of a year."""
    found = summarize([fakes.outcome(i, plants_lost_heat=4, kg_packed_per_week=3.0) for i in range(3)])

    assert list(measures_frame(found, 28)["unit"]) == ["kg/week", "plants/28 days"]
    assert list(measures_frame(found, 1)["unit"]) == ["kg/week", "plants/1 day"]
    assert list(measures_frame(found, 365)["unit"]) == ["kg/week", "plants/year"]


def test_what_became_of_the_seeds(fakes: ModuleType) -> None:
    """A row a replication, crop and fate, with the fate in words."""
    year = Outcome(3, measures={}, weeks={}, fates={("basil", "dried_out"): 12}, accounts={})

    assert fates_frame([year]).to_numpy().tolist() == [[3, "basil", "dried_out", "dried out", 12]]


def test_a_crop_named_like_a_formula_is_disarmed(tmp_path: Path) -> None:
    """In cells and in headers; numbers stay numbers."""
    write_frame(tmp_path / "t.csv", pd.DataFrame({"=evil()": ["@x", "fine", None], "kg": [-1.0, 2.0, float("nan")]}))

    assert (tmp_path / "t.csv").read_text() == "'=evil(),kg\n'@x,-1.0\nfine,2.0\n,\n"


def test_a_frame_is_not_changed_by_writing_it(tmp_path: Path) -> None:
    """Writing is reading only."""
    frame = pd.DataFrame({"crop": ["=x"]})
    write_frame(tmp_path / "t.csv", frame)

    assert frame.loc[0, "crop"] == "=x"


@pytest.mark.parametrize("unit", ["°C", "m³"])
def test_units_survive(tmp_path: Path, unit: str) -> None:
    """Tables are UTF-8."""
    write_frame(tmp_path / "t.csv", pd.DataFrame({"unit": [unit]}))

    assert (tmp_path / "t.csv").read_bytes().decode("utf-8").splitlines()[1] == unit
