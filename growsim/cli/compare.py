"""`growsim compare ROOM CHANGE...`."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import days_of, origin, replications_of, report_folder, seed_of, start_of, tell

if TYPE_CHECKING:
    from growsim.scenario.change import LoadedChange

TOO_SMALL_PERCENT = 2.0


def run(chosen: argparse.Namespace) -> int:
    """Compare, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.scenario.load import load_scenario
    from growsim.scenario.plan import RunPlan
    from growsim.study.compare.question import compare

    room = load_scenario(chosen.room)
    changes = _changes(chosen.changes)
    seed, at_most, days = seed_of(chosen, room), replications_of(chosen, room), days_of(chosen, room)
    out = report_folder(chosen, room)
    with progress_bar("Comparing") as progress:
        comparison = compare(
            room,
            changes,
            plan=RunPlan(days, room.scenario.rehearsal.warm_up_days, start_of(chosen, room)),
            seed=seed,
            at_most=at_most,
            too_small_percent=chosen.precision,
            why=not chosen.no_why,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.compare.answer import write_comparison

    provenance = origin(
        chosen, room, *chosen.changes, seed=seed, replications=at_most, precision=chosen.precision, days=days,
        start=start_of(chosen, room), no_why=chosen.no_why,
    )  # fmt: skip
    summary = write_comparison(comparison, out, provenance=provenance, replace=chosen.replace)
    return tell(chosen, summary, out, changes=chosen.changes)


def _changes(paths: list[Path]) -> list[LoadedChange]:
    """Every CHANGE file, read. Raises RoomFileError with the faults of all of them."""
    from growsim.errors import Fault, RoomFileError
    from growsim.scenario.change import load_change

    read: list[LoadedChange] = []
    faults: list[Fault] = []
    for path in paths:
        try:
            read.append(load_change(path))
        except RoomFileError as refusal:
            faults += refusal.faults
    if faults:
        raise RoomFileError(faults)
    return read


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--precision",
        type=options.precision,
        metavar="PERCENT",
        default=TOO_SMALL_PERCENT,
        help="a difference within PERCENT percent of today's figure is too small to matter (default: 2)",
    )
    options.add_days(parser)
    options.add_start(parser)
    parser.add_argument("--no-why", action="store_true", help="leave out what would bring more: less time")
