"""`growsim rehearse ROOM`: what will this room give, week by week, over a year, and what holds it back?"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.plan import RunPlan
    from growsim.study.tenths import TenthsMore


def run(chosen: argparse.Namespace) -> int:
    """Rehearse, write the report, print its answer."""
    from growsim.cli.options import open_room
    from growsim.errors import InputError
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import refuse_lacking

    if chosen.trace and chosen.replication is None:
        raise InputError("--trace: a log book is written for one replication; say which with --replication N.")
    room, _ = open_room(chosen.room)
    plan = plan_of(chosen, room)
    refuse_lacking(room, hands=not plan.cooler, plan=not (plan.shelves or plan.cooler))
    out = options.out_folder(chosen.out, chosen.room, "rehearse")
    if chosen.replication is not None:
        return _one_replication(chosen, room, plan, out)
    refuse_existing(out, replace=chosen.replace)
    return _rehearse(chosen, room, plan, out)


def plan_of(chosen: argparse.Namespace, room: LoadedRoom) -> RunPlan:
    """Horizon and start from the room file and the command line. Raises RoomFileError for a shelves file at fault."""
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.shelves import load_shelves

    defaults = room.scenario.rehearsal
    days = chosen.days or defaults.days
    if chosen.start in ("empty", "filled"):
        return RunPlan(days, defaults.warm_up_days, chosen.start)
    today = load_shelves(Path(chosen.start), room.scenario)
    return RunPlan(days, defaults.warm_up_days, "shelves", today.lots, today.cooler)


def repeat_with(chosen: argparse.Namespace, room: LoadedRoom) -> str:
    """The command line that gives the same numbers again, with everything said that could differ elsewhere."""
    defaults = room.scenario.rehearsal
    words: list[object] = ["rehearse", chosen.room, "--seed", seed_of(chosen, room)]
    if chosen.replication is not None:
        words += ["--replication", chosen.replication]
    elif chosen.precision is not None:
        words += ["--precision", options.shown_number(chosen.precision)]
        words += ["--replications", chosen.replications] if chosen.replications else []
    else:
        words += ["--replications", chosen.replications or defaults.replications]
    words += ["--days", chosen.days or defaults.days, "--start", chosen.start]
    words += ["--tenth-more"] if chosen.tenth_more else []
    return options.command_line(*words)


def seed_of(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    """The seed of the command line, or the room file's."""
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _rehearse(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan, out: Path) -> int:
    from growsim.run.progress import progress_bar
    from growsim.run.rehearse import rehearse

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
    tenths = _a_tenth_more(chosen, rehearsal) if chosen.tenth_more else None
    from growsim.report.provenance import Provenance
    from growsim.report.rehearse.answer import write_rehearsal

    provenance = Provenance("rehearse", repeat_with(chosen, room), room.sha256)
    summary = write_rehearsal(rehearsal, out, provenance=provenance, replace=chosen.replace, tenths=tenths)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(summary["answer"]))
        print(f"\nThe whole report: {out / 'report.html'}")
    _mention_warnings(chosen, room)
    return 0


def _a_tenth_more(chosen: argparse.Namespace, rehearsal: Rehearsal) -> TenthsMore:
    """What a tenth more of each thing would bring."""
    from growsim.run.progress import progress_bar
    from growsim.study.tenths import rank_room

    with progress_bar("A tenth more") as progress:
        return rank_room(
            rehearsal.scenario,
            rehearsal.outcomes,
            seed=rehearsal.seed,
            plan=rehearsal.plan,
            workers=chosen.workers,
            progress=progress,
        )


def _one_replication(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan, out: Path) -> int:
    """Live through one replication alone, print its figures, and write its log book where asked."""
    from growsim.ledger.measures import measure
    from growsim.report.provenance import Provenance
    from growsim.report.rehearse import day_by_day, logbook
    from growsim.run.prepare import prepare
    from growsim.run.replay.watch import watch
    from growsim.run.writing import output_folder, refuse_existing

    if chosen.trace:
        refuse_existing(out, replace=chosen.replace)
    seed = seed_of(chosen, room)
    watched = watch(prepare(room.scenario), seed, chosen.replication, plan)
    outcome = measure(watched.book, room.scenario, plan, replication=chosen.replication)
    provenance = Provenance("rehearse", repeat_with(chosen, room), room.sha256)
    summary = logbook.summary_of(outcome, room.scenario, plan, seed, provenance)
    if chosen.trace:
        with output_folder(out, replace=chosen.replace) as folder:
            logbook.write(watched.book, room.scenario, folder, summary)
            day_by_day.write(watched.replay, folder)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(summary["answer"]))
        if chosen.trace:
            print(f"\nThe log book: {out / logbook.FILE}")
    return 0


def _mention_warnings(chosen: argparse.Namespace, room: LoadedRoom) -> None:
    count = len(room.warnings)
    if count:
        things = "one thing" if count == 1 else f"{count} things"
        print(f"`{options.command_line('check', chosen.room)}` has {things} to say about this room.", file=sys.stderr)


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    options.add_rehearsing(parser)
    options.add_out(parser, "rehearse")
    options.add_json(parser)
    parser.add_argument(
        "--start",
        default="filled",
        metavar="HOW",
        help="filled: the plan has been running for a while (default); empty: a bare room; or a CSV file of what "
        "stands on the shelves today",
    )
    parser.add_argument(
        "--replication",
        type=options.whole_number("replication", 0, 1_000_000),
        metavar="N",
        help="live through replication N alone",
    )
    parser.add_argument("--trace", action="store_true", help="with --replication: write its log book, every happening")
    parser.add_argument(
        "--tenth-more",
        action="store_true",
        help="also see what a tenth more of each thing would bring; about ten times the work",
    )


COMMAND = Command(
    name="rehearse",
    question="What will this room give, week by week, over a year, and what holds it back?",
    about="Lives through many possible years of the room and writes a report: an answer in sentences with their\n"
    "ranges, pictures and tables, into a folder of its own (report.html, summary.json, CSV tables, figures).",
    add_arguments=_arguments,
    run=run,
)
