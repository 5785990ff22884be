"""`growsim sheet ROOM`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import origin, replications_of, report_folder, seed_of, tell

if TYPE_CHECKING:
    pass


def run(chosen: argparse.Namespace) -> int:
    """Work out the week, write its sheets, print the answer."""
    from growsim.cli.shelves import beginning
    from growsim.errors import InputError
    from growsim.run.progress import progress_bar
    from growsim.scenario.load import load_scenario
    from growsim.study.week.question import this_week, week_plan

    room = load_scenario(chosen.room)
    found = beginning(chosen, room, chosen.week)
    if found is None and chosen.date is not None:
        raise InputError("--date: says when the shelves were counted; give --shelves TODAY with it, or keep a record.")
    today, date, said = found or (None, None, [])
    week = chosen.week or (None if today else this_week(room.scenario, options.system_date()))
    seed, replications = seed_of(chosen, room), replications_of(chosen, room)
    out = report_folder(chosen, room)
    with progress_bar("Rehearsing the week") as progress:
        plan = week_plan(
            room,
            week=week,
            today=today,
            date=date,
            seed=seed,
            replications=replications,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.week.answer import write_sheets

    provenance = origin(
        chosen, room, week=chosen.week or plan.monday, shelves=chosen.shelves, records=chosen.records,
        dates=chosen.dates, date=date, seed=seed,
        replications=replications,
    )  # fmt: skip
    summary = write_sheets(plan, out, provenance=provenance, replace=chosen.replace)
    then = "the sheets follow from it; count the shelves again for a new one"
    counted = None if chosen.shelves is None else date
    return tell(chosen, summary, out, asides=[*said, *options.old_count(counted, then)])


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--week",
        type=options.date,
        metavar="DATE",
        help="a day of the week wanted (default: this week where the room file's time holds it, else its first week)",
    )
