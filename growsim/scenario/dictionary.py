"""The data dictionary (Markdown and CSV) and the JSON Schema of a room file, made from the models themselves.

`python -m growsim.scenario.dictionary FOLDER` writes data-dictionary.md, data-dictionary.csv, room.schema.json there.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from growsim.scenario.anatomy import Anatomy, anatomy_of, plain_number
from growsim.scenario.base import Table
from growsim.scenario.change import TABLE, ChangeAbout
from growsim.scenario.scenario import Scenario
from growsim.scenario.schema import json_schema
from growsim.scenario.short.keys import KEYS, LEFT_OUT, usual_names
from growsim.scenario.uncertain import NEEDS, Uncertain

COLUMNS = ("key", "meaning", "unit", "allowed", "default")

_INTRODUCTION = """# Data dictionary of a room file

Made from the program by `python -m growsim.scenario.dictionary scenarios`; do not edit by hand.

A room file is a text file in TOML. `[room]` opens a table; `[[racks]]` opens one more entry of a list of tables. In the
keys below, `racks[].shelves[].slots` means the key `slots` of each `[[racks.shelves]]`. A key with the default
*required* must be there; any other may be left out. Every table may also have a `source`: where its figures come from,
or "invented".

An *uncertain figure* may be written as

- a number: `0.9`
- a range: `{ low = 0.8, likely = 0.9, high = 0.95 }`
- a named distribution: `{ distribution = "lognormal", mean = 3, sd = 1 }`

each with an optional `source`, and with `at_least` and `at_most` where draws are cut off. Distributions and the keys
they need:

"""


_SHORT = (
    "## Short forms",
    "",
    "What is alike is said once, and what is usual need not be said at all. A short file is written out in full before",
    "anything is checked; both give the same numbers. A rack's own reservoir or lights that say all that their table",
    "must have are taken as they stand; what lacks something begins from usual values.",
    "",
)


@dataclass(frozen=True)
class Entry:
    """One line of the dictionary."""

    key: str
    meaning: str
    unit: str
    allowed: str
    default: str


def entries(model: type[Table] = Scenario, prefix: str = "") -> Iterator[Entry]:
    """Every key of a room file, top-down; `source`, which every table has, is left to the introduction."""
    for name, field in model.model_fields.items():
        if name == "source":
            continue
        what = anatomy_of(field)
        follows = LEFT_OUT.get(model, {}).get(name)
        default = f"follows: {follows}" if follows else _default(what)
        yield Entry(f"{prefix}{name}", what.meaning, what.unit, _allowed(what), default)
        if what.table is not None and what.kind != "figure":
            mark = "[]" if what.kind == "tables" else ""
            yield from entries(what.table, f"{prefix}{name}{mark}.")


def short_entries() -> Iterator[Entry]:
    """Every key that only a short room file has."""
    for row in KEYS:
        yield Entry(f"{row.where}{row.key} (short)", row.meaning, row.unit, row.allowed, "left out")


def _allowed(what: Anatomy) -> str:
    words = {"figure": "uncertain figure", "table": "table", "tables": "list of tables", "yes or no": "true or false"}
    text = words.get(what.kind, what.kind)
    if what.choices:
        text = ("one of " if what.kind == "choice" else "any of ") + ", ".join(what.choices)
    if what.limits:
        text += f" {what.limits}"
    if what.fewest is not None and what.fewest == what.most:
        text += f", exactly {what.fewest} of them"
    elif what.kind == "text" and what.most is not None:
        text += f" of 1 to {what.most} characters"
    elif what.fewest is not None or what.most is not None:
        bounds = [f"at least {what.fewest}"] if what.fewest else []
        bounds += [f"at most {what.most}"] if what.most else []
        text += f", {' and '.join(bounds)} of them"
    return text


def _default(what: Anatomy) -> str:
    if what.required:
        return "required"
    default = what.default
    if default is None:
        return "left out"
    if isinstance(default, Uncertain):
        return plain_number(default.expected())
    if isinstance(default, Table):
        return "its keys' defaults"
    if isinstance(default, bool):
        return "true" if default else "false"
    if isinstance(default, (int, float)):
        return plain_number(default)
    return "empty" if default in ("", ()) else str(default)


def as_csv() -> str:
    """The dictionary as CSV with a heading line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows((e.key, e.meaning, e.unit, e.allowed, e.default) for e in (*entries(), *short_entries()))
    return text.getvalue()


def as_markdown() -> str:
    """The dictionary as Markdown, one section for each table of the room file."""
    lines = [_INTRODUCTION.rstrip("\n"), ""]
    lines += ["| distribution | needs |", "| --- | --- |"]
    lines += [f"| {family} | {', '.join(needs)} |" for family, needs in NEEDS.items()]
    for name, field in Scenario.model_fields.items():
        if name == "source":
            continue
        what = anatomy_of(field)
        own = [e for e in entries() if e.key.split(".")[0].removesuffix("[]") == name]
        is_list = what.kind == "tables"
        heading = f"[[{name}]]" if is_list else f"[{name}]" if what.kind == "table" else name
        about = (what.table.__doc__ or "").strip().splitlines()[0] if what.table is not None else what.meaning
        lines += ["", f"## {heading}", "", about, ""]
        lines += ["| key | meaning | unit | allowed | default |", "| --- | --- | --- | --- | --- |"]
        lines += [f"| `{e.key}` | {e.meaning} | {e.unit} | {e.allowed} | {e.default} |" for e in own]
    lines += ["", *_SHORT, "| key | meaning | unit | allowed |", "| --- | --- | --- | --- |"]
    lines += [f"| `{row.where}{row.key}` | {row.meaning} | {row.unit} | {row.allowed} |" for row in KEYS]
    lines += ["", "| kind | usual values that come with growsim |", "| --- | --- |"]
    lines += [f"| {kind} | {names} |" for kind, names in usual_names()]
    lines += ["", f"## [{TABLE}], in a CHANGE file only", "", (ChangeAbout.__doc__ or "").strip(), ""]
    lines += ["| key | meaning | unit | allowed | default |", "| --- | --- | --- | --- | --- |"]
    lines += [
        f"| `{e.key}` | {e.meaning} | {e.unit} | {e.allowed} | {e.default} |" for e in entries(ChangeAbout, f"{TABLE}.")
    ]
    return "\n".join(lines) + "\n"


def write_all(folder: Path) -> list[Path]:
    """Write the dictionary and the schema into a folder; returns the files."""
    written = {
        "data-dictionary.md": as_markdown(),
        "data-dictionary.csv": as_csv(),
        "room.schema.json": json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n",
    }
    for name, text in written.items():
        (folder / name).write_text(text, encoding="utf-8")
    return [folder / name for name in written]


if __name__ == "__main__":
    for made in write_all(Path(sys.argv[1] if len(sys.argv) > 1 else "scenarios")):
        print(made)
