"""A room's own record, as read: rows with their file and line, what was set aside and why, and what was not read."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

NO_FAULT = ("says ", "was ", "takes back ", "tells of a sowing ")  # reasons of rows that are right


@dataclass(frozen=True)
class PlantingRow:
    """Trays of a crop sown together, as far as is known of them. lost_to: plants by reason; None where nobody says.
    plants_moved: plants of the last move, where others stayed; None where all were moved.
    entry: of the page, here and in the other rows; "" for what was written elsewhere."""

    file: str
    line: int
    sown: dt.date
    crop: str
    cells: int | None = None
    seeds_per_cell: int | None = None
    emerged: int | None = None
    transplanted: dt.date | None = None
    harvested: dt.date | None = None
    harvest_number: int = 1
    plants_harvested: int | None = None
    grams: float | None = None
    lost: int | None = None
    lost_to: tuple[tuple[str, int], ...] | None = None
    transplanted_again: dt.date | None = None
    entry: str = ""
    plants_moved: int | None = None

    @property
    def plants(self) -> int | None:
        """Plants that were harvested: as written, or those emerged less those lost; None where neither can be told."""
        if self.plants_harvested is not None or self.harvested is None or self.harvest_number > 1:
            return self.plants_harvested
        return None if self.emerged is None else self.emerged - (self.lost or 0)

    @property
    def date(self) -> dt.date:
        """The last day the row tells of."""
        return self.harvested or self.transplanted_again or self.transplanted or self.sown


@dataclass(frozen=True)
class AttendanceRow:
    """A shift that was held. shift: as in the room file, or "" where it is not said. came: of those signed up. guests:
    others, who tell nothing of the chance that somebody signed up comes."""

    file: str
    line: int
    date: dt.date
    shift: str
    signed_up: int
    came: int
    guests: int = 0
    entry: str = ""

    @property
    def there(self) -> int:
        """All volunteers who were there."""
        return self.came + self.guests


@dataclass(frozen=True)
class WorkRow:
    """A piece of work. minutes: None where nobody timed it."""

    file: str
    line: int
    date: dt.date
    task: str
    units: float
    people: float
    minutes: float | None
    entry: str = ""

    @property
    def person_minutes(self) -> float:
        """Minutes of one person; 0 where nobody timed it."""
        return self.people * (self.minutes or 0.0)


@dataclass(frozen=True)
class FaultRow:
    """A time a machine was down. Moments without a time of day are at midnight, and `to_the_hour` is False."""

    file: str
    line: int
    machine: str
    where: str
    down: dt.datetime
    noticed: dt.datetime | None = None
    repaired: dt.datetime | None = None
    to_the_hour: bool = True
    entry: str = ""

    @property
    def date(self) -> dt.date:
        """The day it stopped."""
        return self.down.date()


@dataclass(frozen=True)
class DeliveryRow:
    """What a partner took of a crop ("any": of whatever there was) at a pick-up."""

    file: str
    line: int
    date: dt.date
    partner: str
    crop: str
    kg: float
    entry: str = ""


@dataclass(frozen=True)
class ReadingRow:
    """Strength (EC) and pH of a reservoir's solution, as read before and after it was filled; None where not read."""

    file: str
    line: int
    date: dt.date
    reservoir: str
    strength_before_ms_cm: float | None = None
    strength_after_ms_cm: float | None = None
    ph: float | None = None
    entry: str = ""


Row = PlantingRow | AttendanceRow | WorkRow | FaultRow | DeliveryRow | ReadingRow


@dataclass(frozen=True)
class SetAside:
    """A row that is not used, and why. written: its cells, so that nothing is lost."""

    file: str
    line: int
    reason: str
    written: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.file} line {self.line}: {self.reason}"

    @property
    def is_fault(self) -> bool:
        """Whether something is wrong with it: not where another row took its place or tells the same."""
        return not self.reason.startswith(NO_FAULT)


@dataclass(frozen=True)
class TableRead:
    """One table of one file: how many rows it has, how many of them are used. not_read: columns nobody knows."""

    file: str
    table: str
    rows: int
    used: int
    set_aside: int
    columns: tuple[str, ...] = ()
    not_read: tuple[str, ...] = ()


@dataclass(frozen=True)
class Records:
    """Everything read. not_read: files and sheets that are no table of a record. bits: rows of plantings as they were
    written, before those of the page were put together."""

    plantings: tuple[PlantingRow, ...] = ()
    attendance: tuple[AttendanceRow, ...] = ()
    work: tuple[WorkRow, ...] = ()
    faults: tuple[FaultRow, ...] = ()
    deliveries: tuple[DeliveryRow, ...] = ()
    readings: tuple[ReadingRow, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
    tables: tuple[TableRead, ...] = ()
    not_read: tuple[str, ...] = ()
    sha256: str = ""
    bits: tuple[PlantingRow, ...] = ()

    @property
    def rows(self) -> tuple[Row, ...]:
        """Every row that is used."""
        return (
            *self.plantings, *self.attendance, *self.work, *self.faults, *self.deliveries, *self.readings,
        )  # fmt: skip

    @property
    def timed(self) -> tuple[WorkRow, ...]:
        """Pieces of work with their minutes."""
        return tuple(row for row in self.work if row.minutes is not None)

    @property
    def rows_read(self) -> int:
        """Rows used and rows set aside."""
        return sum(table.rows for table in self.tables)

    @property
    def first(self) -> dt.date:
        """First day of the record. Raises ValueError where it has no rows."""
        return min(row.sown if isinstance(row, PlantingRow) else row.date for row in self.rows)

    @property
    def last(self) -> dt.date:
        """Last day of the record. Raises ValueError where it has no rows."""
        return max(row.date for row in self.rows)
