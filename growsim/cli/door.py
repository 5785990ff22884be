"""`main`: parse, run one command, and say plainly how it ended.

Exit codes: 0 done; 2 the input needs correcting (one sentence a fault, on stderr); 1 our fault; 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import argparse
import difflib
import os
import re
import shutil
import sys
import textwrap
from collections.abc import Mapping, Sequence
from types import MappingProxyType, ModuleType
from typing import NoReturn

from growsim.cli.arranging import arranged_for, told_to_its_reader
from growsim.cli.commands import add_arguments, module_of
from growsim.errors import InputError, Interrupted
from growsim.version import VERSION
from growsim.vocabulary.questions import COMMANDS

PAGE = "page"  # a question that is answered on top of the command line
NOTHING: Mapping[str, ModuleType] = MappingProxyType({})
DONE, OUR_FAULT, CORRECT_THE_INPUT, STOPPED = 0, 1, 2, 130
DEBUG = "GROWSIM_DEBUG"
ATTENDED = "GROWSIM_ATTENDED"  # see run.attended

_ABOUT = "A rehearsal room for a small indoor grow room: try out a year, many times over, before you live it."
_END = """ROOM is a folder with a room.toml in it, or a TOML file. `growsim COMMAND --help` says more.
Exit codes: 0 done, 2 the input needs correcting, 1 our fault, 130 stopped by Ctrl-C."""


class Parser(argparse.ArgumentParser):
    """A parser that refuses in one sentence."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong with the command line and stop with exit code 2."""
        print(f"{self.prog}: {_plainly(message)}; see `{self.prog} --help`.", file=sys.stderr)
        raise SystemExit(CORRECT_THE_INPUT)


class _Version(argparse.Action):
    """Tells the version when asked, and whether it runs as machine code."""

    def __call__(self, parser: argparse.ArgumentParser, *rest: object) -> NoReturn:
        from importlib.util import find_spec

        year = find_spec("growsim.room.lot")
        in_python = year is None or str(year.origin).endswith(".py")
        print(f"growsim {VERSION}, {'plain Python' if in_python else 'machine code'}")
        raise SystemExit(DONE)


def _plainly(message: str) -> str:
    """The parser's words in ours; a misspelled word gets the nearest right one."""
    wrong = re.match(r"argument COMMAND: invalid choice: '(.*?)' \(choose", message)
    if wrong:
        given = wrong.group(1)
        names = [question.name for question in COMMANDS]
        near = difflib.get_close_matches(given, names, n=1)
        return f"there is no command '{given}'; " + (
            f"did you mean `growsim {near[0]}`" if near else f"the commands are {', '.join(names)}"
        )
    message = message.replace("the following arguments are required:", "missing:")
    return message.replace("unrecognized arguments:", "not understood:").removeprefix("argument ")


def parser(on_top: Mapping[str, ModuleType] = NOTHING) -> Parser:
    """The whole command line, with every command. on_top: what answers those that this package does not, by name."""
    top = Parser(
        prog="growsim",
        description=_ABOUT,
        epilog=_END,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    top.add_argument("--version", action=_Version, nargs=0, help="show the version, and whether as machine code")
    below = top.add_subparsers(dest="command", metavar="COMMAND", title="commands", parser_class=Parser)
    for question in COMMANDS:
        if question.name == PAGE and PAGE not in on_top:
            continue
        module = on_top.get(question.name) or module_of(question)
        about = textwrap.fill(f"{question.about} {question.more}", shutil.get_terminal_size().columns - 2)
        own = below.add_parser(
            question.name,
            help=question.asks,
            description=f"{question.asks}\n\n{about}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        add_arguments(own, question, module)
        own.set_defaults(run=module.run)
    return top


def main(argv: Sequence[str] | None = None, on_top: Mapping[str, ModuleType] = NOTHING) -> int:
    """Run one command line; gives the exit code. on_top: as for `parser`."""
    _print_what_the_terminal_can()
    try:
        reader = parser(on_top)
        chosen = reader.parse_args(argv)
        if chosen.command is None:
            reader.print_help()
            return DONE
        if os.environ.get(ATTENDED):
            from growsim.run.progress import attend

            attend()
        with told_to_its_reader(chosen), arranged_for(chosen):
            code: int = chosen.run(chosen)
        sys.stdout.flush()
        return code
    except SystemExit as end:  # argparse: --help, --version, or a refused command line
        return end.code if isinstance(end.code, int) else DONE
    except InputError as refusal:
        print(refusal, file=sys.stderr)
        return CORRECT_THE_INPUT
    except (Interrupted, KeyboardInterrupt) as stop:
        print(str(stop) or "Stopped before the end; nothing was kept.", file=sys.stderr)
        return STOPPED
    except BrokenPipeError:  # whoever read our output has seen enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as fault:
        if os.environ.get(DEBUG) == "1":
            raise
        what = " ".join(str(fault).split()) or "no more is known"
        print(
            f"This is our fault, not yours: growsim met something unforeseen ({type(fault).__name__}: {what}); "
            f"run it again with {DEBUG}=1 to see where, and tell its developers.",
            file=sys.stderr,
        )
        return OUR_FAULT


def _print_what_the_terminal_can() -> None:
    """A terminal that cannot show '°' gets '?', not a crash."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")
