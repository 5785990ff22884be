"""Everything growsim raises on purpose.

GrowsimError
├── InputError      the user's input needs correcting: exit code 2, one sentence a fault
│   ├── RoomFileError    a room file or a CHANGE file: which file and key, what is wrong, what would be right
│   └── OutputError      the output folder cannot be used
└── Interrupted     Ctrl-C: stopped cleanly, nothing half-written
"""

from __future__ import annotations

from dataclasses import dataclass


class GrowsimError(Exception):
    """Root of the tree; never raised itself."""


class InputError(GrowsimError):
    """The input needs correcting. `str()` gives one line for each fault."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong in a file, said in one sentence.

    file: path as the user gave it. key: dotted key, or "" for the whole file.
    problem: what is wrong. remedy: what would be right.
    """

    file: str
    key: str
    problem: str
    remedy: str

    def __str__(self) -> str:
        where = f"{self.file}, {self.key}" if self.key else self.file
        return f"{where}: {self.problem}; {self.remedy}."


class RoomFileError(InputError):
    """A room or CHANGE file has one or more faults. `faults` lists them all."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class OutputError(InputError):
    """The output folder exists already or cannot be written."""


class Interrupted(GrowsimError):  # noqa: N818  (no error: the user asked for it)
    """Stopped by Ctrl-C."""
