"""`growsim funder ROOM`: what may I show the funder?"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command
from growsim.cli.rehearse import seed_of

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.record.record import Records
    from growsim.study.funder.record import RecordSums

QUARTER_DAYS, YEAR_DAYS = 91, 364


def run(chosen: argparse.Namespace) -> int:
    """Rehearse the quarter or year, write the page and the workbook, print the answer."""
    from growsim.run.progress import progress_bar
    from growsim.run.rehearse import rehearse
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import load_scenario, refuse_lacking
    from growsim.scenario.plan import RunPlan
    from growsim.study.today import room_today

    room = load_scenario(chosen.room)
    out = options.out_folder(chosen.out, chosen.room, "funder")
    refuse_existing(out, replace=chosen.replace)
    kept = _kept(chosen, room)
    if kept is None:  # what was written down can be told of any room
        refuse_lacking(room)
    scenario, defaults, seed = room.scenario, room.scenario.rehearsal, seed_of(chosen, room)
    days = chosen.days or (QUARTER_DAYS if chosen.period == "quarter" else YEAR_DAYS)
    if kept:
        scenario, days = room_today(scenario, kept[0].first), max(7, kept[0].days)
    with progress_bar("Rehearsing") as progress:
        rehearsal = rehearse(
            scenario,
            seed=seed,
            replications=chosen.replications,
            precision_percent=chosen.precision,
            plan=RunPlan(days, defaults.warm_up_days, "filled"),
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.funder.answer import write_funder
    from growsim.report.provenance import Provenance

    again = ["--precision", options.shown_number(chosen.precision)] if chosen.precision else []
    again += ["--replications", str(chosen.replications or defaults.replications)] if not chosen.precision else []
    span = ["--days", days] if kept is None else _span_again(chosen)
    repeat_with = options.command_line("funder", chosen.room, *span, "--seed", seed, *again)
    provenance = Provenance("funder", repeat_with, room.sha256)
    summary = write_funder(rehearsal, out, provenance=provenance, replace=chosen.replace, kept=kept)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(summary["answer"]))
        print(f"\nThe page: {out / 'report.html'}\nThe workbook: {out / 'funder.xlsx'}")
    return 0


def _kept(chosen: argparse.Namespace, room: LoadedRoom) -> tuple[RecordSums, Records] | None:
    """What the record shows, and the record. Raises InputError for options that make no sense together."""
    from growsim.errors import InputError

    if chosen.records is None:
        if idle := [name for name in ("dates", "from", "until") if getattr(chosen, name) is not None]:
            raise InputError(f"--{idle[0]}: speaks of a record; give --records RECORDS with it.")
        return None
    if chosen.days is not None or chosen.period is not None:
        raise InputError(
            f"--{'period' if chosen.days is None else 'days'}: with --records the time is the record's; "
            "say --from and --until."
        )
    from growsim.scenario.record.files import read_records
    from growsim.study.funder.record import sums_of

    records = read_records(chosen.records, room.scenario, order=chosen.dates)
    return sums_of(records, room.scenario, since=getattr(chosen, "from"), until=chosen.until), records


def _span_again(chosen: argparse.Namespace) -> list[object]:
    words: list[object] = ["--records", chosen.records]
    for name in ("dates", "from", "until"):
        value = getattr(chosen, name)
        words += [] if value is None else [f"--{name}", value]
    return words


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "--period", choices=("quarter", "year"), help="how long a time to tell of, where no record says (default: year)"
    )
    parser.add_argument(
        "--records",
        type=Path,
        metavar="RECORDS",
        help="tables of what was written down (as for `growsim learn`): what they show is told first, beside what the "
        "same days could be expected to bring",
    )
    parser.add_argument(
        "--dates",
        choices=("day-first", "month-first"),
        help="with --records: how dates such as 3/4/2031 are meant",
    )
    parser.add_argument("--from", type=options.date, metavar="DATE", help="with --records: the first day told of")
    parser.add_argument("--until", type=options.date, metavar="DATE", help="with --records: the last day told of")
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
