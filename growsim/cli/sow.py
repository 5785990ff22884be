"""`growsim sow ROOM`: what shall I sow, when, so that partners get what I promised?"""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom


def run(chosen: argparse.Namespace) -> int:
    """Find a plan, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import load_scenario
    from growsim.scenario.plan import RunPlan
    from growsim.study.sow.question import sow

    room = load_scenario(chosen.room)
    defaults = room.scenario.rehearsal
    out = options.out_folder(chosen.out, chosen.room, "sow")
    refuse_existing(out, replace=chosen.replace)
    with progress_bar("Trying plans") as progress:
        plan = sow(
            room,
            run=RunPlan(chosen.days or defaults.days, defaults.warm_up_days),
            seed=_seed(chosen, room),
            certainty=chosen.certainty / 100.0,
            replications=chosen.replications,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.provenance import Provenance
    from growsim.report.sow.answer import CHANGE_FILE, write_sowing_plan

    provenance = Provenance("sow", repeat_with(chosen, room), room.sha256)
    summary = write_sowing_plan(plan, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    heads, sentences = summary["answer_heads"], summary["answer"]
    print("\n".join(f"{head}: {sentence}" for head, sentence in zip(heads, sentences, strict=True)))
    print(f"\nThe whole report: {out / 'report.html'}\nThe plan as a CHANGE file: {out / CHANGE_FILE}")
    if not plan.is_todays:
        print(options.how_to_keep(chosen.room, out / CHANGE_FILE))
    return 0


def repeat_with(chosen: argparse.Namespace, room: LoadedRoom) -> str:
    """The command line that gives the same numbers again, with everything said that could differ elsewhere."""
    defaults = room.scenario.rehearsal
    words: list[object] = ["sow", chosen.room, "--certainty", options.shown_number(chosen.certainty)]
    words += ["--seed", _seed(chosen, room), "--replications", chosen.replications or defaults.replications]
    return options.command_line(*words, "--days", chosen.days or defaults.days)


def _seed(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _certainty(text: str) -> float:
    try:
        percent = float(text.removesuffix("%"))
    except ValueError:
        percent = 0.0
    if not 50 <= percent <= 99:
        raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a percentage from 50 to 99, such as 90")
    return percent


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "--certainty",
        type=_certainty,
        default=90.0,
        metavar="PERCENT",
        help="in how many of 100 weeks each standing order is to be met in full (default: 90)",
    )
    options.add_seed(parser)
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", 2, 1_000_000),
        metavar="N",
        help="fresh years in which the plan found is proven (default: the room file's)",
    )
    options.add_days(parser)
    options.add_workers(parser)
    options.add_out(parser, "sow")
    options.add_json(parser)


COMMAND = Command(
    name="sow",
    question="What shall I sow, when, so that partners get what I promised?",
    about="Finds how many cells of each crop to sow on which day, week by week, so that every standing order is met\n"
    "in full with a chosen certainty and the least seed, within the shelves and the crew; or the best that can be,\n"
    "with what is short. The plan is written as a CHANGE file for `growsim\n"
    "compare` and `growsim keep`.",
    add_arguments=_arguments,
    run=run,
)
