"""`growsim compare ROOM CHANGE...`: what does another rack, another crop, another layout or timetable change?"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.scenario.change import LoadedChange
    from growsim.scenario.load import LoadedRoom

TOO_SMALL_PERCENT = 2.0


def run(chosen: argparse.Namespace) -> int:
    """Compare, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import load_scenario
    from growsim.scenario.plan import RunPlan
    from growsim.study.compare.question import compare

    room = load_scenario(chosen.room)
    changes = _changes(chosen.changes)
    defaults = room.scenario.rehearsal
    out = options.out_folder(chosen.out, chosen.room, "compare")
    refuse_existing(out, replace=chosen.replace)
    with progress_bar("Comparing") as progress:
        comparison = compare(
            room,
            changes,
            plan=RunPlan(chosen.days or defaults.days, defaults.warm_up_days, chosen.start),
            seed=_seed(chosen, room),
            at_most=_at_most(chosen, room),
            too_small_percent=chosen.precision,
            why=not chosen.no_why,
            tenth_more=chosen.tenth_more,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.compare.answer import write_comparison
    from growsim.report.provenance import Provenance

    provenance = Provenance("compare", repeat_with(chosen, room), room.sha256)
    summary = write_comparison(comparison, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    heads, sentences = summary["answer_heads"], summary["answer"]
    print("\n".join(f"{head}: {sentence}" for head, sentence in zip(heads, sentences, strict=True)))
    print(f"\nThe whole report: {out / 'report.html'}")
    print(options.how_to_keep(chosen.room, *chosen.changes))
    return 0


def repeat_with(chosen: argparse.Namespace, room: LoadedRoom) -> str:
    """The command line that gives the same numbers again, with everything said that could differ elsewhere."""
    words: list[object] = ["compare", chosen.room, *chosen.changes, "--seed", _seed(chosen, room)]
    words += ["--replications", _at_most(chosen, room), "--precision", options.shown_number(chosen.precision)]
    words += ["--days", chosen.days or room.scenario.rehearsal.days, "--start", chosen.start]
    words += ["--no-why"] if chosen.no_why else []
    words += ["--tenth-more"] if chosen.tenth_more else []
    return options.command_line(*words)


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


def _seed(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _at_most(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    """The most years to rehearse; two at least, or no difference could be told from luck."""
    return int(chosen.replications or max(2, room.scenario.rehearsal.replications))


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    options.add_changes(parser, "with several, each is compared with the room as it is")
    options.add_seed(parser)
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", 2, 1_000_000),
        metavar="N",
        help="how many possible years at most (default: the room file's); it stops sooner where all is decided",
    )
    parser.add_argument(
        "--precision",
        type=options.precision,
        metavar="PERCENT",
        default=TOO_SMALL_PERCENT,
        help="a difference within PERCENT percent of today's figure is too small to matter (default: 2)",
    )
    options.add_days(parser)
    options.add_workers(parser)
    parser.add_argument(
        "--start",
        choices=("filled", "empty"),
        default="filled",
        help="filled: both rooms have been running for a while (default); empty: both start bare",
    )
    parser.add_argument("--no-why", action="store_true", help="leave out what eats the gain: a third of the time")
    parser.add_argument(
        "--tenth-more",
        action="store_true",
        help="also see what a tenth more of each thing would bring, today and after each change: slower",
    )
    options.add_out(parser, "compare")
    options.add_json(parser)


COMMAND = Command(
    name="compare",
    question="What does another rack, another crop, another layout or timetable change?",
    about="Lives through the same possible years with the room as it is and with each CHANGE made, until the\n"
    "difference in greens, orders filled, hours of work and cost of a kilogram is decided or too small to matter.\n"
    "Says what each change brings, with its range, and why; where the CHANGE file has a price, when it is paid back.",
    add_arguments=_arguments,
    run=run,
)
