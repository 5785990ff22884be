"""Tables back to TOML, for what growsim writes itself. `tomllib` reads back what was meant."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any

from growsim.scenario.toml.lines import Path
from growsim.scenario.uncertain import NEEDS

_FIGURE_KEYS = {
    "distribution",
    "value",
    "source",
    "at_least",
    "at_most",
    *(key for keys in NEEDS.values() for key in keys),
}


def toml_text(tables: Mapping[str, Any]) -> str:
    """TOML of nested tables, lists of tables and plain values. Raises TypeError for anything else."""
    return "\n".join(_lines((), tables)).strip("\n") + "\n"


def entry_lines(path: Path, table: Mapping[str, Any]) -> Iterator[str]:
    """A new entry of a list of tables, with what is in it. Raises TypeError for what has no TOML."""
    yield f"[[{name_text(path)}]]"
    yield from _lines(path, table)


def _lines(at: Path, table: Mapping[str, Any]) -> Iterator[str]:
    """Plain values and figures first, each on its line, then tables under headings of their own."""
    headed = {key for key, value in table.items() if _has_a_heading(value)}
    for key, value in table.items():
        if key not in headed:
            yield f"{_key(key)} = {long_value_text(value)}"
    for key in (key for key in table if key in headed):
        value, here = table[key], (*at, key)
        if isinstance(value, Mapping):
            if not value or not all(_has_a_heading(inner) for inner in value.values()):
                yield from ("", f"[{name_text(here)}]")
            yield from _lines(here, value)
        else:
            for entry in value:
                yield ""
                yield from entry_lines(here, entry)


def _has_a_heading(value: Any) -> bool:
    """Whether it stands under [a heading] of its own: a table that is no figure, or a list of such."""
    if isinstance(value, Mapping):
        return not (value.keys() <= _FIGURE_KEYS and value.keys() & {"value", "low", "distribution"})
    return (
        isinstance(value, (list, tuple))
        and bool(value)
        and all(isinstance(each, Mapping) and _has_a_heading(each) for each in value)
    )


def name_text(path: Path) -> str:
    """The name in a heading; places in lists are left out."""
    return ".".join(_key(step) for step in path if isinstance(step, str))


def long_value_text(value: Any) -> str:
    """A value; a list of tables takes a line for each."""
    if isinstance(value, (list, tuple)) and value and all(isinstance(each, Mapping) for each in value):
        return "[\n" + "".join(f"  {_value(each)},\n" for each in value) + "]"
    return _value(value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _string(key)


def _string(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):  # and numpy's: its own repr is no TOML
        return int.__repr__(value) if isinstance(value, int) else float.__repr__(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, str):
        return _string(value)
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(_value(each) for each in value)}]"
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{_key(key)} = {_value(inner)}' for key, inner in value.items())} }}"
    raise TypeError(f"{type(value).__name__} has no TOML")


def value_text(value: Any) -> str:
    """One value as TOML writes it after `key =`; tables stand in braces. Raises TypeError for anything else."""
    return _value(value)


def key_text(key: str) -> str:
    """A key as TOML writes it, in quotes where it needs them."""
    return _key(key)
