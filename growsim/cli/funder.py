"""`growsim funder ROOM`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.answering import origin, replications_of, report_folder, seed_of, tell
from growsim.vocabulary.questions import PERIOD_DAYS

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.record.record import Records
    from growsim.study.funder.record import RecordSums


def run(chosen: argparse.Namespace) -> int:
    """Rehearse the quarter, year or days asked for, write the page and the workbook, print the answer."""
    from growsim.errors import InputError
    from growsim.run.progress import progress_bar
    from growsim.run.rehearse import rehearse
    from growsim.scenario.load import load_scenario, refuse_lacking
    from growsim.scenario.plan import RunPlan
    from growsim.study.funder.record import span_of
    from growsim.study.today import room_today

    room = load_scenario(chosen.room)
    out = report_folder(chosen, room)
    kept = _kept(chosen, room)
    if kept is None:  # what was written down can be told of any room
        refuse_lacking(room)
    scenario, defaults, seed = room.scenario, room.scenario.rehearsal, seed_of(chosen, room)
    if kept:
        scenario, days = room_today(scenario, kept[0].first), max(7, kept[0].days)
    else:
        if chosen.until is not None and (chosen.days or chosen.period):
            other = "days" if chosen.days else "period"
            raise InputError(f"--until: says how long a time, as --{other} does; give one of the two.")
        usual = chosen.days or PERIOD_DAYS[chosen.period or "year"]
        first, days = span_of(scenario.room.start_date, usual, since=chosen.since, until=chosen.until)
        scenario = scenario if first == scenario.room.start_date else room_today(scenario, first)
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
    held = None  # trials are changes of the room file, which has another first day
    if scenario is room.scenario:
        from growsim.study.trials import try_all

        with progress_bar("Trying what would bring more") as progress:
            held = try_all(
                room, rehearsal.outcomes, seed=seed, plan=rehearsal.plan, workers=chosen.workers, progress=progress
            )
    from growsim.report.funder.answer import write_funder

    files = {"records": chosen.records, "dates": chosen.dates, "from": chosen.since, "until": chosen.until}
    replications = chosen.replications if chosen.precision else replications_of(chosen, room)
    provenance = origin(
        chosen, room, days=days if kept is None and chosen.until is None else None, **files, seed=seed,
        precision=chosen.precision, replications=replications,
    )  # fmt: skip
    summary = write_funder(rehearsal, out, provenance=provenance, replace=chosen.replace, held=held, kept=kept)
    return tell(chosen, summary, out)


def _kept(chosen: argparse.Namespace, room: LoadedRoom) -> tuple[RecordSums, Records] | None:
    """What the record shows, and the record. Raises InputError for options that make no sense together."""
    from growsim.errors import InputError

    if chosen.records is None:
        if chosen.dates is not None:
            raise InputError("--dates: speaks of a record; give --records RECORDS with it.")
        return None
    if chosen.days is not None or chosen.period is not None:
        raise InputError(
            f"--{'period' if chosen.days is None else 'days'}: with --records the time is the record's; "
            "say --from and --until."
        )
    from growsim.scenario.record.files import read_records
    from growsim.study.funder.record import sums_of

    records = read_records(chosen.records, room.scenario, order=chosen.dates)
    return sums_of(records, room.scenario, since=chosen.since, until=chosen.until), records


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--period", choices=tuple(PERIOD_DAYS), help="how long a time to tell of, where no record says (default: year)"
    )
    options.add_precision(parser)
    options.add_days(parser)
