"""What a plan begins with: the count that was given, else what the record beside the room says stands there."""

from __future__ import annotations

import argparse
import datetime as dt
from typing import TYPE_CHECKING

from growsim.cli import options

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.shelves import Today


def beginning(
    chosen: argparse.Namespace, room: LoadedRoom, week: dt.date | None = None
) -> tuple[Today, dt.date, list[str]] | None:
    """What stands there, the morning it stood, and what else is to be said of it. None where nothing tells. week: a day
    of the week that is wanted; of one that is past its Monday is told.

    Raises InputError for options that make no sense together, or a record that does not go back far enough.
    """
    from growsim.errors import InputError
    from growsim.scenario.shelves import load_shelves
    from growsim.study.standing import standing_in

    monday = options.system_date() if week is None else week - dt.timedelta(days=week.weekday())
    date = chosen.date or min(options.system_date(), monday)
    if chosen.shelves is not None:
        if chosen.records is not None:
            raise InputError("--records: says what stands on the shelves, as --shelves does; give one of the two.")
        return load_shelves(chosen.shelves, room.scenario, date), date, []
    standing = standing_in(room.path.parent, room, date, records=chosen.records, order=chosen.dates)
    if standing is None or not standing.is_all:
        if chosen.records is None:
            return None
        raise InputError(
            f"--records: the record does not tell what stands on the shelves on {date}; count them once (--shelves)."
        )
    return standing.today, date, _said(standing)


def _said(standing: object) -> list[str]:
    from growsim.report.shelf_count import by_the_record
    from growsim.study.standing import Standing

    assert isinstance(standing, Standing)
    return by_the_record(standing)
