"""`growsim check ROOM`: is my description of the room complete and possible?"""

from __future__ import annotations

import argparse
import json
from typing import TYPE_CHECKING

from growsim import __version__
from growsim.cli.command import Command
from growsim.cli.options import add_json, add_room

if TYPE_CHECKING:
    from growsim.spec.load import LoadedRoom
    from growsim.spec.size import Size


def run(chosen: argparse.Namespace) -> int:
    """Print that the room is complete and possible, how large it is, and what is surely not meant."""
    from growsim.cli.rooms import open_room

    room, _ = open_room(chosen.room)
    from growsim.spec.size import paces_stated, size_of, size_sentences

    size = size_of(room.scenario)
    answer = size_sentences(room.scenario.room.name, size, paces_stated(room.scenario))
    if chosen.json:
        print(json.dumps(_summary(room, size, answer), indent=2, ensure_ascii=False, allow_nan=False))
        return 0
    print("\n".join(answer))
    if room.warnings:
        print(
            f"\nPossible, but surely not meant ({len(room.warnings)}):"
            if len(room.warnings) > 1
            else "\nPossible, but surely not meant:"
        )
        print("\n".join(f"  {warning}" for warning in room.warnings))
    return 0


def _summary(room: LoadedRoom, size: Size, answer: list[str]) -> dict[str, object]:
    from dataclasses import asdict

    return {
        "growsim": __version__,
        "command": "check",
        "room": room.scenario.room.name,
        "room_sha256": room.sha256,
        "answer": answer,
        "size": asdict(size),
        "warnings": [{"key": w.key, "problem": w.problem, "remedy": w.remedy} for w in room.warnings],
    }


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_room(parser)
    add_json(parser)


COMMAND = Command(
    name="check",
    question="Is my description of the room complete and possible?",
    about="Reads the room file and says everything that is wrong with it, one line each: file, key, what is wrong,\n"
    "what would be right. A sound room is answered with its size on paper, and with what is possible but surely\n"
    "not meant.",
    add_arguments=_arguments,
    run=run,
)
