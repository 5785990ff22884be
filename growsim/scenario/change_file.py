"""The one writer of CHANGE files: whatever room and crops are called, `load_change` reads back what was meant."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from growsim.scenario.change import LONGEST_NAME, TABLE
from growsim.scenario.toml.text import toml_text

ENDING = ".toml"
_LONGEST_STEM = 60
_NOT_IN_A_REMARK = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")  # control characters, ends of lines


def change_text(tables: Mapping[str, Any], about: Mapping[str, Any], remarks: Sequence[str] = ()) -> str:
    """The text of a CHANGE file. tables: what differs. about: its own name, price, note. remarks: a line each, on top.

    A name too long for a CHANGE is cut; what is empty in `about` is left out. Raises TypeError for what has no TOML.
    """
    said = {key: value for key, value in about.items() if value not in ("", None)}
    if isinstance(said.get("name"), str):
        said["name"] = _cut(said["name"])
    whole = {**({TABLE: said} if said else {}), **{key: table for key, table in tables.items() if key != TABLE}}
    return "".join(f"# {_NOT_IN_A_REMARK.sub(' ', remark)}\n" for remark in remarks) + toml_text(whole)


def file_name(name: str, taken: Collection[str] = ()) -> str:
    """A name for the file of a change called so: plain letters and figures, and none of those taken."""
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower())[:_LONGEST_STEM].strip("-") or TABLE
    number, found = 1, f"{stem}{ENDING}"
    while found in taken:
        number += 1
        found = f"{stem}-{number}{ENDING}"
    return found


def _cut(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name.strip()[: LONGEST_NAME - 1].rstrip()}…"
