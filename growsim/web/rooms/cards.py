"""The first page's cards: each room by the name its planner gives it, its plan, whose its figures are, its last answer.

Nothing is checked or prepared here: fifty rooms must show at once.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from growsim.errors import InputError
from growsim.scenario import reading
from growsim.scenario.short.expand import expand
from growsim.web.folder import Folder, RoomFolder
from growsim.web.forms.entries import table_at
from growsim.web.rooms.plan import Plan, plan_of
from growsim.web.runs import record
from growsim.web.runs.record import Run
from growsim.web.walk.marks import Count, count_of_all

MOST_RACKS = 4  # drawn on a card
_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True)
class Card:
    """A room at a glance. called: by its planner, else its folder's name. count: of its figures whose they are; None
    where the steps cannot show it all. last: its newest answer, None before the first.
    """

    room: RoomFolder
    called: str
    plan: Plan | None
    count: Count | None
    last: Run | None

    @property
    def more_racks(self) -> int:
        """Racks that are not drawn."""
        return max(0, len(self.plan.racks) - MOST_RACKS) if self.plan is not None else 0


def cards_of(folder: Folder) -> list[Card]:
    """Every room of the folder, in the order in which people count: "rack 9" before "rack 10"."""
    return sorted((_card(room) for room in folder.rooms()), key=lambda card: natural(card.called))


def natural(text: str) -> tuple[tuple[int, int | str], ...]:
    """By what one sorts as people do: numbers by their size, all else by its letters."""
    return tuple((0, int(part)) if part.isdigit() else (1, part.casefold()) for part in _DIGITS.split(text) if part)


def _card(room: RoomFolder) -> Card:
    last = next((run for run in record.runs_of(room) if run.state == record.DONE), None)
    try:
        content = reading.whole_file(room.file)
        tables = _tables(content)
    except InputError:
        return Card(room, room.title, None, None, last)
    name = table_at(tables, ("room",)).get("name")
    called = name.strip() if isinstance(name, str) and name.strip() else room.title
    return Card(room, called, plan_of(tables), count_of_all(content), last)


@lru_cache(maxsize=128)
def _tables(content: bytes) -> dict[str, Any]:
    """A room's tables, written out in full. Raises InputError where it cannot be read."""
    return expand(reading.tables_of(Path("room.toml"), content)).tables
