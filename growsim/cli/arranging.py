"""Around every command that rehearses: whose hands do it (`--scheduler`), and the drawer of finished years.

Light: whatever is needed is imported where a command has these options.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING

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
    if "scheduler" not in chosen:
        yield
        return
    from growsim.run.cluster import cluster
    from growsim.run.drawer import Drawer, arranged, usual_place
    from growsim.run.rehearsers import workers_kept

    with ExitStack() as stack:
        executor = stack.enter_context(cluster(chosen.scheduler)) if chosen.scheduler else None
        place = usual_place()
        drawer = Drawer(place) if place is not None else None
        stack.enter_context(arranged(executor, drawer))
        stack.enter_context(workers_kept())
        try:
            yield
        except (Interrupted, KeyboardInterrupt) as stop:
            years = _kept_in(drawer)
            if not years:
                raise
            kept = "One finished year is" if years == 1 else f"{years} finished years are"
            raise Interrupted(
                f"Stopped before the end; no report was written. {kept} kept: the same command goes on from there."
            ) from stop
        finally:
            _kept_in(drawer)


def _kept_in(drawer: Drawer | None) -> int:
    """The years of this command that need not be simulated again."""
    if drawer is None:
        return 0
    drawer.lay_in()
    return drawer.kept + drawer.taken
