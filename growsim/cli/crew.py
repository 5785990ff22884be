"""`growsim crew ROOM`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import days_of, origin, replications_of, report_folder, seed_of, start_of, tell

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom
    from growsim.study.crew.answer import CrewStudy
    from growsim.study.tried import Held


def run(chosen: argparse.Namespace) -> int:
    """Search, prove, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.scenario.load import load_scenario
    from growsim.scenario.plan import RunPlan
    from growsim.study.crew.question import crew

    room = load_scenario(chosen.room)
    seed, replications, days = seed_of(chosen, room), replications_of(chosen, room), days_of(chosen, room)
    goals = _goals(chosen, room)
    out = report_folder(chosen, room)
    with progress_bar("Trying crews") as progress:
        study = crew(
            room,
            plan=RunPlan(days, room.scenario.rehearsal.warm_up_days, start_of(chosen, room)),
            seed=seed,
            replications=replications,
            precision_percent=chosen.precision,
            goals=goals,
            at_least=chosen.at_least,
            workers=chosen.workers,
            progress=progress,
        )
    held = _held(chosen, room, study) if study.out_of_reach else None
    from growsim.report.crew.answer import write_crew
    from growsim.report.crew.page import CHANGE_FILE

    provenance = origin(
        chosen, room, seed=seed, replications=replications, precision=chosen.precision, days=days,
        start=start_of(chosen, room),
        on_time=100 * goals["tasks_on_time_fraction"], orders=100 * goals["orders_filled_fraction"],
        at_least=chosen.at_least,
    )  # fmt: skip
    summary = write_crew(study, out, provenance=provenance, replace=chosen.replace, held=held)
    return tell(chosen, summary, out, changes=[out / CHANGE_FILE])


def _held(chosen: argparse.Namespace, room: LoadedRoom, study: CrewStudy) -> Held:
    """What holds today's room back where people do not, and what was tried against it."""
    from growsim.run.progress import progress_bar
    from growsim.study.trials import try_all

    with progress_bar("Trying what would bring more") as progress:
        return try_all(
            room, study.outcomes_today, seed=study.seed, plan=study.plan, workers=chosen.workers, progress=progress
        )


def _goals(chosen: argparse.Namespace, room: LoadedRoom) -> dict[str, float]:
    goals = room.scenario.goals
    on_time = goals.tasks_on_time_fraction if chosen.on_time is None else chosen.on_time / 100.0
    orders = goals.orders_filled_fraction if chosen.orders is None else chosen.orders / 100.0
    return {"tasks_on_time_fraction": on_time, "orders_filled_fraction": orders}


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
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
        help="goal: share of ordered greens handed out (default: the room file's)",
    )
    parser.add_argument(
        "--at-least",
        type=options.whole_number("at-least", 0, 20),
        default=1,
        metavar="N",
        help="no shift gets fewer people than this, the lead not counted (default: 1)",
    )
    parser.add_argument(
        "--precision",
        type=options.precision,
        metavar="PERCENT",
        help="go on with the crew that is the answer until its kilograms a week are known to within PERCENT percent",
    )
    options.add_days(parser)
    options.add_start(parser)
