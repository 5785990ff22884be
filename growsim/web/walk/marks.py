"""Whose each answer of the steps is: usual or invented until it is touched, then the planner's own."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from growsim.scenario.asked import Count, as_the_starter_has_it, invented_at, source_at, value_of, whose_at
from growsim.scenario.origin import OURS, YOURS, with_own
from growsim.web.walk.reading import Tables, listed, place_of
from growsim.web.walk.steps import Field, Path, Step

CROPS_OURS = f"name, like: {OURS}"


def whose(step: Step, field: Field, written: Mapping[str, Any]) -> str:
    """yours, usual or invented; '' for a row that is empty."""
    at = place_of(step, field, written)
    return (whose_at(written, at) or "") if at is not None else ""


def touch(step: Step, field: Field, tables: Tables) -> None:
    """From now on it is the planner's own."""
    if field.kind == "crops":
        for each in listed(tables, ("crops",)):
            each["source"] = CROPS_OURS
        return
    at = place_of(step, field, tables)
    if at is not None:
        make_own(tables, at)


def make_own(tables: Tables, at: Path) -> None:
    """A figure of the file is the planner's own from now on."""
    holder, key, source = value_of(tables, at[:-1]), str(at[-1]), source_at(tables, at)
    if isinstance(holder, dict) and invented_at(tables, at):
        inner = [k for k, v in holder.items() if isinstance(v, list) and v and isinstance(v[0], dict)]
        given = [k for k in holder if k not in ("note", *inner)]
        the_starters = [k for k in given if as_the_starter_has_it(tables, (*at[:-1], k))]
        holder["source"] = with_own(source, key, given, the_starters)


def as_written(content: bytes) -> dict[str, Any]:
    """The tables of a room file as they stand in it; {} where it is no TOML."""
    try:
        return tomllib.loads(content.decode("utf-8").removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return {}


def count_of_step(step: Step, written: Mapping[str, Any]) -> Count:
    """How many answers of a step are yours; rows that stand empty are not counted, a partner of two orders once."""
    places = dict.fromkeys(at for field in step.inputs() if (at := place_of(step, field, written)) is not None)
    marks = [mark for at in places if (mark := whose_at(written, at))]
    return Count(marks.count(YOURS), len(marks))
