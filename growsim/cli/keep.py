"""`growsim keep ROOM CHANGE...`."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.cli import options
from growsim.cli.answering import print_json

if TYPE_CHECKING:
    from growsim.scenario.change import LoadedChange


def run(chosen: argparse.Namespace) -> int:
    """Write the room with the changes made into a new folder; the room itself stays as it is."""
    from growsim.scenario.change import load_change
    from growsim.scenario.load import load_scenario
    from growsim.scenario.reading import whole_file
    from growsim.study.keep.question import keeping, refuse_room, write_kept

    room = load_scenario(chosen.room)
    out = chosen.out if chosen.out is not None else default_folder(chosen.room, chosen.changes)
    refuse_room(out, room.path, replace=chosen.replace)
    changes = [load_change(path) for path in chosen.changes]
    found = keeping(room, changes, out)
    answer = _answer(chosen.room, out, changes, list(found.kept.paces))
    summary = {**found.record(), "answer": answer}
    given = [(path.name, whole_file(path)) for path in chosen.changes]
    write_kept(out, found.text, given, summary, replace=chosen.replace, schema_of=room.path)
    if chosen.json:
        print_json(summary)
        return 0
    _print(summary, out)
    return 0


def _answer(room: Path, out: Path, changes: list[LoadedChange], paced: list[str]) -> list[str]:
    from growsim.report.words import listed

    titles = listed([f"“{change.title}”" for change in changes])
    said = [f"{out} is the room of {room} with {titles} made in it; {room} itself is as it was."]
    if paced:
        said.append(
            f"How fast {listed(paced)} {'grows' if len(paced) == 1 else 'grow'} is written down in it (growth_rate) "
            f"as found before the change. Read again, the typical days would have taken the change for granted."
        )
    return said


def _print(summary: dict[str, Any], out: Path) -> None:
    print("\n".join(summary["answer"]))
    if summary["warnings"]:
        print("\nPossible with the change, but surely not meant:")
        print("\n".join(f"  {warning}" for warning in summary["warnings"]))
    print("\nTo go on with it:")
    for command in ("check", "rehearse"):
        print(f"  {options.command_line(command, out)}")


def default_folder(room: Path, changes: list[Path]) -> Path:
    """Beside the room: its name, and those of the changes."""
    from growsim.scenario.load import ROOM_FILE, room_path

    file = room_path(room)
    home = file.parent if file.name == ROOM_FILE else file
    if home.name in ("", ".."):
        home = home.resolve()
    names = "-".join(options.room_label(path) for path in changes)
    return home.parent / f"{options.room_label(file)}-with-{names}"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help="folder for the new room (default: <room>-with-<change>, beside ROOM)"
    )
    parser.add_argument(
        "--replace",
        action="store_true",
        help="write over a room that this command made, if nothing in it was changed since; without it, none is lost",
    )
