"""A CHANGE file as text: TOML that a person can read and `spec.change` loads."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from typing import Any

_FIGURE = ("distribution", "value", "low", "likely", "high")


def change_text(tables: Mapping[str, Any], remarks: tuple[str, ...] = ()) -> str:
    """The file: remarks first, then every table under its heading; an uncertain figure stays on one line."""
    lines = [*(f"# {line}" for remark in remarks for line in remark.splitlines()), ""]
    lines += _table(tables, ())
    return "\n".join(lines).strip() + "\n"


def _table(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    """Plain keys, then the tables inside."""
    inner = {key: value for key, value in table.items() if _is_table(value) or _is_tables(value)}
    for key, value in table.items():
        if key not in inner:
            yield f"{_key(key)} = {_value(value)}"
    for key, value in inner.items():
        here = (*path, key)
        heading = ".".join(_key(step) for step in here)
        for each in [value] if _is_table(value) else value:
            yield ""
            if not _is_table(value):
                yield f"[[{heading}]]"
            elif any(not (_is_table(below) or _is_tables(below)) for below in each.values()):
                yield f"[{heading}]"
            yield from _table(each, here)


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping) and not any(key in value for key in _FIGURE)


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(_is_table(each) for each in value)


def _value(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{_key(key)} = {_value(each)}" for key, each in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, dt.date):
        return value.isoformat()
    return repr(value)


def _key(key: str) -> str:
    plain = key.replace("_", "").replace("-", "")
    return key if plain.isascii() and plain.isalnum() else json.dumps(key, ensure_ascii=False)
