"""`growsim review ROOM`."""

from __future__ import annotations

import argparse

from growsim.cli import options
from growsim.cli.answering import origin, replications_of, report_folder, seed_of, tell


def run(chosen: argparse.Namespace) -> int:
    """Hold the week against what was expected, write the report, print its answer."""
    from growsim.errors import InputError
    from growsim.run.progress import progress_bar
    from growsim.scenario.record.files import read_records
    from growsim.study.learn.question import learn
    from growsim.study.review.question import review
    from growsim.study.standing import RECORDS, SHELVES, counts_in

    room, prepared = options.open_room(chosen.room)
    home = room.path.parent
    folder = chosen.records or home / RECORDS
    if chosen.records is None and not folder.is_dir():
        raise InputError(f"{folder}: there is no record yet; write shifts down on the page, or say --records RECORDS.")
    records = read_records(folder, room.scenario, order=chosen.dates, since=chosen.since, until=chosen.until)
    seed, replications = seed_of(chosen, room), replications_of(chosen, room)
    out = report_folder(chosen, room)
    with progress_bar("Rehearsing the weeks") as progress:
        found = review(
            room, records, week=chosen.week, counts=counts_in(home / SHELVES, room.scenario),
            learn=lambda kept: learn(room, prepared, kept).change, seed=seed, replications=replications,
            workers=chosen.workers, progress=progress,
        )  # fmt: skip
    from growsim.report.learn import lead
    from growsim.report.review.answer import write_review
    from growsim.report.review.words import CHANGE_FILE, Whole

    span = {"dates": chosen.dates, "from": chosen.since, "until": chosen.until}
    provenance = origin(
        chosen, room, records=chosen.records, week=found.monday, **span, seed=seed, replications=replications
    )
    whole = learn(room, prepared, records)
    learned = Whole(lead.headline(whole), lead.told(whole))
    summary = write_review(found, out, provenance=provenance, replace=chosen.replace, learned=learned)
    return tell(chosen, summary, out, changes=[out / CHANGE_FILE] if found.offer is not None else [])


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--week", type=options.date, metavar="DATE", help="a day of the week wanted (default: the record's last)"
    )
