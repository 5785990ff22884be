"""`growsim check ROOM`."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from growsim.cli.answering import print_json
from growsim.cli.options import open_room
from growsim.version import VERSION

if TYPE_CHECKING:
    from growsim.growth.plan_air import CanopyAir
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.origin import RoomFigure
    from growsim.scenario.size import Size


def run(chosen: argparse.Namespace) -> int:
    """Print that the room is complete and possible, how large it is, and what is surely not meant."""
    room, prepared = open_room(chosen.room)
    from dataclasses import asdict

    from growsim.growth.plan_air import canopy_air
    from growsim.report.own_plan import plan_lines, plan_rows
    from growsim.scenario.asked import in_short
    from growsim.scenario.origin import figures_of
    from growsim.scenario.size import size_of
    from growsim.study.room_air import room_on_paper
    from growsim.units import with_unit

    figures = figures_of(room.scenario, room.full, room.usual)
    answer = [*room_on_paper(prepared, room.raw), in_short(figures, room.asked)]
    if chosen.json:
        size, air = size_of(room.scenario), canopy_air(prepared.scenario, prepared.curves)
        said = {"plan": plan_rows(room.scenario), "figures": [asdict(each) for each in figures]}
        print_json({**_summary(room, size, air, answer), **said})
        return 0
    print("\n".join(answer))
    if plan := plan_lines(room.scenario):
        print("\n" + "\n".join(plan))
    if chosen.figures:
        print("\nEvery figure, whose it is and where it comes from:")
        print("\n".join(f"  {each.key}: {with_unit(each.value, each.unit)}; {_from(each)}" for each in figures))
    if room.warnings:
        print(
            f"\nPossible, but surely not meant ({len(room.warnings)}):"
            if len(room.warnings) > 1
            else "\nPossible, but surely not meant:"
        )
        print("\n".join(f"  {warning}" for warning in room.warnings))
    return 0


def _summary(room: LoadedRoom, size: Size, air: CanopyAir, answer: list[str]) -> dict[str, object]:
    from dataclasses import asdict

    return {
        "growsim": VERSION,
        "command": "check",
        "room": room.scenario.room.name,
        "room_sha256": room.sha256,
        "answer": answer,
        "size": asdict(size),
        "air": asdict(air),
        "warnings": [{"key": w.key, "problem": w.problem, "remedy": w.remedy} for w in room.warnings],
    }


def _from(figure: RoomFigure) -> str:
    return f"{figure.whose}; {figure.source}" if figure.source else figure.whose


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "--figures",
        action="store_true",
        help="list every figure, too: whether it is yours, a usual value or marked as invented, and its source",
    )
