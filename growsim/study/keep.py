"""Changes that are wanted, made in a room for good: a new room folder beside the old one, which stays as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from growsim import __version__
from growsim.errors import Fault
from growsim.run.prepare import prepare_room
from growsim.spec.change import LoadedChange
from growsim.spec.load import ROOM_FILE, LoadedRoom
from growsim.spec.reading import whole_file
from growsim.study.keep_folder import refuse_room, write_kept
from growsim.study.taken_in import TakenIn, take_in


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
            "growsim": __version__,
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
    made = TakenIn(room, whole_file(room.path).decode("utf-8"), {})
    paces: dict[str, float] = {}
    for change in changes:
        made = take_in(made.room, made.text, change)
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
