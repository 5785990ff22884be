"""What commands are given: options that several share, each refused in plain words when it cannot be, and rooms."""

from __future__ import annotations

import argparse
import datetime as dt
import os
import re
import shlex
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from growsim.run.prepare import Prepared
    from growsim.scenario.load import LoadedRoom
    from growsim.vocabulary.questions import Question, Years

MODEST_WORKERS = 2
OLD_COUNT_DAYS = 7
_LONGEST_NAME_BYTES = 200  # disks take 255, and names made of it are longer


def add_files(parser: argparse.ArgumentParser, question: Question) -> None:
    """The files a question needs, by their place or name, and those it may be given."""
    if "room" in question.needs:
        parser.add_argument("room", type=Path, metavar="ROOM", help="folder with a room.toml in it, or a TOML file")
    if "changes" in question.needs:
        parser.add_argument(
            "changes",
            type=Path,
            nargs="+",
            metavar="CHANGE",
            help="TOML file that names only what differs; several may be given",
        )
    if "records" in (*question.needs, *question.takes):
        _add_records(parser, "records" if "records" in question.needs else "--records")
        if "shelves" not in question.takes:
            _add_span(parser)
    if "shelves" in question.takes:
        _add_shelves(parser)


def _add_records(parser: argparse.ArgumentParser, name: str) -> None:
    parser.add_argument(
        name,
        type=Path,
        metavar="RECORDS",
        help="what was written down: a folder of tables (CSV, or one workbook), or one such file; `growsim new "
        "--records DIR` makes empty ones",
    )
    parser.add_argument(
        "--dates",
        choices=("day-first", "month-first"),
        help="how dates such as 3/4/2031 are meant in a record; dates such as 2031-04-03 need no telling",
    )


def _add_span(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--from", dest="since", type=date, metavar="DATE", help="first day to look at")
    parser.add_argument("--until", type=date, metavar="DATE", help="last day to look at")


def _add_shelves(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--shelves",
        type=Path,
        metavar="TODAY",
        help="a table (CSV or XLSX) of what stands on the shelves today. Columns: lot, crop, stage, sown (a date) "
        "or days since sowing, plants, rack. Greens in the cooler: lines of stage 'cooler' with kg. Without it, what "
        "the record says stands there (default: the folder records beside the room file)",
    )
    parser.add_argument(
        "--date", type=date, metavar="DATE", help="the morning of that count, or to begin with (default: today)"
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """--json."""
    parser.add_argument("--json", action="store_true", help="print summary.json on stdout and nothing else there")


def add_years(parser: argparse.ArgumentParser, years: Years) -> None:
    """--seed, --replications; --workers and --scheduler: who does the work."""
    parser.add_argument("--seed", type=seed, metavar="N", help="random seed (default: the room file's)")
    parser.add_argument(
        "--replications",
        type=whole_number("replications", years.fewest, 1_000_000),
        metavar="N",
        help=f"how many {years.what} (default: {years.usual or 'as the room file says'}); {years.why}",
    )
    parser.add_argument(
        "--workers",
        type=whole_number("workers", 1, 512),
        metavar="N",
        default=modest_workers(),
        help="processes at work; changes the time it takes, never the numbers (default: %(default)s)",
    )
    parser.add_argument(
        "--scheduler",
        metavar="ADDRESS",
        help="let the workers of a Dask cluster do it, such as tcp://192.0.2.10:8786; the same numbers",
    )


def add_precision(parser: argparse.ArgumentParser) -> None:
    """--precision."""
    parser.add_argument(
        "--precision",
        type=precision,
        metavar="PERCENT",
        help="go on until the average kilograms handed out a week are known to within PERCENT percent; with "
        "--replications, at most so many years",
    )


def add_days(parser: argparse.ArgumentParser) -> None:
    """--days."""
    parser.add_argument(
        "--days",
        type=whole_number("days", 1, 36_500),
        metavar="N",
        help="days that are counted (default: the room file's)",
    )


def add_start(parser: argparse.ArgumentParser) -> None:
    """--start."""
    parser.add_argument(
        "--start",
        choices=("filled", "empty"),
        help="filled: the plan has been running for a while; empty: a bare room (default: the room file's)",
    )


def add_out(parser: argparse.ArgumentParser, command: str) -> None:
    """--out and --replace."""
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help=f"folder for the report (default: reports/<room>-{command})"
    )
    parser.add_argument(
        "--replace",
        action="store_true",
        help="write over an earlier report in that folder; what growsim did not write there is left alone",
    )


def modest_workers() -> int:
    """Two, or one on a computer with one processor: enough, and room left for other work."""
    return min(MODEST_WORKERS, os.cpu_count() or 1)


def whole_number(name: str, low: int, high: int) -> Callable[[str], int]:
    """A reader of whole numbers from `low` to `high`."""

    def read(text: str) -> int:
        if not re.fullmatch(r"[+-]?\d{1,20}", text) or not low <= int(text) <= high:
            raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a whole number from {low} to {high}")
        return int(text)

    read.__name__ = name
    return read


seed = whole_number("seed", 0, 2**63 - 1)


def date(text: str) -> dt.date:
    """A date such as 2031-01-06."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"'{text}' is no date of the calendar; give one such as 2031-01-06") from None


def system_date() -> dt.date:
    """Today, by this computer's clock. The one place a command asks it, so that tests can say what day it is."""
    return dt.date.today()


def old_count(counted: dt.date | None, so: str) -> list[str]:
    """That the shelves were counted more than a week ago, where they were, and what follows."""
    days_ago = (system_date() - counted).days if counted is not None else 0
    if counted is None or days_ago <= OLD_COUNT_DAYS:
        return []
    return [f"Mind: the count is of {counted.isoformat()}, {days_ago} days ago, and {so}."]


def precision(text: str) -> float:
    """Percent above 0 and up to 100."""
    try:
        percent = float(text.removesuffix("%"))
    except ValueError:
        percent = 0.0
    if not 0 < percent <= 100:
        raise argparse.ArgumentTypeError(f"'{text}' is not possible; give a percentage above 0, such as 2")
    return percent


def room_label(room: Path) -> str:
    """A short name for the room from its folder or file, fit for a folder's name."""
    whole = room.resolve()
    name = whole.parent.name if whole.name == "room.toml" else whole.stem
    return re.sub(r"[^\w.-]+", "-", name).strip("-.") or "room"


def out_folder(out: Path | None, room: Path, command: str) -> Path:
    """Where the report goes. Raises OutputError where its name leaves no room for those of the folders beside it."""
    from growsim.errors import OutputError

    where = out if out is not None else Path("reports") / f"{room_label(room)}-{command}"
    if len(os.fsencode(where.name)) > _LONGEST_NAME_BYTES:
        raise OutputError(f"{where.name[:40]}...: the folder's name is too long; give a shorter one with --out.")
    return where


def command_line(*words: object) -> str:
    """`growsim ...` as one types it again."""
    return shlex.join(["growsim", *(str(word) for word in words)])


def open_room(path: Path) -> tuple[LoadedRoom, Prepared]:
    """The room, with every warning, and its growth curves. Raises RoomFileError with every fault."""
    from growsim.run.look_ahead import warnings_with_growth
    from growsim.run.prepare import prepare_room
    from growsim.scenario.load import load_scenario

    room = load_scenario(path)
    prepared = prepare_room(room)
    return replace(room, warnings=warnings_with_growth(room, prepared)), prepared
