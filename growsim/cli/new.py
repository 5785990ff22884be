"""`growsim new DIR`."""

from __future__ import annotations

import argparse
import datetime as dt
from pathlib import Path

from growsim.cli.options import command_line

ROOM_FILE = "room.toml"
SCHEMA_FILE = "room.schema.json"
ANOTHER_FOLDER = "give another folder"


def run(chosen: argparse.Namespace) -> int:
    """Write the commented starter room, and the schema that lets editors help with it, into a new or empty folder."""
    from growsim.run.writing import output_folder

    if chosen.xlsx and not chosen.records:
        from growsim.errors import InputError

        raise InputError("--xlsx: a room file is no workbook; say --records too for tables to keep a record in.")
    folder: Path = chosen.folder
    if chosen.records:
        return _records(folder, workbook=chosen.xlsx)
    _refuse_full(folder)
    if folder.is_dir():  # an empty folder stays the folder it is: somebody may be standing in it
        _fill(folder, folder)
    else:
        with output_folder(folder, remedy=ANOTHER_FOLDER, mark="") as building:
            _fill(building, folder)
    print(f"{folder / ROOM_FILE} is a small invented room with every key explained: make it yours, then")
    for command in ("check", "rehearse"):
        print(f"  {command_line(command, folder)}")
    return 0


def _records(folder: Path, *, workbook: bool) -> int:
    """Write empty tables to keep a record in."""
    from growsim.report.record_templates import write_templates
    from growsim.run.writing import output_folder

    _refuse_full(folder)
    if folder.is_dir():
        written = write_templates(folder, workbook=workbook)
    else:
        with output_folder(folder, remedy=ANOTHER_FOLDER, mark="") as building:
            written = [folder / path.name for path in write_templates(building, workbook=workbook)]
    print(f"{written[0]} says how to keep a record; the tables are empty. When some weeks are filled in:")
    print(f"  {command_line('learn', 'ROOM', folder)}")
    return 0


def _fill(folder: Path, called: Path) -> None:
    import json

    from growsim.errors import OutputError
    from growsim.run.writing import write_text
    from growsim.scenario.begin import begun
    from growsim.scenario.schema import json_schema

    starter = begun(called.resolve().name, dt.date.today())
    schema = json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"
    try:
        write_text(folder / SCHEMA_FILE, schema)
        write_text(folder / ROOM_FILE, starter)
    except OSError as refusal:
        (folder / SCHEMA_FILE).unlink(missing_ok=True)
        why = (refusal.strerror or "refused by the system").lower()
        raise OutputError(f"{folder}: cannot be written ({why}); {ANOTHER_FOLDER}.") from refusal


def _refuse_full(folder: Path) -> None:
    from growsim.errors import OutputError

    if folder.is_dir():
        if any(folder.iterdir()):
            raise OutputError(f"{folder}: exists already and is not empty; give a new folder.")
    elif folder.exists() or folder.is_symlink():
        raise OutputError(f"{folder}: is not a folder; give a new folder.")


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument("folder", type=Path, metavar="DIR", help="a folder that does not exist yet, or is empty")
    parser.add_argument("--records", action="store_true", help="write tables to keep a record in, instead of a room")
    parser.add_argument("--xlsx", action="store_true", help="with --records: one workbook instead of CSV files")
