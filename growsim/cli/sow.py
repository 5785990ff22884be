"""`growsim sow ROOM`."""

from __future__ import annotations

import argparse

from growsim.cli import options
from growsim.cli.answering import days_of, origin, replications_of, report_folder, seed_of, tell


def run(chosen: argparse.Namespace) -> int:
    """Find a plan, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.scenario.load import load_scenario
    from growsim.scenario.plan import RunPlan
    from growsim.study.sow.question import sow

    room = load_scenario(chosen.room)
    seed, replications, days = seed_of(chosen, room), replications_of(chosen, room), days_of(chosen, room)
    out = report_folder(chosen, room)
    with progress_bar("Trying plans") as progress:
        plan = sow(
            room,
            run=RunPlan(days, room.scenario.rehearsal.warm_up_days),
            seed=seed,
            certainty=chosen.certainty / 100.0,
            replications=replications,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.sow.answer import CHANGE_FILE, write_sowing_plan

    provenance = origin(chosen, room, certainty=chosen.certainty, seed=seed, replications=replications, days=days)
    summary = write_sowing_plan(plan, out, provenance=provenance, replace=chosen.replace)
    return tell(chosen, summary, out, changes=[] if plan.is_todays else [out / CHANGE_FILE])


def _certainty(text: str) -> float:
    try:
        percent = float(text.removesuffix("%"))
    except ValueError:
        percent = 0.0
    if not 50 <= percent <= 99:
        raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a percentage from 50 to 99, such as 90")
    return percent


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--certainty",
        type=_certainty,
        default=90.0,
        metavar="PERCENT",
        help="in how many of 100 weeks each standing order is to be met in full (default: 90)",
    )
    options.add_days(parser)
