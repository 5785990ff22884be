"""What the record says stands on the shelves, on the page: shown, and taken for a table of the shelves."""

from __future__ import annotations

import csv
import datetime as dt
import io

from growsim.errors import RoomFileError
from growsim.scenario.shelves import COOLER
from growsim.study.standing import Standing, standing_in
from growsim.web.ask.files import Upload, kept_table
from growsim.web.ask.listed import loaded
from growsim.web.folder import RoomFolder

BY_RECORD = "by the record"
COLUMNS = ("lot", "crop", "stage", "sown", "plants", "rack", "harvests", "kg")


def by_record_here(room: RoomFolder, date: dt.date) -> Standing | None:
    """What stands there by the record; None where it does not tell, or cannot be read."""
    now, _ = loaded(room)
    try:
        standing = standing_in(room.home, now, date) if now is not None else None
    except RoomFileError:
        return None
    return standing if standing is not None and standing.is_all else None


def table_by_record(room: RoomFolder, date: dt.date) -> str:
    """Keep what the record says as a table beside the counts; gives its name. Raises InputError where it does not say.

    So an answer tells for ever what it began with.
    """
    from growsim.errors import InputError

    standing = by_record_here(room, date)
    if standing is None:
        raise InputError(f"The record does not tell what stood there on {date}; count the shelves once.")
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\n")
    writer.writerow(COLUMNS)
    for lot, each in zip(standing.today.lots, standing.batches, strict=True):
        writer.writerow([lot.lot, lot.crop, lot.stage, each.sown, lot.plants, lot.rack, lot.harvests or "", ""])
    for number, greens in enumerate(standing.cooler, start=1):
        writer.writerow(
            [f"{greens.crop} in the cooler {number}", greens.crop, COOLER, "", "", "", "", greens.grams / 1000.0]
        )
    upload = Upload(f"by-the-record-{date}.csv", made.getvalue().encode())
    return kept_table(room, upload).relative_to(room.home).as_posix()
