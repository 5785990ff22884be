"""From what was chosen to what is told: the part of a command that is the same for every question with a report."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.cli.options import command_line, out_folder
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.report.provenance import Provenance
    from growsim.scenario.load import LoadedRoom

_MOST_NAMED = 10


def report_folder(chosen: argparse.Namespace, room: LoadedRoom) -> Path:
    """Where the report goes; names on stderr what lies there that is not ours, and stays.

    Raises OutputError, before the work starts, where something is in the way.
    """
    from growsim.report.provenance import told_of
    from growsim.run.writing import refuse_existing

    out = out_folder(chosen.out, chosen.room, chosen.command)
    theirs = refuse_existing(out, replace=chosen.replace, of=told_of(chosen.command, room.scenario))
    if theirs:
        more = f" and {len(theirs) - _MOST_NAMED} more" if len(theirs) > _MOST_NAMED else ""
        print(f"{out}: left alone there: {', '.join(theirs[:_MOST_NAMED])}{more}.", file=sys.stderr)
    return out


def seed_of(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    """The seed of the command line, or the room file's."""
    return room.scenario.rehearsal.seed if chosen.seed is None else int(chosen.seed)


def days_of(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    """The days that are counted, of the command line or the room file."""
    return int(chosen.days or room.scenario.rehearsal.days)


def start_of(chosen: argparse.Namespace, room: LoadedRoom) -> Any:
    """What stands on the shelves when counting starts, of the command line or the room file."""
    return chosen.start or room.scenario.rehearsal.start


def replications_of(chosen: argparse.Namespace, room: LoadedRoom) -> int:
    """How many years, of the command line, else what is usual for the question, else the room file's."""
    years = BY_NAME[chosen.command].years
    assert years is not None
    return years.unless_said(chosen.replications, room.scenario.rehearsal.replications)


def origin(chosen: argparse.Namespace, room: LoadedRoom, *files: object, **said: object) -> Provenance:
    """Where an answer comes from, with the command line that gives the same numbers again.

    files: after the room. said: options by name, everything that could differ elsewhere; those that are None or False
    are left out.
    """
    from growsim.report.provenance import Provenance
    from growsim.scenario.origin import figures_of

    words: list[object] = [chosen.command, chosen.room, *files]
    for name, value in said.items():
        if value is not None and value is not False:
            option = f"--{name.replace('_', '-')}"
            words += [option] if value is True else [option, f"{value:g}" if isinstance(value, float) else value]
    figures = figures_of(room.scenario, room.full, room.usual)
    return Provenance(chosen.command, command_line(*words), room.sha256, figures=figures, asked=room.asked)


def print_json(summary: Mapping[str, Any]) -> None:
    """A summary on stdout."""
    print(json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False))


def told(summary: Mapping[str, Any], width: int = 0) -> list[str]:
    """An answer line by line, for a terminal of so many columns (0: as wide as it is): its page where it has one, else
    sentence by sentence.
    """
    from shutil import get_terminal_size

    heads, sentences = summary["answer_heads"], summary["answer"]
    if "table" not in summary:
        return [f"{head}: {sentence}" if head else sentence for head, sentence in zip(heads, sentences, strict=True)]
    from growsim.report.front import front_of

    return front_of(summary).lines(width or get_terminal_size((100, 24)).columns)


def tell(
    chosen: argparse.Namespace,
    summary: Mapping[str, Any],
    out: Path | None,
    *,
    asides: Iterable[str] = (),
    changes: Iterable[Path] = (),
) -> int:
    """Print the answer and where its files lie; gives the exit code. out: None where none were written. asides: what
    else is to be said of it.

    changes: CHANGE files the planner may want to have in the room.
    """
    if chosen.json:
        print_json(summary)
        return 0
    for line in told(summary):
        print(line)
    for aside in asides:
        print(aside)
    if out is not None:
        print()
        for file, what in BY_NAME[chosen.command].leaves:
            if (out / file).is_file():
                print(f"{what}: {out / file}")
    wanted = list(changes)
    if wanted:
        print("To have it in your room (in a new folder; the old room stays):")
    for change in wanted:
        print(f"  {command_line('keep', chosen.room, change)}")
    return 0
