"""A row of a wrong year is set aside by line; what may be a real pause in the record is not."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.scenario.load import load_scenario
from growsim.scenario.record.files import ENOUGH_ROWS, FAR, read_records, stray_rows
from growsim.scenario.record.record import AttendanceRow, PlantingRow

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
MONDAY = dt.date(2031, 3, 3)


def attendance(count: int, begin: dt.date = MONDAY, line: int = 2) -> list[AttendanceRow]:
    """One visit a week."""
    return [
        AttendanceRow("attendance.csv", line + n, begin + dt.timedelta(days=7 * n), "Monday", 4, 3)
        for n in range(count)
    ]


@pytest.mark.parametrize("years", [-10, -1, 1, 9])
def test_one_row_of_a_wrong_year_is_named(tmp_path: Path, years: int) -> None:
    """It stands among the rows set aside, with its cells; the time watched is that of the others; counts add up."""
    lines = [f"{MONDAY + dt.timedelta(days=7 * n)},Monday,4,3" for n in range(30)]
    lines[12] = lines[12].replace("2031", str(2031 + years))
    (tmp_path / "attendance.csv").write_text("date,shift,signed_up,came\n" + "\n".join(lines) + "\n")
    records = read_records(tmp_path, TINY)
    (aside,) = records.set_aside
    (table,) = records.tables

    assert (aside.file, aside.line) == ("attendance.csv", 14)
    assert aside.written[0].startswith(str(2031 + years))
    assert "is the year right?" in aside.reason
    assert (records.first, records.last) == (MONDAY, MONDAY + dt.timedelta(days=7 * 29))
    assert (table.rows, table.used, table.set_aside) == (30, 29, 1)


def test_a_sowing_with_one_wrong_date_is_astray() -> None:
    """Sown in its year, harvested in the next but one."""
    tray = PlantingRow("plantings.csv", 2, MONDAY, "leaf", harvested=dt.date(2033, 4, 1))
    ((row, reason),) = stray_rows([*attendance(25), tray])

    assert row is tray
    assert reason.startswith("2033-04-01")


def test_two_seasons_with_a_long_pause_stay() -> None:
    """A room that was shut for most of a year: neither part is a hundredth of the rows."""
    assert stray_rows([*attendance(15), *attendance(15, MONDAY + dt.timedelta(days=600), 40)]) == []


@given(st.lists(st.dates(MONDAY, MONDAY + FAR), min_size=0, max_size=60))
def test_nothing_within_half_a_year_is_astray(days: list[dt.date]) -> None:
    """Whatever the dates, rows less than FAR apart stay; so do those of a record too short to tell."""
    rows = [AttendanceRow("attendance.csv", n, day, "Monday", 1, 1) for n, day in enumerate(days)]
    is_parted = any(two - one >= FAR for one, two in zip(sorted(days), sorted(days)[1:], strict=False))

    if not is_parted:
        assert stray_rows(rows) == []
    assert stray_rows(rows[: ENOUGH_ROWS - 1]) == []
