"""`growsim funder ROOM`: what may I show the funder?"""

from __future__ import annotations

import argparse
import json

from growsim.cli import options
from growsim.cli.command import Command
from growsim.cli.rehearse import seed_of

QUARTER_DAYS, YEAR_DAYS = 91, 364


def run(chosen: argparse.Namespace) -> int:
    """Rehearse the quarter or year, write the page and the workbook, print the answer."""
    from growsim.run.progress import progress_bar
    from growsim.run.rehearse import rehearse
    from growsim.run.store import refuse_existing
    from growsim.spec.load import load_scenario
    from growsim.spec.plan import RunPlan

    room = load_scenario(chosen.room)
    out = options.out_folder(chosen.out, chosen.room, "funder")
    refuse_existing(out, replace=chosen.replace)
    defaults, seed = room.scenario.rehearsal, seed_of(chosen, room)
    days = chosen.days or (QUARTER_DAYS if chosen.period == "quarter" else YEAR_DAYS)
    with progress_bar("Rehearsing") as progress:
        rehearsal = rehearse(
            room.scenario,
            seed=seed,
            replications=chosen.replications,
            precision_percent=chosen.precision,
            plan=RunPlan(days, defaults.run_in_days, "filled"),
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.funder import write_funder
    from growsim.report.provenance import Provenance

    again = ["--precision", options.shown_number(chosen.precision)] if chosen.precision else []
    again += ["--replications", str(chosen.replications or defaults.replications)] if not chosen.precision else []
    repeat_with = options.command_line("funder", chosen.room, "--days", days, "--seed", seed, *again)
    provenance = Provenance("funder", repeat_with, room.sha256)
    summary = write_funder(rehearsal, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(summary["answer"]))
        print(f"\nThe page: {out / 'report.html'}\nThe workbook: {out / 'funder.xlsx'}")
    return 0


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "--period", choices=("quarter", "year"), default="year", help="how long a time to tell of (default: year)"
    )
    options.add_rehearsing(parser)
    options.add_out(parser, "funder")
    options.add_json(parser)


COMMAND = Command(
    name="funder",
    question="What may I show the funder: output, people, cost, losses, and how sure it is?",
    about="Rehearses a quarter or a year and writes a page for the funder, with servings, pounds, volunteer hours and\n"
    "their value, cost, energy, losses and what is done about them, and a workbook (XLSX) of the figures.",
    add_arguments=_arguments,
    run=run,
)
