"""Tables back to TOML, for CHANGE files that growsim writes itself. `tomllib` reads back what was meant."""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator, Mapping
from typing import Any


def toml_text(tables: Mapping[str, Any]) -> str:
    """TOML of nested tables, lists of tables and plain values. Raises TypeError for anything else."""
    return "\n".join(_lines(tables, ())).strip("\n") + "\n"


def _lines(table: Mapping[str, Any], at: tuple[str, ...]) -> Iterator[str]:
    """Plain values first, then tables and lists of tables under headings of their own."""
    for key, value in table.items():
        if not isinstance(value, Mapping) and not _is_tables(value):
            yield f"{_key(key)} = {_value(value)}"
    for key, value in table.items():
        here = (*at, key)
        dotted = ".".join(_key(step) for step in here)
        if isinstance(value, Mapping):
            if not value or any(not isinstance(inner, Mapping) and not _is_tables(inner) for inner in value.values()):
                yield from ("", f"[{dotted}]")
            yield from _lines(value, here)
        elif _is_tables(value):
            for entry in value:
                yield from ("", f"[[{dotted}]]")
                yield from _lines(entry, here)


def _is_tables(value: Any) -> bool:
    return isinstance(value, (list, tuple)) and bool(value) and all(isinstance(each, Mapping) for each in value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _string(key)


def _string(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
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
