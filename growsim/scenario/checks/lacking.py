"""What a room cannot be rehearsed without: somebody who comes to work, and something that is sown.

A room file may lack either while it is being written, or because `growsim sow` shall find the plan; so it is no fault
of the file, and `check` says it as a warning. A rehearsal of it would be a page of zeros, and is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from growsim.errors import Fault, RoomFileError
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding

if TYPE_CHECKING:
    from growsim.scenario.load import LoadedRoom


def nobody_comes(scenario: Scenario) -> Iterator[Finding]:
    """No shift at all."""
    if not scenario.crew.shifts:
        yield (
            "crew.shifts",
            "nobody ever comes to work, so it cannot be rehearsed: nothing would be sown, harvested or handed out",
            "add a [[crew.shifts]]",
        )


def nothing_is_sown(scenario: Scenario) -> Iterator[Finding]:
    """No line of a sowing plan."""
    if not scenario.sowing:
        yield (
            "sowing",
            "nothing is ever sown, so it cannot be rehearsed: there would be nothing to harvest and hand out",
            "add a [[sowing]] line, or let `growsim sow` find a plan",
        )


def refuse_lacking(
    room: LoadedRoom, *, hands: bool = True, plan: bool = True, changed: Sequence[Scenario] = ()
) -> None:
    """Raise RoomFileError, one sentence for each thing lacking, where a rehearsal would be all zeros.

    hands, plan: whether somebody must come, and something be sown. changed: rooms compared with this one; if one of
    them has what this one lacks, there is something to tell.
    """

    def lacks(scenario: Scenario) -> list[Finding]:
        return [
            *(nobody_comes(scenario) if hands else ()),
            *(nothing_is_sown(scenario) if plan else ()),
        ]

    found = lacks(room.scenario)
    if found and all(lacks(each) for each in changed):
        raise RoomFileError([Fault(str(room.path), *each) for each in found])
