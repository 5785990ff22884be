"""`growsim learn ROOM RECORDS`."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import origin, replications_of, report_folder, seed_of, tell

if TYPE_CHECKING:
    from growsim.run.prepare import Prepared
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.record.record import Records
    from growsim.study.learn.question import Learning

MOST_TOLD = 10  # rows set aside


def run(chosen: argparse.Namespace) -> int:
    """Read the record, learn from it, write the report and the CHANGE file, print the answer."""
    from growsim.report.learn.answer import CHANGE_FILE, write_learning
    from growsim.scenario.record.files import read_records

    room, prepared = options.open_room(chosen.room)
    out = report_folder(chosen, room)
    records = read_records(chosen.records, room.scenario, order=chosen.dates, since=chosen.since, until=chosen.until)
    learning = _learn(chosen, room, prepared, records)
    held = {} if chosen.forecast_last is None else {
        "forecast_last": f"{chosen.forecast_last}w", "replications": replications_of(chosen, room), "seed": chosen.seed
    }  # fmt: skip
    span = {"dates": chosen.dates, "from": chosen.since, "until": chosen.until}
    provenance = origin(chosen, room, chosen.records, **span, no_faults=chosen.no_faults, **held)
    summary = write_learning(learning, out, provenance=provenance, replace=chosen.replace)
    aside = [f"  skipped: {each}" for each in records.set_aside[:MOST_TOLD]]
    if len(records.set_aside) > MOST_TOLD:
        aside.append(f"  and {len(records.set_aside) - MOST_TOLD} more in {out / 'set_aside.csv'}")
    return tell(chosen, summary, out, asides=aside, changes=[out / CHANGE_FILE] if learning.change else [])


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
            seed=seed_of(chosen, room), replications=replications_of(chosen, room), workers=chosen.workers,
            progress=progress,
        )  # fmt: skip
    return replace(learning, forecast_check=held)


def weeks(text: str) -> int:
    """A number of weeks such as 8w or 8, from 1 to 52."""
    found = re.fullmatch(r"(\d{1,2})\s*w?(?:eeks?)?", text.strip())
    if not found or not 1 <= int(found[1]) <= 52:
        raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a number of weeks from 1 to 52, such as 8w")
    return int(found[1])


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--forecast-last",
        type=weeks,
        metavar="WEEKS",
        help="forecast the last so many weeks (8w) from what came before, and score the forecast",
    )
    parser.add_argument(
        "--no-faults", action="store_true", help="an empty table of faults means that nothing failed in all that time"
    )
