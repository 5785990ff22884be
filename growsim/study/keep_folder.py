"""The folder that `growsim keep` writes: the room, what was taken into it, and never anything of a person's over it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

MARK = "taken-in.json"
TAKEN_IN = "taken-in"
SCHEMA_FILE = "room.schema.json"
FILES = "files_sha256"


def refuse_room(out: Path, room_file: Path, *, replace: bool) -> None:
    """Say so before the work starts. Raises OutputError where the folder is there already.

    With `replace` only a folder that `keep` wrote, and that nobody has changed or added to, gives way: a room is work,
    a report is not. The folder that holds the room itself never does.
    """
    from growsim.errors import OutputError
    from growsim.run.store import refuse_existing

    if out.exists() and room_file.resolve().is_relative_to(out.resolve()):
        raise OutputError(f"{out}: holds the room itself, which stays as it is; give another folder with --out.")
    refuse_existing(out, replace=replace, mark=MARK, what="a room")
    if (out / MARK).is_file() and not _as_written(out):
        raise OutputError(f"{out}: was changed since it was written; give another folder with --out.")


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

    text: the room file. changes: each with the name of its file and its text. summary: what taken-in.json says.
    schema_of: the old room's file; where the schema that lets editors help lies beside it, the new one gets it too.
    """
    from growsim.run.store import output_folder, write_bytes, write_text
    from growsim.spec.load import ROOM_FILE
    from growsim.spec.schema import json_schema

    with output_folder(out, replace=replace, mark=MARK) as folder:
        write_bytes(folder / ROOM_FILE, text.encode("utf-8"))
        if (schema_of.parent / SCHEMA_FILE).is_file():
            write_text(folder / SCHEMA_FILE, json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n")
        (folder / TAKEN_IN).mkdir()
        for place, (name, content) in enumerate(changes, start=1):
            write_bytes(folder / TAKEN_IN / f"{place}-{name}", content)
        told = {**summary, FILES: _fingerprints(folder)}
        write_text(folder / MARK, json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def _fingerprints(folder: Path) -> dict[str, str]:
    """SHA-256 of every file in the folder but the mark itself, by its name inside."""
    from growsim.spec.reading import fingerprint

    inside = sorted(path for path in folder.rglob("*") if path.is_file() and path != folder / MARK)
    return {path.relative_to(folder).as_posix(): fingerprint(path.read_bytes()) for path in inside}


def _as_written(folder: Path) -> bool:
    try:
        told = json.loads((folder / MARK).read_text(encoding="utf-8"))
        return isinstance(told, dict) and told.get(FILES) == _fingerprints(folder)
    except (OSError, ValueError):
        return False
