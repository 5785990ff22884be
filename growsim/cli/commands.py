"""The commands, in the order a planner meets them. Each is a module of this package with a COMMAND in it."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module

# --- What a command of growsim is.


@dataclass(frozen=True)
class Command:
    """One command: the question it answers in the planner's words, its arguments, and what it does.

    run: takes the parsed arguments, gives the exit code. Raises InputError for input that needs correcting, and
    Interrupted on Ctrl-C.
    """

    name: str
    question: str
    about: str
    add_arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


NAMES: tuple[str, ...] = (
    "check",
    "new",
    "rehearse",
    "compare",
    "keep",
    "crew",
    "outage",
    "sow",
    "learn",
    "promise",
    "sheet",
    "funder",
    "page",
)


def all_commands() -> tuple[Command, ...]:
    """Every command; their modules are light, whatever they come to import when they run."""
    return tuple(_command(name) for name in NAMES)


def _command(name: str) -> Command:
    command = import_module(f"growsim.cli.{name}").COMMAND
    assert isinstance(command, Command)
    return command
