"""`growsim rehearse ROOM`."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import days_of, origin, replications_of, report_folder, seed_of, start_of, tell

if TYPE_CHECKING:
    from growsim.report.provenance import Provenance
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.plan import RunPlan
    from growsim.study.tried import Held


def run(chosen: argparse.Namespace) -> int:
    """Rehearse, write the report, print its answer."""
    from growsim.errors import InputError
    from growsim.scenario.load import refuse_lacking

    if chosen.trace and chosen.replication is None:
        raise InputError("--trace: a log book is written for one replication; say which with --replication N.")
    room, _ = options.open_room(chosen.room)
    plan = plan_of(chosen, room)
    refuse_lacking(room, hands=not plan.cooler, plan=not (plan.shelves or plan.cooler))
    if chosen.replication is not None:
        return _one_replication(chosen, room, plan)
    return _rehearse(chosen, room, plan)


def plan_of(chosen: argparse.Namespace, room: LoadedRoom) -> RunPlan:
    """Horizon and start from the room file and the command line. Raises RoomFileError for a shelves file at fault."""
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.shelves import load_shelves

    days, warm_up = days_of(chosen, room), room.scenario.rehearsal.warm_up_days
    start = start_of(chosen, room)
    if start in ("empty", "filled"):
        return RunPlan(days, warm_up, start)
    today = load_shelves(Path(start), room.scenario)
    return RunPlan(days, warm_up, "shelves", today.lots, today.cooler)


def _rehearse(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan) -> int:
    from growsim.run.progress import progress_bar
    from growsim.run.rehearse import rehearse

    out = report_folder(chosen, room)
    with progress_bar("Rehearsing") as progress:
        rehearsal = rehearse(
            room.scenario,
            seed=seed_of(chosen, room),
            replications=chosen.replications,
            precision_percent=chosen.precision,
            plan=plan,
            workers=chosen.workers,
            progress=progress,
        )
    held = None if chosen.no_why else _held(chosen, room, rehearsal)
    from growsim.report.rehearse.answer import write_rehearsal

    provenance = _origin(chosen, room)
    summary = write_rehearsal(rehearsal, out, provenance=provenance, replace=chosen.replace, held=held)
    code = tell(chosen, summary, out)
    _mention_warnings(chosen, room)
    return code


def _origin(chosen: argparse.Namespace, room: LoadedRoom) -> Provenance:
    alone, precise = chosen.replication is not None, chosen.precision is not None
    many = None if alone else chosen.replications if precise else replications_of(chosen, room)
    return origin(
        chosen, room, seed=seed_of(chosen, room), replication=chosen.replication,
        precision=None if alone else chosen.precision, replications=many, days=days_of(chosen, room),
        start=start_of(chosen, room), no_why=chosen.no_why,
    )  # fmt: skip


def _held(chosen: argparse.Namespace, room: LoadedRoom, rehearsal: Rehearsal) -> Held:
    """What holds the room back, and what was tried against it."""
    from growsim.run.progress import in_words, progress_bar, tell_so_far
    from growsim.study.trials import try_all

    with progress_bar("Trying what would bring more") as progress:
        tell_so_far(in_words(rehearsal.outcomes))
        return try_all(
            room,
            rehearsal.outcomes,
            seed=rehearsal.seed,
            plan=rehearsal.plan,
            workers=chosen.workers,
            progress=progress,
        )


def _one_replication(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan) -> int:
    """Simulate one replication alone, print its figures, and write its log book where asked."""
    from growsim.ledger.measures import measure
    from growsim.report.provenance import told_of
    from growsim.report.rehearse import day_by_day, logbook
    from growsim.run.prepare import prepare
    from growsim.run.replay.watch import watch
    from growsim.run.writing import output_folder

    out = report_folder(chosen, room) if chosen.trace else None
    seed = seed_of(chosen, room)
    watched = watch(prepare(room.scenario), seed, chosen.replication, plan)
    outcome = measure(watched.book, room.scenario, plan, replication=chosen.replication)
    provenance = _origin(chosen, room)
    summary = logbook.summary_of(outcome, room.scenario, plan, seed, provenance)
    if out is not None:
        with output_folder(out, replace=chosen.replace, of=told_of(chosen.command, room.scenario)) as folder:
            logbook.write(watched.book, room.scenario, folder, summary)
            day_by_day.write(watched.replay, folder)
    return tell(chosen, summary, out)


def _mention_warnings(chosen: argparse.Namespace, room: LoadedRoom) -> None:
    count = len(room.warnings)
    if count:
        things = "one thing" if count == 1 else f"{count} things"
        print(f"`{options.command_line('check', chosen.room)}` has {things} to say about this room.", file=sys.stderr)


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    options.add_precision(parser)
    options.add_days(parser)
    parser.add_argument(
        "--start",
        metavar="HOW",
        help="filled: the plan has been running for a while; empty: a bare room (default: the room file's); or a CSV "
        "file of today's shelves",
    )
    parser.add_argument(
        "--replication",
        type=options.whole_number("replication", 0, 1_000_000),
        metavar="N",
        help="simulate replication N alone",
    )
    parser.add_argument("--trace", action="store_true", help="with --replication: write its log book, every happening")
    parser.add_argument("--no-why", action="store_true", help="leave out trying what would bring more: quicker")
