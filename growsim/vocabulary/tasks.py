"""The kinds of work a crew does: one row each, with all that is true of it.

A further task is a row here, the work in the room itself (growsim.room) and a test; nothing else lists tasks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from growsim.vocabulary.dangers import Danger

DUE_TODAY: Final = 0
"""Priority of what a partner collects today; every usual one comes after it."""
SheetRow = Literal["its own", "sowing", "crop", "shift"]


@dataclass(frozen=True, kw_only=True)
class TaskRow:
    """One kind of work.

    key: its name in room files, records and log books. unit, units: what it is counted in, one and many. done: what has
    then been done to them ("sown"). doing: the work going on ("sowing"). usual_minutes: for each unit, at a practiced
    pace; an example to begin from, no measurement (common practice, no source). turn: its priority where the room file
    says none (common practice, no source); is_for_partners: whether it comes before all others, as DUE_TODAY, for a
    crop that a partner collects later that day.

    On a week's sheet. says: the order, and in_short: the same for the wall, both with {amount} ("3 plants"), {mass},
    {lot}, {crops}, {crop}, {seeds}, {trays}, {stage}, {hoped}, {where}. says_of_tray: the order where a tray is sown
    and harvested whole, "" where it is the same. asks: what is written down after it. row: which
    tasks of the kind share a row. place: where it is done, "" for at the rack. dangers: cautioned of beside it.

    needed_as: why a room cannot do without it, "" where every room can (growsim.scenario.checks.crew says which).
    lot_waits: whether a lot stands still until it is done. waits: what its slot says meanwhile, "" where it says
    nothing. also: other words a record may use. luck: the name its random streams were born with; it stays when the
    task is called otherwise, and with it every number.
    """

    key: str
    unit: str
    units: str
    done: str
    doing: str
    usual_minutes: float
    turn: int
    says: str
    in_short: str
    asks: str
    is_for_partners: bool = False
    row: SheetRow = "its own"
    place: str = ""
    dangers: tuple[Danger, ...] = ()
    needed_as: str = ""
    lot_waits: bool = False
    waits: str = ""
    says_of_tray: str = ""
    also: tuple[str, ...] = ()
    luck: str

    @property
    def is_on_a_crop(self) -> bool:
        """Whether it is work on a lot of some crop, not on the room."""
        return self.unit != "reservoir"

    @property
    def each(self) -> str:
        """One unit of it: "cell sown"."""
        return f"{self.unit} {self.done}"

    @property
    def amounts(self) -> str:
        """Many: "cells sown"."""
        return f"{self.units} {self.done}"


def table_of(rows: Sequence[TaskRow]) -> dict[str, TaskRow]:
    """Rows by key, in order. Raises LookupError where two share a key, a word or the luck."""
    for what, said in (
        ("name", [word for row in rows for word in {row.key, row.doing, row.done, *row.also}]),
        ("luck", [row.luck for row in rows]),
    ):
        twice = sorted({word for word in said if said.count(word) > 1})
        if twice:
            raise LookupError(f"two tasks have the {what} '{twice[0]}'; give each its own")
    return {row.key: row for row in rows}


TASKS: Final = table_of(
    (
        TaskRow(
            key="sow",
            unit="cell",
            units="cells",
            done="sown",
            doing="sowing",
            usual_minutes=0.1,
            turn=5,
            says="Sow {amount} of {crop}, {seeds} in each",
            in_short="sow {crops}",
            asks="cells sown ____  seeds a cell ____",
            needed_as="crops are sown",
            lot_waits=True,
            waits="slot taken, seed not in yet",
            also=("seeding", "seeded"),
            luck="sow",
        ),
        TaskRow(
            key="thin",
            unit="seedling",
            units="seedlings",
            done="thinned",
            doing="thinning",
            usual_minutes=0.05,
            turn=6,
            says="Pull {number} extra seedlings of {lot}: one stays in each cell",
            in_short="thin",
            asks="pulled ____",
            row="sowing",
            needed_as="cells get more than one seed",
            luck="thin",
        ),
        TaskRow(
            key="transplant",
            unit="plant",
            units="plants",
            done="transplanted",
            doing="transplanting plants",
            usual_minutes=0.15,
            turn=4,
            says="Transplant {amount} of {lot}, into {trays} ({stage})",
            says_of_tray="Carry {amount} of {lot} on as they are ({stage}); nothing to wash",
            in_short="transplant {crops}",
            asks="transplanted ____  lost ____ why ________",
            row="sowing",
            dangers=("lifting", "glare"),
            needed_as="plants move from one stage to the next",
            lot_waits=True,
            waits="to be transplanted, waits for people",
            also=("transplanting",),
            luck="move",
        ),
        TaskRow(
            key="harvest",
            unit="plant",
            units="plants",
            done="harvested",
            doing="harvesting",
            usual_minutes=0.5,
            turn=3,
            is_for_partners=True,
            says="Harvest {amount} of {lot}{hoped}",
            in_short="harvest {crops}",
            asks="harvested ____  grams ______  lost ____ why ________",
            row="sowing",
            dangers=("food",),
            needed_as="crops are harvested",
            lot_waits=True,
            waits="to be harvested, waits for people",
            luck="cut",
        ),
        TaskRow(
            key="pack",
            unit="kg",
            units="kg",
            done="packed",
            doing="packing",
            usual_minutes=8.0,
            turn=3,
            is_for_partners=True,
            says="Pack {mass} of {crop} and put it into the cooler at once",
            in_short="pack",
            asks="kg ______",
            row="crop",
            place="cooler",
            dangers=("food",),
            needed_as="crops are harvested",
            luck="pack",
        ),
        TaskRow(
            key="wash",
            unit="tray",
            units="trays",
            done="washed",
            doing="washing trays",
            usual_minutes=4.0,
            turn=7,
            says="Wash {amount} and their shelves; then those slots are free",
            in_short="wash {amount}",
            asks="trays ____",
            row="shift",
            dangers=("sanitizer", "lifting"),
            needed_as="trays are used again",
            waits="emptied tray, to be washed",
            also=("washing", "clean", "cleaning"),
            luck="wash",
        ),
        TaskRow(
            key="top up",
            unit="reservoir",
            units="reservoirs",
            done="topped up",
            doing="topping up reservoirs",
            usual_minutes=10.0,
            turn=1,
            says="Check and fill {amount}; write down the strength and pH",
            in_short="fill the reservoirs",
            asks="strength (EC) before ____ after ____ mS/cm  pH ____",
            dangers=("water and power", "chemicals"),
            needed_as="a reservoir is topped up by hand",
            also=("topping up", "topup"),
            luck="top up",
        ),
        TaskRow(
            key="change solution",
            unit="reservoir",
            units="reservoirs",
            done="given new solution",
            doing="changing the solution",
            usual_minutes=60.0,
            turn=2,
            says="Empty, wash and fill {where}",
            in_short="change solution",
            asks="strength (EC) after ____ mS/cm  pH ____",
            dangers=("water and power", "sanitizer", "chemicals", "lifting"),
            needed_as="the solution of a reservoir is changed every so many weeks",
            also=("solution change", "changing solution"),
            luck="renew tub",
        ),
    )
)

USUAL_ORDER: Final = ", ".join(
    f"{turn} {' and '.join(row.key for row in TASKS.values() if row.turn == turn)}"
    for turn in sorted({row.turn for row in TASKS.values()})
)
"""The order of the day's work in words."""

if TYPE_CHECKING:
    TaskName = str
else:
    TaskName = Literal[tuple(TASKS)]

TASK_WORDS: Final = {word: row.key for row in TASKS.values() for word in (row.key, row.doing, row.done, *row.also)}
"""What a record may call a task -> its key."""
