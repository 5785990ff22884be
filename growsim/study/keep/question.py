"""Changes that are wanted, made in a room for good: the folder that `growsim keep` writes beside the old one.

In it are the room and what was taken into it. Nothing of a person's is ever written over.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from growsim.errors import Fault, OutputError
from growsim.run.prepare import prepare_room
from growsim.scenario.change import LoadedChange
from growsim.scenario.load import ROOM_FILE, LoadedRoom
from growsim.scenario.reading import whole_file
from growsim.study.keep.edits import RoomWithChange, keep_change
from growsim.version import VERSION

MARK = "kept.json"
KEPT_CHANGES = "kept-changes"
SCHEMA_FILE = "room.schema.json"


@dataclass(frozen=True)
class KeptRoom:
    """A room with changes made in it, one after the other, in a folder of its own.

    room: the new one, as read from `folder`. changes: as they were made. paces: of each crop whose pace of growth was
    written down to stay what it was, the growth rate (-, pace on the growth model's clock). warnings: what is possible
    with the changes but surely not meant.
    """

    folder: Path
    room: LoadedRoom
    changes: tuple[LoadedChange, ...]
    paces: dict[str, float]
    warnings: tuple[Fault, ...]


@dataclass(frozen=True)
class Keeping:
    """A room with changes made in it, not written yet. text: the new room file."""

    before: LoadedRoom
    kept: KeptRoom
    text: str

    def record(self) -> dict[str, Any]:
        """What is told of it in the new folder: from what it was made, and the paces written down."""
        kept, before = self.kept, self.before
        return {
            "growsim": VERSION,
            "command": "keep",
            "room": kept.room.scenario.room.name,
            "room_sha256": kept.room.sha256,
            "made_from": {"file": str(before.path), "sha256": before.sha256},
            "changes": [{"file": str(each.path), "title": each.title, "sha256": each.sha256} for each in kept.changes],
            "growth_rates_stated": kept.paces,
            "warnings": [str(warning) for warning in kept.warnings],
        }


def keeping(room: LoadedRoom, changes: Sequence[LoadedChange], out: Path) -> Keeping:
    """The changes made in the room; nothing is written.

    Raises RoomFileError, naming the CHANGE file, for a change that does not fit, LayoutError for a room file laid out
    so that it cannot be changed in place.
    """
    prepare_room(room)  # a crop that cannot grow today is said of the room, not of the change
    made = RoomWithChange(room, whole_file(room.path).decode("utf-8"), {})
    paces: dict[str, float] = {}
    for change in changes:
        made = keep_change(made.room, made.text, change)
        paces.update(made.paces)
    new = replace(made.room, path=out / ROOM_FILE)
    known = {(warning.key, warning.problem) for warning in room.warnings}
    warnings = tuple(replace(warning, file=str(new.path)) for warning in new.warnings)
    not_known = tuple(each for each in warnings if (each.key, each.problem) not in known)
    kept = KeptRoom(out, replace(new, warnings=warnings), tuple(changes), paces, not_known)
    return Keeping(room, kept, made.text)


def keep(
    room: LoadedRoom, changes: Sequence[tuple[LoadedChange, bytes]], out: Path, *, replaced: bool = False
) -> KeptRoom:
    """Make the changes in the room and write the new folder, whole or not at all.

    changes: each with the text of its file, which is kept beside the room. replaced: a folder that was kept before may
    give way. Raises as `keeping` does, and OutputError where the folder is in the way or cannot be written.
    """
    refuse_room(out, room.path, replace=replaced)
    found = keeping(room, [change for change, _ in changes], out)
    given = [(change.path.name, text) for change, text in changes]
    write_kept(out, found.text, given, found.record(), replace=replaced, schema_of=room.path)
    return found.kept


def refuse_room(out: Path, room_file: Path, *, replace: bool) -> None:
    """Say so before the work starts. Raises OutputError where the folder is there already.

    With `replace` only a folder that `keep` wrote, and that nobody has changed or added to, gives way: a room is work,
    a report is not. The folder that holds the room itself never does.
    """
    from growsim.run.writing import refuse_existing

    if out.exists() and room_file.resolve().is_relative_to(out.resolve()):
        raise OutputError(f"{out}: holds the room itself, which stays as it is; give another folder with --out.")
    if refuse_existing(out, replace=replace, mark=MARK, what="a room"):
        raise OutputError(f"{out}: was added to since it was written; give another folder with --out.")


def write_kept(
    out: Path,
    text: str,
    changes: Sequence[tuple[str, bytes]],
    summary: dict[str, Any],
    *,
    replace: bool,
    schema_of: Path,
) -> None:
    """Write the new room's folder, whole or not at all. Raises OutputError where it cannot be written.

    text: the room file. changes: each with the name of its file and its text. summary: what kept.json says.
    schema_of: the old room's file; where the schema that lets editors help lies beside it, the new one gets it too.
    """
    from growsim.run.writing import FILES, fingerprints, output_folder, write_bytes, write_text
    from growsim.scenario.load import ROOM_FILE
    from growsim.scenario.schema import json_schema

    with output_folder(out, replace=replace, mark=MARK) as folder:
        write_bytes(folder / ROOM_FILE, text.encode("utf-8"))
        if (schema_of.parent / SCHEMA_FILE).is_file():
            write_text(folder / SCHEMA_FILE, json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n")
        (folder / KEPT_CHANGES).mkdir()
        for place, (name, content) in enumerate(changes, start=1):
            write_bytes(folder / KEPT_CHANGES / f"{place}-{name}", content)
        told = {**summary, FILES: fingerprints(folder)}
        write_text(folder / MARK, json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
