"""A watched replication as a file, days.jsonl: a line for the room, then a line for each day, all of it JSON.

One line a day, so that a day can be shown without reading the year.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.run.writing import write_text

if TYPE_CHECKING:
    from growsim.run.replay.day import Replay

FILE = "days.jsonl"


def lines(replay: Replay) -> Iterator[dict[str, Any]]:
    """The room with its shelves, then the days, dates as text; what is empty on a day is left out of that day."""
    yield {
        "room": replay.room,
        "seed": replay.seed,
        "replication": replay.replication,
        "hour": replay.hour,
        "first_date": replay.days[0].date.isoformat(),
        "days": len(replay.days),
        "shelves": [{**asdict(shelf), "label": shelf.label} for shelf in replay.shelves],
    }
    for seen in replay.days:
        day = asdict(seen)
        day["date"] = seen.date.isoformat()
        yield {key: value for key, value in day.items() if value not in ((), None)}


def write(replay: Replay, folder: Path) -> None:
    """days.jsonl into a folder."""
    text = "".join(json.dumps(line, ensure_ascii=False, separators=(",", ":")) + "\n" for line in lines(replay))
    write_text(folder / FILE, text)


def read_room(file: Path) -> dict[str, Any]:
    """The first line: the room, its shelves, and how many days follow."""
    with file.open(encoding="utf-8") as page:
        room: dict[str, Any] = json.loads(next(page))
    return room


def read_day(file: Path, day: int) -> dict[str, Any]:
    """One day, counted from 0. Raises StopIteration beyond the last."""
    with file.open(encoding="utf-8") as page:
        found: dict[str, Any] = json.loads(next(islice(page, day + 1, None)))
    return found
