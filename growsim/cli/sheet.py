"""`growsim sheet ROOM`: what does the team do this week?"""

from __future__ import annotations

import argparse
import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom

REPLICATIONS = 40


def run(chosen: argparse.Namespace) -> int:
    """Work out the week, write its sheets, print the answer."""
    from growsim.errors import InputError
    from growsim.run.progress import progress_bar
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import load_scenario
    from growsim.scenario.shelves import load_shelves
    from growsim.study.week.question import this_week, week_plan

    if chosen.date is not None and chosen.shelves is None:
        raise InputError("--date: says when the shelves were counted; give --shelves TODAY with it.")
    room = load_scenario(chosen.room)
    date = chosen.date or (options.system_date() if chosen.shelves else None)
    today = load_shelves(chosen.shelves, room.scenario, date) if chosen.shelves else None
    week = chosen.week or (None if today else this_week(room.scenario, options.system_date()))
    out = options.out_folder(chosen.out, chosen.room, "sheet")
    refuse_existing(out, replace=chosen.replace)
    with progress_bar("Rehearsing the week") as progress:
        plan = week_plan(
            room,
            week=week,
            today=today,
            date=date,
            seed=_seed(chosen, room),
            replications=chosen.replications,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.provenance import Provenance
    from growsim.report.week.answer import write_sheets

    provenance = Provenance("sheet", _repeat_with(chosen, room, plan.monday, date), room.sha256)
    summary = write_sheets(plan, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        heads, sentences = summary["answer_heads"], summary["answer"]
        print("\n".join(f"{head}: {sentence}" for head, sentence in zip(heads, sentences, strict=True)))
        options.mind_old_count(date, "the sheets follow from it; count the shelves again for a new one")
        print(f"\nThe sheets, to print: {out / 'report.html'}\nFor a calendar: {out / 'week.ics'}")
    return 0


def _seed(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _repeat_with(chosen: argparse.Namespace, room: LoadedRoom, monday: dt.date, date: dt.date | None) -> str:
    words: list[object] = ["sheet", chosen.room, "--week", (chosen.week or monday).isoformat()]
    if chosen.shelves is not None and date is not None:
        words += ["--shelves", chosen.shelves, "--date", date.isoformat()]
    return options.command_line(*words, "--seed", _seed(chosen, room), "--replications", chosen.replications)


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "--week",
        type=options.date,
        metavar="DATE",
        help="a day of the week wanted (default: this week where the room file's time holds it, else its first week)",
    )
    parser.add_argument(
        "--shelves",
        type=Path,
        metavar="TODAY",
        help="a table (CSV) of what stands on the shelves; without it the plan has been running for a while",
    )
    parser.add_argument("--date", type=options.date, metavar="DATE", help="the morning of that count (default: today)")
    parser.add_argument("--seed", type=options.seed, metavar="N", help="seed of all luck (default: the room file's)")
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", 1, 1_000_000),
        default=REPLICATIONS,
        metavar="N",
        help="rehearsals of the week, for its ranges (default: %(default)s)",
    )
    options.add_workers(parser)
    options.add_out(parser, "sheet")
    options.add_json(parser)


COMMAND = Command(
    name="sheet",
    question="What does the team do this week, shift by shift?",
    about="Writes one printable page a shift (tasks in order, counts, where, minutes, blanks for the record), the\n"
    "week on one page, a supply list for four weeks, and a calendar file (RFC 5545).",
    add_arguments=_arguments,
    run=run,
)
