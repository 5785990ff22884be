"""`growsim promise ROOM --shelves TODAY`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import origin, replications_of, report_folder, seed_of, tell

if TYPE_CHECKING:
    pass


def run(chosen: argparse.Namespace) -> int:
    """Rehearse from today's shelves, write the report, print its answer."""
    from growsim.cli.shelves import beginning
    from growsim.errors import InputError
    from growsim.run.progress import progress_bar
    from growsim.scenario.load import load_scenario
    from growsim.study.promise.question import promise

    room = load_scenario(chosen.room)
    found = beginning(chosen, room)
    if found is None:
        raise InputError(
            "--shelves: no record beside the room tells what stands on the shelves; give a count, or keep a record."
        )
    today, date, said = found
    seed, replications = seed_of(chosen, room), replications_of(chosen, room)
    out = report_folder(chosen, room)
    with progress_bar("Rehearsing") as progress:
        promises = promise(
            room,
            today,
            date=date,
            seed=seed,
            weeks=chosen.weeks,
            replications=replications,
            rescue=not chosen.no_rescue,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.promise.answer import write_promises

    provenance = origin(
        chosen, room, shelves=chosen.shelves, records=chosen.records, dates=chosen.dates,
        date=date, weeks=promises.weeks, seed=seed, replications=replications,
        no_rescue=chosen.no_rescue,
    )  # fmt: skip
    summary = write_promises(promises, out, provenance=provenance, replace=chosen.replace)
    then = "the promises begin on that day; count the shelves again for promises from today on"
    counted = None if chosen.shelves is None else date
    return tell(chosen, summary, out, asides=[*said, *options.old_count(counted, then)])


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--weeks",
        type=options.whole_number("weeks", 1, 104),
        metavar="N",
        help="weeks ahead (default: as long as the slowest crop takes)",
    )
    parser.add_argument("--no-rescue", action="store_true", help="do not try what would save deliveries at risk")
