"""The files a question is asked with: found in the room's home, checked, and copied into the question's own folder.

So an answer tells for ever of the room as it was when asked, whatever becomes of the room file meanwhile.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from growsim.errors import InputError, RoomFileError
from growsim.run.writing import write_bytes
from growsim.scenario.change import changed_room, load_change
from growsim.scenario.load import LoadedRoom
from growsim.scenario.reading import LARGEST_FILE_BYTES
from growsim.scenario.record.files import read_records
from growsim.scenario.shelves import COOLER, load_shelves
from growsim.study.funder.record import sums_of
from growsim.study.standing import COUNTED, RECORDS, SHELVES, Standing, standing_in
from growsim.vocabulary.questions import Question
from growsim.web.ask.listed import TABLES, change_files, loaded, record_tables, table_files
from growsim.web.folder import ROOM_FILE, Folder, RoomFolder, is_plain_name

BY_RECORD = "by the record"
_TABLE = ("lot", "crop", "stage", "sown", "plants", "rack", "harvests", "kg")


@dataclass(frozen=True)
class Upload:
    """A file that somebody sent: its name as they call it, and its bytes."""

    name: str
    content: bytes


@dataclass
class Files:
    """What goes with a question besides the room: CHANGE files, a count of the shelves, records."""

    changes: list[Path] = field(default_factory=list)
    shelves: Path | None = None
    records: list[Path] = field(default_factory=list)


def chosen_changes(room: RoomFolder, loaded: LoadedRoom, names: Sequence[str]) -> list[Path]:
    """The CHANGE files of those names. Raises InputError where one is not there, or cannot be made in this room."""
    there = {path.name: path for path in change_files(room)}
    said = [f"There is no change “{name[:60]}” of this room any more." for name in names if name not in there]
    chosen = [there[name] for name in dict.fromkeys(names) if name in there]
    if not chosen and not said:
        said = ["Tick at least one change."]
    for path in chosen:
        try:
            changed_room(loaded, load_change(path))
        except InputError as refusal:
            said.append(str(refusal))
    if said:
        raise InputError("\n".join(said))
    return chosen


def kept_table(room: RoomFolder, upload: Upload) -> Path:
    """Keep a table that somebody sent among the counts of the room's shelves.

    Raises InputError where its name or size is none of a table's; an earlier one of the name gets a number beside it.
    """
    path = Path(upload.name.replace("\\", "/")).name
    stem, ending = Path(path).stem, Path(path).suffix.lower()
    if ending not in TABLES:
        raise InputError(f"'{path[:60]}' is no table; send a file that ends in .csv or .xlsx")
    if len(upload.content) > LARGEST_FILE_BYTES:
        raise InputError(f"'{path[:60]}' is {len(upload.content) / 1e6:.1f} MB large; a table stays below 5 MB")
    name = f"{stem[:40]}{ending}"
    name = name if is_plain_name(name) else f"shelves{ending}"
    folder = room.home / SHELVES
    folder.mkdir(parents=True, exist_ok=True)
    number, target = 1, folder / name
    while target.exists() or target.is_symlink():
        if not target.is_symlink() and target.read_bytes() == upload.content:
            return target
        number += 1
        target = folder / f"{Path(name).stem}-{number}{ending}"
    write_bytes(target, upload.content)
    return target


def chosen_table(room: RoomFolder, name: str) -> Path:
    """A table of the room's home by its listed name. Raises InputError where it is not there."""
    for path in table_files(room):
        if path.relative_to(room.home).as_posix() == name:
            return path
    raise InputError(f"There is no table “{name[:60]}” any more; choose another, or send one.")


def check_shelves(path: Path, loaded: LoadedRoom, date: dt.date | None) -> None:
    """Raises RoomFileError with every fault of a count, by line."""
    load_shelves(path, loaded.scenario, date)


def chosen_records(room: RoomFolder, name: str) -> list[Path]:
    """The tables of the room's record. Raises InputError where none is kept any more."""
    kept = record_tables(room)
    if name != RECORDS or not kept:
        raise InputError("There is no such record any more; send its tables under “Records” first.")
    return kept


def record_span(room: RoomFolder, loaded: LoadedRoom, order: str) -> tuple[dt.date, dt.date] | None:
    """First and last day of the room's record; None where there is none that can be read. order: as a form says it."""
    meant: Any = order if order in ("day-first", "month-first") else None
    try:
        records = read_records(room.home / RECORDS, loaded.scenario, order=meant)
    except InputError:
        return None
    return (records.first, records.last) if records.rows else None


def check_records(
    room: RoomFolder, loaded: LoadedRoom, order: Any, since: dt.date | None, until: dt.date | None
) -> None:
    """Raises InputError where the record cannot be read, or holds nothing of those days."""
    sums_of(read_records(room.home / RECORDS, loaded.scenario, order=order), loaded.scenario, since=since, until=until)


def by_record_here(room: RoomFolder, date: dt.date) -> Standing | None:
    """What stands there by the record; None where it does not tell, or cannot be read."""
    now, _ = loaded(room)
    try:
        standing = standing_in(room.home, now, date) if now is not None else None
    except RoomFileError:
        return None
    return standing if standing is not None and standing.is_all else None


def table_by_record(room: RoomFolder, date: dt.date) -> str:
    """Keep what the record says as a table beside the counts; gives its name. Raises InputError where it does not say.

    So an answer tells for ever what it began with.
    """
    standing = by_record_here(room, date)
    if standing is None:
        raise InputError(f"The record does not tell what stood there on {date}; count the shelves once.")
    made = io.StringIO()
    writer = csv.writer(made, lineterminator="\n")
    writer.writerow(_TABLE)
    for lot, each in zip(standing.today.lots, standing.batches, strict=True):
        writer.writerow([lot.lot, lot.crop, lot.stage, each.sown, lot.plants, lot.rack, lot.harvests or "", ""])
    for number, greens in enumerate(standing.cooler, start=1):
        writer.writerow(
            [f"{greens.crop} in the cooler {number}", greens.crop, COOLER, "", "", "", "", greens.grams / 1000.0]
        )
    upload = Upload(f"by-the-record-{date}.csv", made.getvalue().encode())
    return kept_table(room, upload).relative_to(room.home).as_posix()


def filler(
    folder: Folder, room: RoomFolder, question: Question, options: Sequence[str], files: Files
) -> Callable[[Path], list[str]]:
    """What puts copies of everything into a question's folder and gives the words of its command."""

    def fill(asked: Path) -> list[str]:
        def copied(path: Path, *into: str) -> str:
            target = asked.joinpath(*into, path.name)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, target)
            return target.relative_to(folder.path).as_posix()

        home = asked / room.title
        home.mkdir()
        shutil.copyfile(room.file, home / ROOM_FILE)
        words = [question.name, home.relative_to(folder.path).as_posix()]
        words += [copied(path, "changes") for path in files.changes]
        if files.records:
            last = [copied(path, "records") for path in files.records][-1]
            words += [] if "records" in question.needs else ["--records"]
            words.append(Path(last).parent.as_posix())
        if question.name == "review":
            for path in sorted((room.home / SHELVES).glob(f"{COUNTED}*.csv")):
                copied(path, home.name, SHELVES)
        if files.shelves is not None:
            words += ["--shelves", copied(files.shelves)]
        return [*words, *options]

    return fill
