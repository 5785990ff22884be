"""Whose each answer is: usual or invented until it is touched, then the planner's own; and how many are."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from growsim.scenario.origin import OURS, is_invented, same_in, with_own
from growsim.scenario.starter import starter_text
from growsim.web.walk.reading import Tables, all_fit, listed, place_of, value_of
from growsim.web.walk.steps import STEPS, Field, Path, Step


@dataclass(frozen=True)
class Count:
    """Answers of a room, or of a step. yours: of all that there are."""

    yours: int
    all: int

    @property
    def left(self) -> int:
        """Those still usual or invented."""
        return self.all - self.yours


def source_at(written: Mapping[str, Any], at: Path) -> str:
    """What is said of where the figures come from, nearest to a place."""
    tables = [value_of(written, at[:length]) for length in range(1, len(at))]
    said = [str(each["source"]) for each in tables if isinstance(each, dict) and each.get("source")]
    return said[-1] if said else ""


def whose(step: Step, field: Field, written: Mapping[str, Any]) -> str:
    """yours, usual or invented; '' for a row that is empty."""
    if field.kind == "crops":
        crops = listed(written, ("crops",))
        return "invented" if any(is_invented(str(each.get("source", "")), "name") for each in crops) else "yours"
    at = place_of(step, field, written)
    if at is None:
        return ""
    if value_of(written, at) is None:
        return "usual"
    return "invented" if _is_invented(written, at) else "yours"


def _is_invented(written: Mapping[str, Any], at: Path) -> bool:
    return is_invented(source_at(written, at), str(at[-1]), is_the_starters=_is_the_starters(written, at))


def _is_the_starters(written: Mapping[str, Any], at: Path) -> bool:
    return same_in(written, tomllib.loads(starter_text()), at)


def touch(step: Step, field: Field, tables: Tables) -> None:
    """From now on it is the planner's own."""
    if field.kind == "crops":
        for each in listed(tables, ("crops",)):
            each["source"] = OURS
        return
    at = place_of(step, field, tables)
    if at is not None:
        make_own(tables, at)


def make_own(tables: Tables, at: Path) -> None:
    """A figure of the file is the planner's own from now on."""
    holder, key, source = value_of(tables, at[:-1]), str(at[-1]), source_at(tables, at)
    if isinstance(holder, dict) and _is_invented(tables, at):
        inner = [k for k, v in holder.items() if isinstance(v, list) and v and isinstance(v[0], dict)]
        given = [k for k in holder if k not in ("note", *inner)]
        the_starters = [k for k in given if _is_the_starters(tables, (*at[:-1], k))]
        holder["source"] = with_own(source, key, given, the_starters)


def as_written(content: bytes) -> dict[str, Any]:
    """The tables of a room file as they stand in it; {} where it is no TOML."""
    try:
        return tomllib.loads(content.decode("utf-8").removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return {}


def count_of(step: Step, written: Mapping[str, Any]) -> Count:
    """How many answers of a step are yours; rows that stand empty are not counted."""
    marks = [mark for field in step.inputs() if (mark := whose(step, field, written))]
    return Count(marks.count("yours"), len(marks))


def count_of_all(content: bytes) -> Count | None:
    """The same of the whole room; None where the steps cannot show it all."""
    written = as_written(content)
    if not written or not all_fit(written):
        return None
    counts = [count_of(step, written) for step in STEPS]
    return Count(sum(each.yours for each in counts), sum(each.all for each in counts))
