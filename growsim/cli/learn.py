"""`growsim learn ROOM RECORDS`: what does my own record say about my room?"""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.run.prepare import Prepared
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.record.record import Records
    from growsim.study.learn.question import Learning

FORECASTS = 200


def run(chosen: argparse.Namespace) -> int:
    """Read the record, learn from it, write the report and the CHANGE file, print the answer."""
    from growsim.cli.options import open_room
    from growsim.report.learn.answer import CHANGE_FILE, write_learning
    from growsim.report.provenance import Provenance
    from growsim.run.writing import refuse_existing
    from growsim.scenario.record.files import read_records

    room, prepared = open_room(chosen.room)
    out = options.out_folder(chosen.out, chosen.room, "learn")
    refuse_existing(out, replace=chosen.replace)
    records = read_records(chosen.records, room.scenario, order=chosen.dates, since=chosen.since, until=chosen.until)
    learning = _learn(chosen, room, prepared, records)
    provenance = Provenance("learn", _repeat_with(chosen), room.sha256)
    summary = write_learning(learning, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    print("\n".join(summary["answer"]))
    for aside in records.set_aside[:10]:
        print(f"  set aside: {aside}")
    if len(records.set_aside) > 10:
        print(f"  and {len(records.set_aside) - 10} more in {out / 'set_aside.csv'}")
    print(f"\nThe whole report: {out / 'report.html'}")
    if learning.change:
        print(f"The CHANGE file: {out / CHANGE_FILE}")
        print(options.how_to_keep(chosen.room, out / CHANGE_FILE))
    return 0


def _learn(chosen: argparse.Namespace, room: LoadedRoom, prepared: Prepared, records: Records) -> Learning:
    from dataclasses import replace

    from growsim.study.learn.question import learn

    learning = learn(room, prepared, records, no_faults=chosen.no_faults)
    if chosen.forecast_last is None:
        return learning
    from growsim.run.progress import progress_bar
    from growsim.study.learn.forecast import forecast_last

    with progress_bar("Forecasting") as progress:
        held = forecast_last(
            room, prepared, records, chosen.forecast_last, no_faults=chosen.no_faults,
            seed=room.scenario.rehearsal.seed if chosen.seed is None else chosen.seed,
            replications=chosen.replications, workers=chosen.workers, progress=progress,
        )  # fmt: skip
    return replace(learning, forecast_check=held)


def _repeat_with(chosen: argparse.Namespace) -> str:
    words: list[object] = ["learn", chosen.room, chosen.records]
    words += ["--dates", chosen.dates] if chosen.dates else []
    words += ["--from", chosen.since] if chosen.since else []
    words += ["--until", chosen.until] if chosen.until else []
    words += ["--no-faults"] if chosen.no_faults else []
    if chosen.forecast_last is not None:
        words += ["--forecast-last", f"{chosen.forecast_last}w", "--replications", chosen.replications]
        words += [] if chosen.seed is None else ["--seed", chosen.seed]
    return options.command_line(*words)


def weeks(text: str) -> int:
    """A number of weeks such as 8w or 8, from 1 to 52."""
    found = re.fullmatch(r"(\d{1,2})\s*w?(?:eeks?)?", text.strip())
    if not found or not 1 <= int(found[1]) <= 52:
        raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a number of weeks from 1 to 52, such as 8w")
    return int(found[1])


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "records", type=Path, metavar="RECORDS",
        help="a folder of tables (CSV, or one workbook), or one such file; `growsim new --records DIR` makes empty "
        "ones",
    )  # fmt: skip
    parser.add_argument(
        "--dates",
        choices=("day-first", "month-first"),
        help="how dates such as 3/4/2031 are meant; dates such as 2031-04-03 need no telling",
    )
    parser.add_argument("--from", dest="since", type=options.date, metavar="DATE", help="use rows from this date on")
    parser.add_argument("--until", type=options.date, metavar="DATE", help="use rows up to this date")
    parser.add_argument(
        "--forecast-last",
        type=weeks,
        metavar="WEEKS",
        help="forecast the last so many weeks (8w) from what came before, and score the forecast",
    )
    parser.add_argument(
        "--no-faults", action="store_true", help="an empty table of faults means that nothing failed in all that time"
    )
    parser.add_argument("--seed", type=options.seed, metavar="N", help="with --forecast-last: seed of all luck")
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", 20, 100_000),
        metavar="N",
        default=FORECASTS,
        help="with --forecast-last: how many times the weeks are rehearsed (default: %(default)s)",
    )
    options.add_workers(parser)
    options.add_out(parser, "learn")
    options.add_json(parser)


COMMAND = Command(
    name="learn",
    question="What does my own record say about my room?",
    about="Reads what was written down (sowings, attendance, work, faults) and learns the room's own figures from it, "
    "each\n"
    "with the number of its records and its range. Writes a report and learned.toml, a CHANGE file for `growsim\n"
    "compare` and `growsim keep`. A row that cannot be used is set aside and named by file and line, with the reason.",
    add_arguments=_arguments,
    run=run,
)
