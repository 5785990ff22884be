"""What a command of growsim is."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass


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
