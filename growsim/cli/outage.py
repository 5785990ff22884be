"""`growsim outage ROOM`."""

from __future__ import annotations

import argparse
import datetime as dt
import difflib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.cli import options
from growsim.cli.answering import days_of, origin, replications_of, report_folder, seed_of, tell
from growsim.vocabulary.machines import BY_KEY, MACHINES, NAMED_PLACES

if TYPE_CHECKING:
    from growsim.report.provenance import Provenance
    from growsim.scenario.equipment import PlannedOutage
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.plan import RunPlan

EVENT_OPTIONS = ("where", "day", "date", "hour", "hours")
USUAL_HOURS = 24.0


def run(chosen: argparse.Namespace) -> int:
    """Study one given outage, or all of them; write the report, print its answer."""
    from growsim.errors import InputError
    from growsim.scenario.load import refuse_lacking
    from growsim.scenario.plan import RunPlan

    idle = [f"--{name}" for name in EVENT_OPTIONS if getattr(chosen, name) is not None]
    if chosen.machine is None and idle:
        raise InputError(f"{', '.join(idle)}: say which machine with --machine, e.g. --machine pump.")
    room, _ = options.open_room(chosen.room)
    if not chosen.machine:
        refuse_lacking(room)
    plan = RunPlan(days_of(chosen, room), room.scenario.rehearsal.warm_up_days)
    out = report_folder(chosen, room)
    summary = _one(chosen, room, plan, out) if chosen.machine else _all(chosen, room, plan, out)
    return tell(chosen, summary, out)


def _all(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan, out: Path) -> dict[str, Any]:
    from growsim.report.outage.answer import write_outages
    from growsim.run.progress import progress_bar
    from growsim.study.outage.question import study_outages

    with progress_bar("Rehearsing outages", unit="rehearsals") as progress:
        outages = study_outages(
            room.scenario,
            seed=seed_of(chosen, room),
            replications=replications_of(chosen, room),
            plan=plan,
            workers=chosen.workers,
            progress=progress,
        )
    return write_outages(outages, out, provenance=_origin(chosen, room), replace=chosen.replace)


def _one(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan, out: Path) -> dict[str, Any]:
    from growsim.report.outage.event import write_event
    from growsim.run.progress import progress_bar
    from growsim.study.outage.event import study_event

    outage = planned(chosen, room)
    with progress_bar("Rehearsing") as progress:
        event = study_event(
            room.scenario,
            outage,
            seed=seed_of(chosen, room),
            replications=replications_of(chosen, room),
            plan=plan,
            workers=chosen.workers,
            progress=progress,
        )
    return write_event(event, out, provenance=_origin(chosen, room), replace=chosen.replace)


def planned(chosen: argparse.Namespace, room: LoadedRoom) -> PlannedOutage:
    """The outage of the command line. Raises InputError where it does not say when, or says a day before the first."""
    from growsim.errors import InputError
    from growsim.scenario.equipment import PlannedOutage

    first = room.scenario.room.start_date
    if (chosen.day is None) == (chosen.date is None):
        raise InputError(
            f"--machine {chosen.machine}: say when, either with --date (e.g. --date {first + dt.timedelta(days=90)}) "
            "or with --day, counted from 0."
        )
    day = chosen.day if chosen.date is None else (chosen.date - first).days
    if day < 0:
        raise InputError(f"--date {chosen.date}: is before the first counted day, {first}; give a later date.")
    return PlannedOutage(
        name="given on the command line",
        machine=chosen.machine,
        where=_where(chosen, room),
        start_day=day,
        start_hour=chosen.hour or 0.0,
        hours=chosen.hours or USUAL_HOURS,
    )


def _where(chosen: argparse.Namespace, room: LoadedRoom) -> str:
    """The reservoir or light bank; where there is only one, it need not be named."""
    from growsim.scenario.machines import names_at

    place = BY_KEY[chosen.machine].place
    named = names_at(room.scenario, place)
    if chosen.where is None and place.is_needed and len(named) == 1:
        return named[0]
    return str(chosen.where or "")


def _origin(chosen: argparse.Namespace, room: LoadedRoom) -> Provenance:
    given = {name: getattr(chosen, name) for name in ("machine", *EVENT_OPTIONS)}
    replications, days = replications_of(chosen, room), days_of(chosen, room)
    return origin(chosen, room, **given, seed=seed_of(chosen, room), replications=replications, days=days)


def _machine(text: str) -> str:
    if text not in BY_KEY:
        near = difflib.get_close_matches(text, BY_KEY, n=1)
        meant = f"did you mean '{near[0]}'" if near else f"give one of {', '.join(BY_KEY)}"
        raise argparse.ArgumentTypeError(f"'{text}' is nothing that can fail; {meant}")
    return text


def _hours(low: float, high: float, example: str, *, open_high: bool = False) -> Any:
    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = -1.0
        if not low <= value <= high or (open_high and value == high):
            raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a number such as {example}")
        return value

    return read


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    given = parser.add_argument_group("one given outage (leave out to study them all)")
    given.add_argument("--machine", type=_machine, metavar="WHAT", help=f"what fails: {', '.join(BY_KEY)}")
    places = " or ".join(place.word for place in NAMED_PLACES)
    every = " and ".join(row.label for row in MACHINES if row.place in NAMED_PLACES and not row.place.is_needed)
    given.add_argument("--where", metavar="NAME", help=f"the {places} it concerns; {every}: left out means all")
    given.add_argument("--date", type=options.date, metavar="DATE", help="date on which it begins, such as 2032-07-12")
    given.add_argument(
        "--day",
        type=options.whole_number("day", 0, 36_499),
        metavar="N",
        help="or the day on which it begins, counted from 0",
    )
    given.add_argument(
        "--hour", type=_hours(0, 24, "18.5", open_high=True), metavar="H", help="hour of that day (default: 0)"
    )
    given.add_argument(
        "--hours", type=_hours(0.02, 8760, "24"), metavar="H", help="how long it lasts, in hours (default: 24)"
    )
    options.add_days(parser)
