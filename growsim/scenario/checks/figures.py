"""Figures by themselves: those that can be but are hardly meant, and those that mean more than they say.

Plausible ranges stand with the definition of a key. They are common practice and wide, no source; each says its reason.
They ask, they do not refuse.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from growsim.scenario.anatomy import Anatomy, anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.quantities import slip
from growsim.scenario.reading import dotted
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.scenario.wording import Finding, listing
from growsim.units import with_unit

_LIFE = "running_hours_to_failure"
_MOST_LIVES = 4
_NO_UNIT = ("", "-", "fraction")


def figures_are_plausible(scenario: Scenario) -> Iterator[Finding]:
    """Warning: a figure far from any that such a room has."""
    yield from _of_table(scenario, "")


def _of_table(table: Table, key: str) -> Iterator[Finding]:
    for name, field in type(table).model_fields.items():
        value, here = getattr(table, name), f"{key}.{name}" if key else name
        what = anatomy_of(field)
        if isinstance(value, Uncertain) or what.kind in ("number", "whole number"):
            yield from _of_figure(what, value, here)
        elif isinstance(value, Table):
            yield from _of_table(value, here)
        elif what.kind == "tables":
            for place, entry in enumerate(value, start=1):
                called = getattr(entry, "name", None) or getattr(entry, "crop", None) or f"entry {place}"
                yield from _of_table(entry, f"{here}.{called}")


def _of_figure(what: Anatomy, value: Any, key: str) -> Iterator[Finding]:
    number = value.expected() if isinstance(value, Uncertain) else value
    if what.plausible is None or number is None:
        return
    low, high, why = what.plausible
    if low <= number <= high:
        return
    told = (lambda words: words) if what.unit in _NO_UNIT else (lambda words: with_unit(words, what.unit))
    ends = told(f"between {low:g} and {high:g}" if low > 0 else f"up to {high:g}")
    own = re.escape(what.unit)
    why = re.sub(rf"(\d[\d.]*(?: to [\d.]+)?) {own}(?!\w)", lambda found: told(found[1]), why) if own else why
    meant = slip(number, what.unit, low, high)
    yield (
        key,
        f"is {told(f'{number:.6g}')}, far from what such rooms have: {why}",
        f"{f'{meant}; ' if meant else ''}give a figure {ends}, or leave it if it is meant",
    )


def plain_lives(raw: Mapping[str, Any]) -> str:
    """What a plain number of running hours to failure is taken for, and where there is one; '' where there is none."""
    found = [dotted(raw, path[:-1]).removesuffix(".reliability") for path in _plain(raw, ())]
    if not found:
        return ""
    return (
        f"Lives: running hours to failure given as a plain number ({_named(found)}) are taken as the mean of a life "
        f"without memory. An old machine fails as readily as a new one, two of three before that mean. For wear give "
        f'{_LIFE} = {{ distribution = "weibull", mean = ..., shape = 3 }}; for a life known for certain '
        '{ distribution = "fixed", value = ... }.'
    )


def _plain(value: Any, path: tuple[str | int, ...]) -> Iterator[tuple[str | int, ...]]:
    entries = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, inner in entries:
        if step == _LIFE and isinstance(inner, (int, float)) and not isinstance(inner, bool):
            yield (*path, step)
        else:
            yield from _plain(inner, (*path, step))


def _named(keys: list[str]) -> str:
    more = len(keys) - _MOST_LIVES
    return listing(keys).replace(" or ", " and ") if more <= 0 else f"{', '.join(keys[:_MOST_LIVES])} and {more} more"
