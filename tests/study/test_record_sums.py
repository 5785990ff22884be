"""What a record shows of a time, counted by hand."""

from __future__ import annotations

import dataclasses
import datetime as dt
from pathlib import Path

import pytest

from growsim.errors import InputError
from growsim.scenario.load import load_scenario
from growsim.scenario.record.record import AttendanceRow, FaultRow, PlantingRow, Records, TableRead
from growsim.study.funder.record import sums_of

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
SHIFT = TINY.crew.shifts[0]
MONDAY = dt.date(2031, 3, 3)


def day(number: int) -> dt.date:
    """Days after that Monday."""
    return MONDAY + dt.timedelta(days=number)


def moment(number: int, hour: int) -> dt.datetime:
    """An hour of such a day."""
    return dt.datetime.combine(day(number), dt.time(hour))


def tray(sown: int, cut: int | None, grams: float | None = None, **more: object) -> PlantingRow:
    """A sowing of 60 cells, 50 of which germinated."""
    return PlantingRow("plantings.csv", 2, day(sown), "cutting leaf", 60, 2, 50,
                       harvested=None if cut is None else day(cut),
                   grams=grams, **more)  # fmt: skip


RECORDS = Records(
    plantings=(
        tray(-30, -1, 900.0),  # harvested the day before
        tray(-25, 0, 1000.0, lost=5, lost_to=(("transplanting", 3), ("heat", 2))),
        tray(-20, 6, 1500.0),
        tray(-19, 6),  # not weighed
        tray(-18, 7, 4000.0),  # harvested the day after
        tray(2, None, lost=1),
    ),
    attendance=(
        AttendanceRow("attendance.csv", 2, day(0), SHIFT.name, 3, 2, guests=1),
        AttendanceRow("attendance.csv", 3, day(3), "a shift of another name", 2, 2),
        AttendanceRow("attendance.csv", 4, day(7), SHIFT.name, 3, 3),
    ),
    faults=(
        FaultRow("faults.csv", 2, "pump", "reservoir", moment(-1, 12), repaired=moment(0, 6)),
        FaultRow("faults.csv", 3, "pump", "reservoir", moment(5, 0), repaired=moment(5, 3)),
        FaultRow("faults.csv", 4, "lights", "", moment(6, 20)),
        FaultRow("faults.csv", 5, "power", "", moment(9, 0), repaired=moment(9, 3)),
    ),
)


def test_only_what_happened_in_the_time_counts() -> None:
    """One week, first and last day included: 2.5 kg of three harvests, 3 volunteers of known hours, one a guest, 6 + 3
    hours of pump.
    """
    week = sums_of(RECORDS, TINY, since=day(0), until=day(6))

    assert (week.days, week.kg, week.plants, week.not_weighed) == (7, 2.5, 45 + 50 + 50, 1)
    assert week.months == {"2031-03": (2.5, 5)}
    assert (week.shifts, week.signed_up, week.came) == (2, 5, 5)
    assert week.hours == 3 * SHIFT.hours and week.shifts_of_unknown_length == 1
    assert week.sown_emerged == (60, 50)
    assert week.lost == {"transplanting": 3, "heat": 2, "not said": 1}
    assert [(m.machine, m.times, m.hours_down, m.still_down) for m in week.machines] == [
        ("lights", 1, 0.0, 1),
        ("pump", 2, 9.0, 0),
    ]


def test_without_days_all_of_it_counts() -> None:
    """From the first row's day to the last's; nothing is left out."""
    everything = sums_of(RECORDS, TINY)

    assert everything.kg == 7.4
    assert everything.first_sown == day(-30)
    assert everything.came == 8
    assert sum(machine.times for machine in everything.machines) == 4


def test_rows_that_cannot_be_used_are_counted_by_table() -> None:
    """Two of plantings in two files and one of attendance: kilograms and hours lack them; work and faults are left
    alone.
    """
    tables = (
        TableRead("a.csv", "plantings", 9, 8, 1),
        TableRead("b.csv", "plantings", 5, 4, 1),
        TableRead("v.csv", "attendance", 3, 2, 1),
        TableRead("w.csv", "work", 9, 0, 9),
    )
    found = sums_of(dataclasses.replace(RECORDS, tables=tables), TINY)

    assert (found.plantings_unusable, found.attendance_unusable) == (2, 1)


@pytest.mark.parametrize(
    ("since", "until", "says"),
    [(3, 1, "is before"), (40, 50, "the record has nothing from"), (-90, -80, "the record has nothing from")],
)
def test_a_time_without_a_record_is_refused(since: int, until: int, says: str) -> None:
    """In one sentence."""
    with pytest.raises(InputError, match=says):
        sums_of(RECORDS, TINY, since=day(since), until=day(until))


def test_a_record_without_rows_is_refused() -> None:
    """In one sentence."""
    with pytest.raises(InputError, match="not one row"):
        sums_of(Records(), TINY)
