"""`growsim outage ROOM`: what does a machine that is down cost, how long is there, and what is worth buying?"""

from __future__ import annotations

import argparse
import datetime as dt
import difflib
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.cli import options
from growsim.cli.options import Command
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
    from growsim.cli.options import open_room
    from growsim.errors import InputError
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import refuse_lacking
    from growsim.scenario.plan import RunPlan

    idle = [f"--{name}" for name in EVENT_OPTIONS if getattr(chosen, name) is not None]
    if chosen.machine is None and idle:
        raise InputError(f"{', '.join(idle)}: say which machine with --machine, e.g. --machine pump.")
    room, _ = open_room(chosen.room)
    if not chosen.machine:
        refuse_lacking(room)
    defaults = room.scenario.rehearsal
    plan = RunPlan(chosen.days or defaults.days, defaults.warm_up_days)
    out = options.out_folder(chosen.out, chosen.room, "outage")
    refuse_existing(out, replace=chosen.replace)
    summary = _one(chosen, room, plan, out) if chosen.machine else _all(chosen, room, plan, out)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    heads, sentences = summary["answer_heads"], summary["answer"]
    print("\n".join(f"{head}: {sentence}" for head, sentence in zip(heads, sentences, strict=True)))
    print(f"\nThe whole report: {out / 'report.html'}")
    if not chosen.machine:
        from growsim.report.outage.answer import FIRST_PAGES, WALL_PAGE

        print(f"To print for the wall: {out / WALL_PAGE}\nTo print, what to do first: {out / FIRST_PAGES}")
    return 0


def _all(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan, out: Path) -> dict[str, Any]:
    from growsim.report.outage.answer import write_outages
    from growsim.run.progress import progress_bar
    from growsim.study.outage.question import study_outages

    with progress_bar("Rehearsing outages", unit="rehearsals") as progress:
        outages = study_outages(
            room.scenario,
            seed=_seed(chosen, room),
            replications=_replications(chosen, room),
            plan=plan,
            workers=chosen.workers,
            progress=progress,
        )
    return write_outages(outages, out, provenance=_provenance(chosen, room), replace=chosen.replace)


def _one(chosen: argparse.Namespace, room: LoadedRoom, plan: RunPlan, out: Path) -> dict[str, Any]:
    from growsim.report.outage.event import write_event
    from growsim.run.progress import progress_bar
    from growsim.study.outage.event import study_event

    outage = planned(chosen, room)
    with progress_bar("Rehearsing") as progress:
        event = study_event(
            room.scenario,
            outage,
            seed=_seed(chosen, room),
            replications=_replications(chosen, room),
            plan=plan,
            workers=chosen.workers,
            progress=progress,
        )
    return write_event(event, out, provenance=_provenance(chosen, room), replace=chosen.replace)


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


def repeat_with(chosen: argparse.Namespace, room: LoadedRoom) -> str:
    """The command line that gives the same numbers again, with everything said that could differ elsewhere."""
    words: list[object] = ["outage", chosen.room]
    for name in ("machine", *EVENT_OPTIONS):
        value = getattr(chosen, name)
        if value is not None:
            words += [f"--{name}", options.shown_number(value) if isinstance(value, float) else value]
    words += ["--seed", _seed(chosen, room), "--replications", _replications(chosen, room)]
    return options.command_line(*words, "--days", chosen.days or room.scenario.rehearsal.days)


def _provenance(chosen: argparse.Namespace, room: LoadedRoom) -> Provenance:
    from growsim.report.provenance import Provenance

    return Provenance("outage", repeat_with(chosen, room), room.sha256)


def _seed(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _replications(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    """Two at least, or nothing could be told from chance."""
    return int(chosen.replications or max(2, room.scenario.rehearsal.replications))


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


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
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
    options.add_seed(parser)
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", 2, 1_000_000),
        metavar="N",
        help="how many possible years, each lived through with and without (default: the room file's)",
    )
    options.add_days(parser)
    options.add_workers(parser)
    options.add_out(parser, "outage")
    options.add_json(parser)


COMMAND = Command(
    name="outage",
    question="What does a failed pump, lights out, a power outage or loss of cooling cost, how long do I have, and "
    "what is worth buying?",
    about="Without --machine: how many hours there are for each machine until plants die (a chart for the wall, and\n"
    "sheets of what to do first), what each machine's failing costs in a year, and what each protection is worth.\n"
    "With --machine: what that one outage costs, against the same year without it.",
    add_arguments=_arguments,
    run=run,
)
