"""`growsim ...` and `python -m growsim ...`: the commands of the command line, and the page on top of them."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from growsim.cli import main as command_line
from growsim.web import command as page


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command line; gives the exit code."""
    return command_line(argv, {"page": page})


if __name__ == "__main__":
    sys.exit(main())
