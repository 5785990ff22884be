"""Around every command that rehearses: whose hands do it (`--scheduler`), what is kept if it is stopped (`--resume`).

Light: whatever is needed is imported where a command has these options.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING

from growsim.cli.options import out_folder
from growsim.errors import Interrupted

if TYPE_CHECKING:
    from growsim.run.drawer import Drawer


@contextmanager
def told_to_its_reader(chosen: argparse.Namespace) -> Iterator[None]:
    """What the command says is said in the units, and with the dates, of the room it is about."""
    if "room" not in chosen:
        yield
        return
    from growsim.scenario.load import told_as_in

    with told_as_in(chosen.room):
        yield


@contextmanager
def arranged_for(chosen: argparse.Namespace) -> Iterator[None]:
    """What the command line arranges, for the block in which the command runs.

    Raises InputError for a scheduler that is none, Interrupted with a sentence that says what is kept.
    """
    if "resume" not in chosen:
        yield
        return
    from growsim.run.cluster import cluster
    from growsim.run.drawer import arranged
    from growsim.run.progress import progress_file

    with ExitStack() as stack:
        executor = stack.enter_context(cluster(chosen.scheduler)) if chosen.scheduler else None
        if progress_file() is not None and not chosen.resume:  # nobody would come back for what another program stops
            stack.enter_context(arranged(executor))
            yield
            return
        drawer = _drawer(chosen)
        stack.enter_context(arranged(executor, drawer))
        try:
            yield
        except (Interrupted, KeyboardInterrupt) as stop:
            years = drawer.stopped()
            if not years:
                raise
            raise Interrupted(
                f"Stopped before the end; no report was written. {_years(years, 'is', 'are')} kept: the same command "
                "with --resume goes on from there."
            ) from stop
        except BaseException:
            years = drawer.stopped()
            if years:
                _say(f"{_years(years, 'is', 'are')} kept: the same command with --resume goes on from there.")
            raise
        drawer.clear()
        if drawer.taken:
            _say(f"{_years(drawer.taken, 'was', 'were')} there from before, and not lived through again.")
        elif drawer.is_of_use:
            _say(
                f"{drawer.folder}: none of the years kept there is of this room, seed, plan and growsim; none was used."
            )


def _drawer(chosen: argparse.Namespace) -> Drawer:
    from growsim.run.drawer import Drawer, drawer_beside, waiting_in

    folder = drawer_beside(out_folder(chosen.out, chosen.room, chosen.command))
    if not chosen.resume and waiting_in(folder):
        _say(f"{folder}: years of a study that was stopped are kept there; --resume would go on from them.")
    drawer = Drawer(folder, resume=chosen.resume, say=_say)
    if chosen.resume and not drawer.is_of_use:
        _say(f"{folder}: no finished years are kept there, so this study starts from the beginning.")
    return drawer


def _say(sentence: str) -> None:
    print(sentence, file=sys.stderr)


def _years(number: int, one: str, many: str) -> str:
    return f"One finished year {one}" if number == 1 else f"{number} finished years {many}"
