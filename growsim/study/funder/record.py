"""What a room's own record shows of a time: greens harvested, people who came, plants lost, machines that were down.

Nothing is rehearsed or guessed here: rows are counted by the day on which they happened, first and last day included.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from growsim.errors import InputError
from growsim.scenario.checks.crew import FIRST_YEAR, LAST_YEAR
from growsim.scenario.people import Shift
from growsim.scenario.record.record import AttendanceRow, FaultRow, PlantingRow, Records
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

WEEK_DAYS, MOST_DAYS = 7, 36_500  # as few and as many as can be rehearsed


@dataclass(frozen=True)
class CropSums:
    """A crop's harvests. kg: of those weighed. plants: where the record tells; not_weighed: harvests without grams."""

    crop: str
    harvests: int
    kg: float
    plants: int
    not_weighed: int


@dataclass(frozen=True)
class MachineSums:
    """Times a kind of machine stopped, and hours it was down in the time counted. still_down: no repair is told."""

    machine: str
    times: int
    hours_down: float
    still_down: int


@dataclass(frozen=True)
class RecordSums:
    """The record from `first` to `last`.

    months: "2031-03" -> (kg harvested, volunteers who came). hours: those who came times the length of their shift;
    shifts whose length the room file does not tell are counted in `shifts_of_unknown_length`. sown_emerged: (cells,
    cells with a plant) of sowings of that time that tell both. lost: reason -> plants, of trays harvested or last seen
    in that time.
    first_sown: the earliest sowing of the whole record, which tells from when on its harvests are complete; None: no
    tray. plantings_unusable, attendance_unusable: rows of these tables that were set aside, of whatever day, and are
    in no figure.
    """

    first: dt.date
    last: dt.date
    crops: tuple[CropSums, ...]
    months: Mapping[str, tuple[float, int]]
    shifts: int
    signed_up: int
    came: int
    hours: float
    shifts_of_unknown_length: int
    sown_emerged: tuple[int, int]
    lost: Mapping[str, int]
    machines: tuple[MachineSums, ...]
    first_sown: dt.date | None
    plantings_unusable: int = 0
    attendance_unusable: int = 0

    @property
    def days(self) -> int:
        """Days counted."""
        return (self.last - self.first).days + 1

    @property
    def kg(self) -> float:
        """Kilograms of all crops."""
        return math.fsum(crop.kg for crop in self.crops)

    @property
    def plants(self) -> int:
        """Plants of all crops."""
        return sum(crop.plants for crop in self.crops)

    @property
    def not_weighed(self) -> int:
        """Harvests without grams."""
        return sum(crop.not_weighed for crop in self.crops)


def sums_of(
    records: Records, scenario: Scenario, *, since: dt.date | None = None, until: dt.date | None = None
) -> RecordSums:
    """The record of a time, all of it where no days are named. Raises InputError where there is nothing in it."""
    if not records.rows:
        raise InputError("--records: not one row of the record can be used; `growsim learn` says why, line by line.")
    first, last = since or records.first, until or records.last
    if first > last:
        raise InputError(f"--until: {last} is before {first}; give a later date.")
    if first > records.last or last < records.first:
        raise InputError(
            f"--from, --until: the record has nothing from {first} to {last}; it goes from {records.first} to "
            f"{records.last}."
        )
    rows = [row for row in records.plantings if row.harvested is not None and first <= row.harvested <= last]
    attendance = [row for row in records.attendance if first <= row.date <= last]
    lengths = [_hours(row, scenario.crew.shifts) for row in attendance]
    return RecordSums(
        first=first,
        last=last,
        crops=tuple(_crop(name, [row for row in rows if row.crop == name]) for name in _crops(rows)),
        months=_months(rows, attendance),
        shifts=len(attendance),
        signed_up=sum(row.signed_up for row in attendance),
        came=sum(row.there for row in attendance),
        hours=math.fsum(row.there * hours for row, hours in zip(attendance, lengths, strict=True) if hours is not None),
        shifts_of_unknown_length=sum(hours is None for hours in lengths),
        sown_emerged=_sown_emerged(row for row in records.plantings if first <= row.sown <= last),
        lost=_lost(row for row in records.plantings if first <= row.date <= last),
        machines=_machines(records.faults, first, last),
        first_sown=min((row.sown for row in records.plantings), default=None),
        plantings_unusable=_unusable(records, "plantings"),
        attendance_unusable=_unusable(records, "attendance"),
    )


def span_of(
    start: dt.date, usual: int, *, since: dt.date | None = None, until: dt.date | None = None
) -> tuple[dt.date, int]:
    """First day and number of days to tell of where no record says: from the room's first day on and as many as usual,
    unless a first or a last day is named. Raises InputError for a time that cannot be."""
    first = since or start
    if not FIRST_YEAR <= first.year <= LAST_YEAR:
        raise InputError(f"--from: is {first}; give a year from {FIRST_YEAR} to {LAST_YEAR}.")
    if until is None:
        return first, usual
    days = (until - first).days + 1
    if days < WEEK_DAYS:
        at_least = first + dt.timedelta(days=WEEK_DAYS - 1)
        raise InputError(f"--until: from {first} to {until} is less than a week; give {at_least} or a later day.")
    if days > MOST_DAYS:
        raise InputError(f"--until: from {first} to {until} is more than {MOST_DAYS} days; give an earlier day.")
    return first, days


def _unusable(records: Records, table: str) -> int:
    return sum(read.set_aside for read in records.tables if read.table == table)


def _crops(rows: Iterable[PlantingRow]) -> list[str]:
    return sorted({row.crop for row in rows})


def _crop(name: str, rows: list[PlantingRow]) -> CropSums:
    return CropSums(
        crop=name,
        harvests=len(rows),
        kg=math.fsum(row.grams / 1000.0 for row in rows if row.grams is not None),
        plants=sum(row.plants for row in rows if row.plants is not None),
        not_weighed=sum(row.grams is None for row in rows),
    )


def _months(rows: list[PlantingRow], attendance: list[AttendanceRow]) -> dict[str, tuple[float, int]]:
    kilograms: dict[str, list[float]] = defaultdict(list)
    came: Counter[str] = Counter()
    for row in rows:
        if row.harvested is not None:
            kilograms[f"{row.harvested:%Y-%m}"].append((row.grams or 0.0) / 1000.0)
    for visit in attendance:
        came[f"{visit.date:%Y-%m}"] += visit.there
    return {month: (math.fsum(kilograms[month]), came[month]) for month in sorted({*kilograms, *came})}


def _hours(row: AttendanceRow, shifts: tuple[Shift, ...]) -> float | None:
    """Length of the shift: by its name; where none is written, of the day's shifts if they are equally long."""
    named = [shift.hours for shift in shifts if shift.name == row.shift]
    on_the_day = {shift.hours for shift in shifts if not row.shift and shift.weekday == WEEKDAYS[row.date.weekday()]}
    if named:
        return named[0]
    return on_the_day.pop() if len(on_the_day) == 1 else None


def _sown_emerged(rows: Iterable[PlantingRow]) -> tuple[int, int]:
    both = [(row.cells, row.emerged) for row in rows if row.cells is not None and row.emerged is not None]
    return sum(cells for cells, _ in both), sum(emerged for _, emerged in both)


def _lost(rows: Iterable[PlantingRow]) -> dict[str, int]:
    found: Counter[str] = Counter()
    for row in rows:
        for reason, plants in row.lost_to if row.lost_to is not None else (("not said", row.lost or 0),):
            found[reason] += plants
    return {reason: plants for reason, plants in found.most_common() if plants}


def _machines(faults: Iterable[FaultRow], first: dt.date, last: dt.date) -> tuple[MachineSums, ...]:
    begin = dt.datetime.combine(first, dt.time())
    end = dt.datetime.combine(last + dt.timedelta(days=1), dt.time())
    by_kind: dict[str, list[FaultRow]] = defaultdict(list)
    for row in faults:
        if row.down < end and (row.repaired is None or row.repaired > begin):
            by_kind[row.machine].append(row)
    return tuple(
        MachineSums(
            machine=machine,
            times=len(rows),
            hours_down=math.fsum(
                (min(end, row.repaired) - max(begin, row.down)).total_seconds() / 3600.0
                for row in rows
                if row.repaired is not None
            ),
            still_down=sum(row.repaired is None for row in rows),
        )
        for machine, rows in sorted(by_kind.items())
    )
