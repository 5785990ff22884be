"""The commands, in the order a planner meets them. Each is a module of this package with a COMMAND in it."""

from __future__ import annotations

from importlib import import_module

from growsim.cli.command import Command

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
