"""One replication as somebody would see it who looked in once a day: frozen, plain data.

The room file knows shelves that are alike as one group; which of them a tray stands on, and in which slot, is drawn so
that a tray stays where it is for as long as it stands there.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from growsim.vocabulary.tasks import TASKS

STATES = {
    "seed": "sown, not up yet",
    "growing": "growing, so many days since sowing",
    "dead": "nothing living left",
    "kept": "slot kept for plants on their way",
    **{f"to {row.key}": row.waits for row in TASKS.values() if row.waits},
}
"""What a slot that is not free holds, and what that means. dead: not cleared away yet."""


@dataclass(frozen=True)
class ShelfHere:
    """A shelf. number: which of the `of` like shelves of its group, from 1. stages: that may stand on it."""

    rack: str
    group: str
    number: int
    of: int
    slots: int
    stages: tuple[str, ...]

    @property
    def label(self) -> str:
        """What to call it: its name, with a number where there are several."""
        return f"{self.group} {self.number}" if self.of > 1 else self.group


@dataclass(frozen=True)
class TraysHere:
    """Trays of one lot on one shelf. shelf: index into Replay.shelves. slots: counted from 0 on that shelf.

    lot and crop are "" where state is "kept". plants: living plants (cells with seed, while nothing is up) of the whole
    lot's stand, of which these trays may be a part; stand_trays: trays of that stand. days: since its sowing, 0 for
    what is not sown.
    """

    shelf: int
    slots: tuple[int, ...]
    state: str
    stage: str
    lot: str = ""
    crop: str = ""
    plants: int = 0
    stand_trays: int = 0
    days: int = 0


@dataclass(frozen=True)
class ShiftThatDay:
    """A shift that was held. worked_minutes: person-minutes of work, of which present_minutes there were."""

    shift: str
    signed_up: int
    came: int
    in_room: int
    lead: bool
    present_minutes: int
    worked_minutes: int


@dataclass(frozen=True)
class WorkThatDay:
    """Work of one kind: by how many people, person-minutes, jobs finished, and how many of those late."""

    task: str
    people: int
    minutes: int
    jobs: int
    late: int


@dataclass(frozen=True)
class WaitingWork:
    """Jobs nobody has finished at the hour of looking, and how many of those are late by then."""

    task: str
    jobs: int
    late: int


@dataclass(frozen=True)
class DownThatDay:
    """A machine that was down for some of the day. Minutes count from the day's midnight, cut off to 0..1440.

    noticed: by whom, if by the end of the day anybody has ("alarm", "walk-through", or "").
    """

    machine: str
    where: str
    from_minute: int
    until_minute: int
    noticed: str


@dataclass(frozen=True)
class CropAmount:
    """So much of something: a crop, what became of it, how many plants (or seeds) and how many grams."""

    crop: str
    what: str
    plants: int
    grams: int = 0


@dataclass(frozen=True)
class OrderThatDay:
    """A partner's order at a pick-up."""

    partner: str
    crop: str
    grams_ordered: int
    grams_given: int


@dataclass(frozen=True)
class DayHere:
    """One day. trays and waiting as of the hour of looking; all else of the whole day from midnight to midnight."""

    day: int
    date: dt.date
    closed: bool
    trays: tuple[TraysHere, ...]
    waiting: tuple[WaitingWork, ...]
    shifts: tuple[ShiftThatDay, ...]
    work: tuple[WorkThatDay, ...]
    down: tuple[DownThatDay, ...]
    floods_missed: tuple[tuple[str, str, int], ...]
    warmest_c: float | None
    sown: tuple[CropAmount, ...]
    harvested: tuple[CropAmount, ...]
    lost: tuple[CropAmount, ...]
    handed_out_grams: int
    wasted_grams: int
    orders: tuple[OrderThatDay, ...]


@dataclass(frozen=True)
class Replay:
    """A replication, day by day. hour: of the day, at which the shelves were looked at."""

    room: str
    seed: int
    replication: int
    hour: float
    shelves: tuple[ShelfHere, ...]
    days: tuple[DayHere, ...]
