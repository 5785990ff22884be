"""`growsim promise ROOM --shelves TODAY`: what may I promise for the coming weeks?"""

from __future__ import annotations

import argparse
import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.cli import options
from growsim.cli.options import Command

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom

REPLICATIONS = 200


def run(chosen: argparse.Namespace) -> int:
    """Rehearse from today's shelves, write the report, print its answer."""
    from growsim.run.progress import progress_bar
    from growsim.run.writing import refuse_existing
    from growsim.scenario.load import load_scenario
    from growsim.scenario.shelves import load_shelves
    from growsim.study.promise.question import promise

    room = load_scenario(chosen.room)
    date = chosen.date or options.system_date()
    today = load_shelves(chosen.shelves, room.scenario, date)
    out = options.out_folder(chosen.out, chosen.room, "promise")
    refuse_existing(out, replace=chosen.replace)
    with progress_bar("Rehearsing") as progress:
        promises = promise(
            room,
            today,
            date=date,
            seed=_seed(chosen, room),
            weeks=chosen.weeks,
            replications=chosen.replications,
            rescue=not chosen.no_rescue,
            workers=chosen.workers,
            progress=progress,
        )
    from growsim.report.promise.answer import write_promises
    from growsim.report.provenance import Provenance

    provenance = Provenance("promise", repeat_with(chosen, room, date, promises.weeks), room.sha256)
    summary = write_promises(promises, out, provenance=provenance, replace=chosen.replace)
    if chosen.json:
        print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    heads, sentences = summary["answer_heads"], summary["answer"]
    print("\n".join(f"{head}: {sentence}" for head, sentence in zip(heads, sentences, strict=True)))
    options.mind_old_count(date, "the promises begin on that day; count the shelves again for promises from today on")
    print(f"\nThe whole report: {out / 'report.html'}")
    return 0


def repeat_with(chosen: argparse.Namespace, room: LoadedRoom, date: dt.date, weeks: int) -> str:
    """The command line that gives the same numbers again, with everything said that could differ elsewhere."""
    words: list[object] = ["promise", chosen.room, "--shelves", chosen.shelves, "--date", date.isoformat()]
    words += ["--weeks", weeks, "--seed", _seed(chosen, room), "--replications", chosen.replications]
    return options.command_line(*words, *(["--no-rescue"] if chosen.no_rescue else []))


def _seed(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def _arguments(parser: argparse.ArgumentParser) -> None:
    options.add_room(parser)
    parser.add_argument(
        "--shelves",
        type=Path,
        required=True,
        metavar="TODAY",
        help="a table (CSV or XLSX) of what stands on the shelves today: lot, crop, stage, sown (a date) or days since "
        "sowing, plants, rack; greens in the cooler as lines of stage 'cooler' with kg",
    )
    parser.add_argument("--date", type=options.date, metavar="DATE", help="the morning of the count (default: today)")
    parser.add_argument(
        "--weeks",
        type=options.whole_number("weeks", 1, 104),
        metavar="N",
        help="weeks ahead (default: as long as the slowest crop takes)",
    )
    options.add_seed(parser)
    parser.add_argument(
        "--replications",
        type=options.whole_number("replications", 9, 1_000_000),
        default=REPLICATIONS,
        metavar="N",
        help="how many possible futures (default: %(default)s)",
    )
    parser.add_argument("--no-rescue", action="store_true", help="do not try what would save deliveries at risk")
    options.add_workers(parser)
    options.add_out(parser, "promise")
    options.add_json(parser)


COMMAND = Command(
    name="promise",
    question="Given what stands on the shelves today, what may I promise for the coming weeks?",
    about="Lives through many possible futures of today's shelves and says, week by week, crop by crop and partner by\n"
    "partner, what is safe (90 of 100 give at least that), likely (50) and possible (10) to promise; which standing\n"
    "orders are at risk; and what would save them: each thing one could do is tried in the same futures.",
    add_arguments=_arguments,
    run=run,
)
