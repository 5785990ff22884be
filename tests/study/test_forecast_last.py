"""Weeks held back: nothing of them is known beforehand, and the forecast is scored by hand-checked rules."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from pathlib import Path

import pytest
from kept_records import as_csv, kept

from growsim.errors import InputError
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.placing import place
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import AttendanceRow, FaultRow, PlantingRow, Records, WorkRow
from growsim.study.learn.forecast import as_known_on, forecast_last, shelves_on, weekly_kg
from growsim.study.learn.learned import ForecastCheck, Scored, Week

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
PREPARED = prepare(TINY.scenario)
DAY = dt.date(2031, 5, 5)


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Records:
    """Half a year of the tiny room."""
    tables = kept(trace(PREPARED, 21, 0, RunPlan(days=196, warm_up_days=56)), TINY.scenario)
    return read_records(as_csv(tables, tmp_path_factory.mktemp("record")), TINY.scenario)


@pytest.fixture(scope="module")
def held(records: Records) -> ForecastCheck:
    """Its last six weeks, held back."""
    return forecast_last(TINY, PREPARED, records, 6, seed=5, replications=60)


def test_nothing_of_later_days_is_known() -> None:
    """Rows begun later are gone; of rows begun before, later entries are blank; what was down is down."""
    before, after = DAY - dt.timedelta(days=20), DAY + dt.timedelta(days=9)
    whole = Records(
        plantings=(
            PlantingRow(
                "t", 2, before, "small head", 60, None, 55, before, after, 1, 50, 5000.0, 5, (("heat", 5),), after
            ),
            PlantingRow("t", 3, DAY - dt.timedelta(days=1), "small head", 60, None, 55),
            PlantingRow("t", 4, DAY, "small head", 60),
            PlantingRow(
                "t", 5, before, "cutting leaf", harvested=after, harvest_number=2, plants_harvested=9, grams=1.0
            ),
            PlantingRow(
                "t", 6, before, "cutting leaf", 60, None, 58, before, DAY - dt.timedelta(days=1), 1, 58, 900.0, 0, ()
            ),
        ),
        attendance=(AttendanceRow("v", 2, before, "", 4, 3), AttendanceRow("v", 3, DAY, "", 4, 3)),
        work=(WorkRow("w", 2, after, "harvest", 9, 1, 9),),
        faults=(
            FaultRow("f", 2, "pump", "reservoir", dt.datetime(2031, 5, 4, 7), repaired=dt.datetime(2031, 5, 6, 7)),
        ),
    )
    known = as_known_on(whole, DAY, TINY.scenario)

    assert [row.line for row in known.plantings] == [2, 3, 6]
    assert known.plantings[0] == PlantingRow("t", 2, before, "small head", 60, None, 55, before)
    assert known.plantings[1].emerged is None
    assert known.plantings[2] == whole.plantings[4]
    assert ([row.line for row in known.attendance], known.work) == ([2], ())
    assert [fault.repaired for fault in known.faults] == [None]


def test_the_future_cannot_change_the_forecast(records: Records, held: ForecastCheck) -> None:
    """Multiply every later gram and head by ten: the forecast stays, to the last digit."""
    from dataclasses import replace

    from_day = held.known_until + dt.timedelta(days=1)
    trays = tuple(
        replace(row, grams=10 * row.grams) if row.grams and row.harvested and row.harvested >= from_day else row
        for row in records.plantings
    )
    other = forecast_last(TINY, PREPARED, replace(records, plantings=trays), 6, seed=5, replications=60)

    assert [week.forecast for week in other.series[0].weeks] == [week.forecast for week in held.series[0].weeks]
    assert sum(week.came for week in other.series[0].weeks) > 9 * sum(week.came for week in held.series[0].weeks)


def test_what_stood_on_the_shelves_is_what_was_sown_and_not_cut(records: Records) -> None:
    """By the record: sown before, harvested after or in part; each in a stage of its crop; and it fits the room."""
    known = as_known_on(records, DAY, TINY.scenario)
    lots = shelves_on(DAY, known.plantings, TINY.scenario)
    cut: Counter[tuple[dt.date, str]] = Counter()
    for row in known.plantings:
        cut[row.sown, row.crop] += row.plants or 0
    sown = {
        (row.sown, row.crop)
        for row in known.plantings
        if row.cells and (row.harvested is None or (row.emerged or 0) - (row.lost or 0) > cut[row.sown, row.crop])
    }

    assert {(DAY - dt.timedelta(days=lot.days_since_sowing), lot.crop) for lot in lots} <= sown
    assert len(lots) >= 4
    assert not any(place(lots, TINY.scenario).left_over)


def test_the_forecast_of_a_known_room_holds_up(held: ForecastCheck) -> None:
    """Kilograms and people, six weeks each; most of them inside, and far better than the last four weeks."""
    kg, people = held.series

    assert (kg.key, people.key) == ("kg_packed", "volunteers_came")
    assert len(kg.weeks) == len(people.weeks) == 6
    assert kg.weeks[0].begins == held.known_until + dt.timedelta(days=1)
    assert kg.inside + people.inside >= 8
    assert kg.loss < 0.8 * kg.naive_loss


def test_naive_is_the_last_four_weeks(records: Records, held: ForecastCheck) -> None:
    """Lowest, mean and highest of the four weeks before, the same for every week to come."""
    from_day = held.known_until + dt.timedelta(days=1)
    before = weekly_kg(records, from_day, 6)[:4]

    (naive,) = {week.naive for week in held.series[0].weeks}
    assert naive == pytest.approx((min(before), sum(before) / 4, max(before)))


def test_scores_by_hand() -> None:
    """Two weeks: one inside the range and one above it."""
    weeks = (
        Week(DAY, 10.0, (8.0, 10.0, 12.0), (9.0, 9.0, 9.0)),
        Week(DAY, 15.0, (8.0, 10.0, 12.0), (9.0, 12.0, 15.0)),
    )
    scored = Scored("kg_packed", "kilograms harvested", "kg", weeks)

    assert (scored.inside, scored.naive_inside) == (1, 1)
    assert scored.loss == pytest.approx(((0.2 + 0.0 + 0.2) / 3 + (0.7 + 2.5 + 2.7) / 3) / 2)
    assert scored.naive_loss == pytest.approx(((0.1 + 0.5 + 0.9) / 3 + (0.6 + 1.5 + 0.0) / 3) / 2)


def test_a_record_too_short_to_hold_weeks_back_is_refused(records: Records) -> None:
    """With how many could be."""
    with pytest.raises(
        InputError, match=r"--forecast-last 24w: the record has \d weeks before that.* e.g. --forecast-last \d+w"
    ):
        forecast_last(TINY, PREPARED, records, 24, seed=1, replications=20)
