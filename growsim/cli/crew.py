"""`growsim crew ROOM`: how many volunteers do I need, on which day, in which month?"""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom

FEWEST_REPLICATIONS = 5


def run(chosen: argparse.Namespace) -> int:
    """Search, prove, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import load_scenario
    from growsim.scenario.plan import RunPlan
    from growsim.study.crew.question import crew

    room = load_scenario(chosen.room)
    defaults = room.scenario.rehearsal
    out = options.out_folder(chosen.out, chosen.room, "crew")
    refuse_existing(out, replace=chosen.replace)
    with progress_bar("Trying crews") as progress:
        study = crew(
            room,
            plan=RunPlan(chosen.days or defaults.days, defaults.warm_up_days, chosen.start),
            seed=_seed(chosen, room),
            replications=_replications(chosen, room),
            precision_percent=chosen.precision,
            goals=_goals(chosen, room),
            at_least=chosen.at_least,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.crew.answer import write_crew
    from growsim.report.crew.page import CHANGE_FILE
    from growsim.report.provenance import Provenance

    provenance = Provenance("crew", repeat_with(chosen, room), room.sha256)
    summary = write_crew(study, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    heads, sentences = summary["answer_heads"], summary["answer"]
    print("\n".join(f"{head}: {sentence}" for head, sentence in zip(heads, sentences, strict=True)))
    print(f"\nThe whole report: {out / 'report.html'}\nThe sign-up as a CHANGE file: {out / CHANGE_FILE}")
    print(options.how_to_keep(chosen.room, out / CHANGE_FILE))
    return 0


def repeat_with(chosen: argparse.Namespace, room: LoadedRoom) -> str:
    """The command line that gives the same numbers again, with everything said that could differ elsewhere."""
    goals = {key.partition("_")[0]: goal for key, goal in _goals(chosen, room).items()}
    words: list[object] = ["crew", chosen.room, "--seed", _seed(chosen, room)]
    words += ["--replications", _replications(chosen, room)]
    words += ["--precision", options.shown_number(chosen.precision)] if chosen.precision is not None else []
    words += ["--days", chosen.days or room.scenario.rehearsal.days, "--start", chosen.start]
    words += ["--on-time", options.shown_number(100 * goals["tasks"])]
    words += ["--orders", options.shown_number(100 * goals["orders"])]
    return options.command_line(*words, "--at-least", chosen.at_least)


def _goals(chosen: argparse.Namespace, room: LoadedRoom) -> dict[str, float]:
    goals = room.scenario.goals
    on_time = goals.tasks_on_time_fraction if chosen.on_time is None else chosen.on_time / 100.0
    orders = goals.orders_filled_fraction if chosen.orders is None else chosen.orders / 100.0
    return {"tasks_on_time_fraction": on_time, "orders_filled_fraction": orders}


def _seed(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _replications(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return int(chosen.replications or max(FEWEST_REPLICATIONS, room.scenario.rehearsal.replications))


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "--on-time",
        type=options.precision,
        metavar="PERCENT",
        help="goal: share of tasks done in time (default: the room file's)",
    )
    parser.add_argument(
        "--orders",
        type=options.precision,
        metavar="PERCENT",
        help="goal: share of ordered kilograms handed out (default: the room file's)",
    )
    parser.add_argument(
        "--at-least",
        type=options.whole_number("at-least", 0, 20),
        default=1,
        metavar="N",
        help="no shift gets fewer people than this, besides the lead (default: 1)",
    )
    options.add_seed(parser)
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", FEWEST_REPLICATIONS, 100_000),
        metavar="N",
        help="fresh years in which the answer is proven, at least (default: the room file's); the search needs more",
    )
    parser.add_argument(
        "--precision",
        type=options.precision,
        metavar="PERCENT",
        help="go on with the proven crew until its kilograms a week are known to within PERCENT percent",
    )
    options.add_days(parser)
    options.add_workers(parser)
    parser.add_argument(
        "--start",
        choices=("filled", "empty"),
        default="filled",
        help="filled: the plan has been running for a while (default); empty: a bare room",
    )
    options.add_out(parser, "crew")
    options.add_json(parser)


COMMAND = Command(
    name="crew",
    question="How many volunteers do I need, on which day, in which month?",
    about="Finds the smallest sign-up by shift and month with which the goals of the room file are met with 95%\n"
    "confidence, no-shows and beginners reckoned in. Says what one person less on each day costs, what larger and\n"
    "smaller crews would bring, how many to recruit for the months in which few come, and which task is late first.",
    add_arguments=_arguments,
    run=run,
)
