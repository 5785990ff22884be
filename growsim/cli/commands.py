"""The commands: for each question of the vocabulary that has one, the module of this package that answers it.

Such a module has `arguments`, which adds the options that are its own, and `run`, which gives the exit code. `run`
raises InputError for input that needs correcting, and Interrupted on Ctrl-C. The modules are light, whatever they come
to import when they run. The page, which stands on top of the command line, brings a module of its own
(see `growsim.__main__`).
"""

from __future__ import annotations

import argparse
from importlib import import_module
from types import ModuleType

from growsim.cli import options
from growsim.vocabulary.questions import Question


def module_of(question: Question) -> ModuleType:
    """What answers a question. Raises LookupError where it has no command."""
    name = f"{__package__}.{question.name}"
    try:
        return import_module(name)
    except ModuleNotFoundError as missing:
        if missing.name != name:
            raise
        raise LookupError(f"growsim/cli/{question.name}.py is missing: the question has no command.") from None


def add_arguments(parser: argparse.ArgumentParser, question: Question, module: ModuleType | None = None) -> None:
    """Everything a question can be given: its files, what is its own, and what all of its kind have.

    module: what answers it, where that is not of this package.
    """
    options.add_files(parser, question)
    (module or module_of(question)).arguments(parser)
    if question.years is not None:
        options.add_years(parser, question.years)
    if question.has_report:
        options.add_out(parser, question.name)
    if "room" in question.needs:
        options.add_json(parser)
