"""Rows whose date lies far from all others: most often a wrong year, which would stretch the time watched."""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Sequence

from growsim.spec.records import Row, TrayRow

FAR = dt.timedelta(days=180)  # nobody leaves a room in use unrecorded for so long and then writes down two rows
FEW_FRACTION = 0.01  # of the rows, and one in any case, may be strays
ENOUGH_ROWS = 20  # fewer rows do not tell which of them is astray


def stray_rows(rows: Sequence[Row]) -> list[tuple[Row, str]]:
    """Rows with a date half a year and more from that of every other row but a few, each with the reason.

    The rows are parted where nothing is dated for half a year; parts of a hundredth of the rows or less are astray,
    as long as they leave one part.
    """
    if len(rows) < ENOUGH_ROWS:
        return []
    dated = sorted(((day, number) for number, row in enumerate(rows) for day in days_of(row)), key=lambda each: each[0])
    parts: list[list[tuple[dt.date, int]]] = [[dated[0]]]
    for one, two in itertools.pairwise(dated):
        if two[0] - one[0] >= FAR:
            parts.append([])
        parts[-1].append(two)
    most = max(1, int(FEW_FRACTION * len(rows)))
    kept = [part for part in parts if len({number for _, number in part}) > most]
    if len(kept) != 1:
        return []
    first, last = kept[0][0][0], kept[0][-1][0]
    astray = {number: day for part in parts if part is not kept[0] for day, number in part}
    return [
        (rows[number], f"{day} lies far from all other rows, which go from {first} to {last}; is the year right?")
        for number, day in sorted(astray.items())
    ]


def days_of(row: Row) -> list[dt.date]:
    """Every date of a row."""
    if not isinstance(row, TrayRow):
        return [row.date]
    return [day for day in (row.sown, row.moved, row.moved_again, row.cut) if day is not None]
