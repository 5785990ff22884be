"""The first page's cards: each room by the name its planner gives it, its plan, whose its figures are, its last answer.

Nothing is checked or prepared here: fifty rooms must show at once.
"""

from __future__ import annotations

import re
import time
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from markupsafe import Markup

from growsim.errors import InputError
from growsim.scenario import reading
from growsim.scenario.asked import Count, count_of
from growsim.scenario.short.expand import expand
from growsim.web.folder import Folder, RoomFolder
from growsim.web.forms.entries import table_at
from growsim.web.rooms.plan import Plan, plan_of
from growsim.web.runs import record
from growsim.web.runs.record import Run
from growsim.web.shelves import Shelf, Standing, codes_of, color_of, racks_of
from growsim.web.walk.reading import as_written

MOST_RACKS = 4  # drawn on a card
NEW_SECONDS = 7 * 86_400.0
SCHEMA_FILE = "room.schema.json"
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
    """Every room of the folder: those made in the last week first, the newest on top, then the others in the order in
    which people count, "rack 9" before "rack 10"."""
    made = {room.name: _made(room) for room in folder.rooms()}
    since = time.time() - NEW_SECONDS
    cards = sorted((_card(room) for room in folder.rooms()), key=lambda card: natural(card.called))
    return sorted(cards, key=lambda card: -made[card.room.name] if made[card.room.name] > since else 0.0)


def _made(room: RoomFolder) -> float:
    """When a room was made, from the file that is written beside it then; 0 where it lies there without one."""
    try:
        return (room.home / SCHEMA_FILE).stat().st_mtime
    except OSError:
        return 0.0


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
    return Card(room, called, plan_of(tables), count_of(as_written(content)), last)


def first_picture() -> list[tuple[str, Markup]]:
    """What growsim does, on three days of a made-up rack: words and shelves."""
    shelves = (Shelf("", "top shelf", 4), Shelf("", "lower shelf", 4))
    crops = ("lettuce", "basil")
    days = (
        ("A year begins: Monday, sowing.", "sown sown sown sown - - - -"),
        ("Four weeks on: Thursday, harvest.", "12~d 12~d 12~d - ripe ripe 26~d 26~d"),
        ("A pump fails on a Sunday; nobody is there until Tuesday.", "5~d 5~d sown - dead dead 19~d 19~d"),
    )
    letters, drawn = codes_of(crops), []
    for words, states in days:
        standing = {
            (place // 4, place % 4): Standing(
                "c-wash" if state == "dead" else color_of(crops, crops[place % 4 // 2]),
                letters[crops[place % 4 // 2]], state.replace("~", " "), state == "ripe",
            )
            for place, state in enumerate(states.split()) if state != "-"
        }  # fmt: skip
        drawn.append((words, racks_of(shelves, standing, lambda *_, words=words: words)[0].svg))
    return drawn


@lru_cache(maxsize=128)
def _tables(content: bytes) -> dict[str, Any]:
    """A room's tables, written out in full. Raises InputError where it cannot be read."""
    return expand(reading.tables_of(Path("room.toml"), content)).tables
