"""What a room file says of its own figures: which are in doubt, and where they come from."""

from __future__ import annotations

from collections.abc import Iterator

from growsim.spec.base import Table
from growsim.spec.uncertain import Uncertain


def figures_given(table: Table) -> Iterator[Uncertain]:
    """Every uncertain figure anywhere under a table of the room file."""
    for name in type(table).model_fields:
        value = getattr(table, name)
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Uncertain):
                yield each
            elif isinstance(each, Table):
                yield from figures_given(each)


def sources_given(table: Table) -> dict[str, None]:
    """Every source text under a table, each once, in order."""
    found: dict[str, None] = {}
    if table.source:
        found[table.source] = None
    for name in type(table).model_fields:
        value = getattr(table, name)
        for each in value if isinstance(value, tuple) else (value,):
            if isinstance(each, Table):
                found.update(sources_given(each))
    return found
