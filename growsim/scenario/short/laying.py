"""Tables laid over tables: what is written over a profile, over what a group says, over what a rack brings along."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from typing import Any

from growsim.scenario.anatomy import anatomy_of, field_at
from growsim.scenario.scenario import Scenario

Keys = tuple[str, ...]  # into the models, without places in lists
Path = tuple[str | int, ...]
REMOVE = "remove"


def kind_at(keys: Keys) -> str:
    """What a key of the room file takes (see Anatomy), "" for a key there is none of. A rack's own reservoir and
    lights are looked up where they stand in the full file."""
    if keys[:2] == ("racks", "reservoir") and len(keys) > 2:
        keys = ("reservoirs", *keys[2:])
    elif keys[:2] == ("racks", "lights") and len(keys) > 2:
        keys = ("lights", *keys[2:])
    field = field_at(Scenario, keys)
    return anatomy_of(field).kind if field is not None else ""


def is_tables(value: Any) -> bool:
    """Whether it is a list of tables with something in it."""
    return isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)


def name_of(table: Any) -> str:
    """The name of an entry; "" where it has none."""
    name = table.get("name") if isinstance(table, dict) else None
    return name.strip() if isinstance(name, str) else ""


def laid(base: Any, over: Any, keys: Keys) -> Any:
    """What `over` says, and what it does not say from `base`; neither is touched.

    Tables go key by key. A list whose every name `base` knows changes those entries (`remove = true` takes one away);
    any other list, and any plain value or figure, replaces.
    """
    if isinstance(base, dict) and isinstance(over, dict) and kind_at(keys) != "figure":
        both = {key: copy.deepcopy(value) for key, value in base.items()}
        for key, value in over.items():
            both[key] = laid(base[key], value, (*keys, key)) if key in base else copy.deepcopy(value)
        return both
    if is_tables(base) and is_tables(over) and {name_of(each) for each in over} <= {name_of(each) for each in base}:
        given = {name_of(each): each for each in over}
        return [
            laid(each, given[name_of(each)], keys) if name_of(each) in given else copy.deepcopy(each)
            for each in base
            if given.get(name_of(each), {}).get(REMOVE) is not True
        ]
    return copy.deepcopy(over)


def leaves(value: Any, keys: Keys = (), path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Every figure, plain value and plain list below a table, with its path."""
    if isinstance(value, dict) and kind_at(keys) != "figure":
        for key, inner in value.items():
            yield from leaves(inner, (*keys, key), (*path, key))
    elif is_tables(value):
        for place, inner in enumerate(value):
            yield from leaves(inner, keys, (*path, place))
    else:
        yield path, value


def value_at(value: Any, path: Path) -> Any:
    """What stands at a path into nested tables; None where nothing does."""
    for step in path:
        try:
            value = value[step]
        except (KeyError, IndexError, TypeError):
            return None
    return value
