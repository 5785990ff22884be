"""Where each figure of a room comes from: the planner's own, a usual value, or invented. Decides nothing."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from growsim.scenario.anatomy import Anatomy, anatomy_of, plain_number
from growsim.scenario.base import Table
from growsim.scenario.reading import dotted
from growsim.scenario.scenario import Scenario
from growsim.scenario.starter import starter_tables
from growsim.scenario.uncertain import NEEDS, Uncertain

Path = tuple[str | int, ...]
Whose = Literal["yours", "usual", "invented"]
YOURS: Final = "yours"
USUAL: Final = "usual"
INVENTED: Final = "invented"
BEGUN = "Begun from growsim's invented starter"  # so a file's `about` begins that was
WORDS: dict[str, str] = {YOURS: "yours", USUAL: "usual values", INVENTED: "invented or still the starter's"}
DEFAULT_SOURCE = "growsim's default (common practice, no source)"
OURS = "ours"
_FIGURES = ("figure", "number", "whole number", "numbers", "whole numbers")


@dataclass(frozen=True)
class RoomFigure:
    """One figure of a room.

    path: into its tables. key: as a reader knows it. value: as a text. whose: `yours` where the file gives it,
    `usual` where it comes from a profile or a default, `invented` where the file says so, or where a file that began
    from the starter still has what that has and nobody has named it as their own. source: "" where none is named.
    """

    path: Path
    key: str
    value: str
    unit: str
    whose: str
    source: str


def figures_of(scenario: Scenario, raw: Mapping[str, Any], usual: Mapping[Path, str]) -> tuple[RoomFigure, ...]:
    """Every figure of a room, top-down. raw: its tables in full. usual: path of each usual value -> its source."""
    return tuple(_below(scenario, raw, (), "", dict(raw), usual))


def _below(
    table: Table, given: Any, path: Path, source: str, raw: dict[str, Any], usual: Mapping[Path, str]
) -> Iterator[RoomFigure]:
    """given: the table as the file has it; source: what the tables around it say of theirs."""
    given, starter = given if isinstance(given, dict) else {}, starter_tables()
    source = str(given.get("source", "") or source)
    for key, field in type(table).model_fields.items():
        what, value = anatomy_of(field), getattr(table, key)
        here = (*path, key)
        if isinstance(value, Table) and not isinstance(value, Uncertain):
            yield from _below(value, given.get(key), here, source, raw, usual)
        elif what.kind == "tables":
            entries = given.get(key) if isinstance(given.get(key), (list, tuple)) else ()
            for place, (inner, told) in enumerate(zip(value, entries or [{}] * len(value), strict=False)):
                yield from _below(inner, told, (*here, place), source, raw, usual)
        elif what.kind in _FIGURES and value not in (None, ()):
            whose, named = _whose(
                given.get(key), here, source, usual, is_the_starters=is_still_the_starters(raw, starter, here)
            )
            yield RoomFigure(here, dotted(raw, here), _text(value), _unit(what), whose, named)


def _whose(
    given: Any, path: Path, source: str, usual: Mapping[Path, str], *, is_the_starters: bool
) -> tuple[Whose, str]:
    if given is None:
        return "usual", DEFAULT_SOURCE
    if path in usual:
        return "usual", usual[path]
    named = str(given.get("source") or source) if isinstance(given, dict) else source
    return ("invented" if is_invented(named, str(path[-1]), is_the_starters=is_the_starters) else "yours"), named


def is_invented(source: str, key: str, *, is_the_starters: bool = False) -> bool:
    """Whether a figure of a table is invented, by its source: "invented" says all are, "invented: height_m" that one.

    is_the_starters: its value is still the starter's; then no word alone makes it the planner's own, since one word put
    in place of another would: its name does, as in "height_m, doors: ours".
    """
    for head, tail in _clauses(source):
        if head.lower().startswith(INVENTED):
            named = _keys(tail)
            return not named or key in named
    return is_the_starters and not any(key in _keys(head) for head, tail in _clauses(source) if tail == OURS)


def with_own(source: str, key: str, keys: Iterable[str], the_starters: Collection[str] = ()) -> str:
    """What a table's source says once this figure is the planner's own. keys: all that the table gives; the_starters:
    those whose value is still the starter's."""
    given = [each for each in keys if each not in ("source", "name")]
    left = [each for each in given if each != key and is_invented(source, each, is_the_starters=each in the_starters)]
    if left:
        return f"{INVENTED}: {', '.join(left)}"
    named = [each for each in given if each in the_starters]
    return f"{', '.join(named)}: {OURS}" if named else OURS


def _clauses(source: str) -> Iterator[tuple[str, str]]:
    """Each "head: tail" of a source."""
    for clause in source.split(";"):
        head, _, tail = clause.partition(":")
        yield head.strip(), tail.strip()


def _keys(listed: str) -> list[str]:
    """The keys named in a list of them; [] where words stand there."""
    keys = [each.strip() for each in listed.split(",")]
    return keys if all(re.fullmatch(r"[a-z][a-z0-9_]*", each) for each in keys) else []


def is_still_the_starters(tables: Mapping[str, Any], starter: Mapping[str, Any], path: Path) -> bool:
    """Whether a room that began from the starter still has the starter's value there."""
    return str(tables.get("about", "")).startswith(BEGUN) and same_in(tables, starter, path)


def same_in(tables: Any, others: Any, path: Path) -> bool:
    """Whether both have the same value at a path; entries of a list are the same by name, orders by crop."""
    for step in path:
        tables = _entry(tables, step)
        if isinstance(step, int):
            named = _called(tables)
            listed = others if isinstance(others, (list, tuple)) else ()
            others = next((each for each in listed if named and _called(each) == named), None)
        else:
            others = _entry(others, step)
        if tables is None or others is None:
            return False
    return bool(tables == others)


def _entry(holder: Any, step: str | int) -> Any:
    if isinstance(step, int):
        return holder[step] if isinstance(holder, (list, tuple)) and step < len(holder) else None
    return holder.get(step) if isinstance(holder, dict) else None


def _called(entry: Any) -> Any:
    return (entry.get("name") or entry.get("crop")) if isinstance(entry, dict) else None


def _text(value: Any) -> str:
    if isinstance(value, Uncertain):
        return " / ".join(plain_number(getattr(value, key)) for key in NEEDS[value.distribution])
    if isinstance(value, tuple):
        return ", ".join(plain_number(each) for each in value)
    return plain_number(value)


def _unit(what: Anatomy) -> str:
    return "" if what.unit == "-" else what.unit


def counted(figures: Iterable[RoomFigure]) -> dict[str, int]:
    """How many are whose."""
    found = Counter(each.whose for each in figures)
    return {whose: found[whose] for whose in (YOURS, USUAL, INVENTED)}
