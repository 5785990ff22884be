"""What a first answer asks of a planner, and how much of it is theirs: one list and one count, for file and page.

All else of a room is usual or follows, until somebody says otherwise.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from growsim.scenario.origin import (
    INVENTED,
    USUAL,
    WORDS,
    YOURS,
    Path,
    RoomFigure,
    Whose,
    counted,
    is_invented,
    is_still_the_starters,
)
from growsim.scenario.starter import starter_text

Keys = tuple[str, ...]
SHIFT: Final = tuple(("crew", "shifts", key) for key in ("weekday", "start_hour", "hours", "people", "lead"))
ASKED: Final[tuple[Keys, ...]] = (
    ("room", "floor_area_m2"),
    ("room", "walls"),
    ("room", "weather"),
    ("climate", "like"),
    ("climate", "air_temperature_c"),
    ("racks", "count"),
    ("racks", "shelves", "count"),
    ("racks", "shelves", "slots"),
    ("crops",),
    *SHIFT,
    ("partners", "name"),
    ("partners", "weekday"),
    ("partners", "orders", "crop"),
    ("partners", "orders", "kg"),
    ("room", "start_date"),
    ("rehearsal", "start"),
    ("room", "closed_days"),
    ("prices", "electricity_per_kwh"),
)
"""In a room file as written: keys, without places in lists; of crops, which there are."""

_USUAL_WHERE_LEFT_OUT: Final[Collection[Keys]] = {
    ("climate", "air_temperature_c"),
    ("crew", "shifts", "lead"),
    ("rehearsal", "start"),
    ("room", "closed_days"),
    ("prices", "electricity_per_kwh"),
}


@dataclass(frozen=True)
class Count:
    """Answers of a room, or of a part of it. yours: of all that there are."""

    yours: int
    all: int

    @property
    def left(self) -> int:
        """Those still usual or invented."""
        return self.all - self.yours

    def __str__(self) -> str:
        return f"{self.yours} of {self.all} are yours"


def count_of(written: Mapping[str, Any]) -> Count:
    """How many of the figures asked for are the planner's. written: a room file's tables as they stand in it."""
    found = [whose for keys in ASKED for at in _places(written, keys) if (whose := whose_at(written, at))]
    return Count(found.count(YOURS), len(found))


def whose_at(written: Mapping[str, Any], at: Path) -> Whose | None:
    """Whose it is what stands there; None where nothing does and nothing usual takes its place."""
    if at == ("crops",):
        crops = value_of(written, at)
        named = [("crops", place, "name") for place in range(len(crops) if isinstance(crops, list) else 0)]
        return (INVENTED if any(invented_at(written, each) for each in named) else YOURS) if named else None
    if value_of(written, at) is None:
        return USUAL if _keys(at) in _USUAL_WHERE_LEFT_OUT else None
    return INVENTED if invented_at(written, at) else YOURS


def invented_at(written: Mapping[str, Any], at: Path) -> bool:
    """Whether what stands there is invented, or still the starter's."""
    return is_invented(source_at(written, at), str(at[-1]), is_the_starters=as_the_starter_has_it(written, at))


def as_the_starter_has_it(written: Mapping[str, Any], at: Path) -> bool:
    """Whether the file began from the starter and still says there what that does."""
    return is_still_the_starters(written, _starter(), at)


@lru_cache(maxsize=1)
def _starter() -> dict[str, Any]:
    return tomllib.loads(starter_text())


def source_at(written: Mapping[str, Any], at: Path) -> str:
    """What is said of where the figures come from, nearest to a place."""
    tables = [value_of(written, at[:length]) for length in range(1, len(at))]
    said = [str(each["source"]) for each in tables if isinstance(each, dict) and each.get("source")]
    return said[-1] if said else ""


def value_of(written: Mapping[str, Any], at: Path) -> Any:
    """What stands there; None where nothing does."""
    here: Any = written
    for step in at:
        if isinstance(step, int):
            here = here[step] if isinstance(here, list) and step < len(here) else None
        else:
            here = here.get(step) if isinstance(here, dict) else None
    return here


def _places(written: Mapping[str, Any], keys: Keys) -> Iterator[Path]:
    """Every place of the file that those keys lead to."""
    found: list[Path] = [()]
    for key in keys[:-1]:
        found = [
            (*inner, place) if place is not None else inner
            for inner in ((*at, key) for at in found)
            for place in _entries(value_of(written, inner))
        ]
    return (((*at, keys[-1])) for at in found)


def _entries(value: Any) -> Collection[int | None]:
    return range(len(value)) if isinstance(value, list) else (None,)


def _keys(at: Path) -> Keys:
    return tuple(step for step in at if isinstance(step, str))


def in_short(figures: Collection[RoomFigure], asked: Count | None) -> str:
    """Whose the figures of a room are, in one or two sentences: of those asked for, and of all others."""
    more = [each for each in figures if asked is None or _keys(each.path) not in ASKED]
    said = [f"Of the figures that a first answer asks for, {asked}."] if asked is not None else []
    of = [f"{number} {WORDS[whose]}" for whose, number in counted(more).items() if number]
    if of:
        listed = " and ".join([", ".join(of[:-1]), of[-1]]) if len(of) > 1 else of[0]
        said.append(f"The {len(more)} others: {listed}.")
    return " ".join(said)
