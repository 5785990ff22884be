"""The report of `growsim learn`: its page, its summary, its tables and figures, and the CHANGE file, in one go."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report.learn import tables, words
from growsim.report.learn.page import compose
from growsim.report.page import render
from growsim.report.provenance import Provenance
from growsim.run.writing import output_folder, write_csv, write_text
from growsim.study.learn.effects import Effect, effects_of

if TYPE_CHECKING:
    from growsim.study.learn.learned import ForecastCheck, Learned
    from growsim.study.learn.question import Learning

# --- A CHANGE file as text: TOML that a person can read and `spec.change` loads.

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


CHANGE_FILE = "learned.toml"
CHANGE_NAME = "learned from the record"


def write_learning(learning: Learning, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write learned.toml, report.html, summary.json, CSV tables and figures, all or nothing; give the summary.

    Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    answer = words.answer(learning)
    summary = summary_of(learning, provenance, answer)
    with output_folder(out, replace=replace) as folder:
        (folder / "figures").mkdir()
        if learning.change:
            write_text(folder / CHANGE_FILE, learned_text(learning))
        page = compose(learning, provenance, answer, folder / "figures")
        write_text(folder / "report.html", render(page))
        _write_tables(learning, folder)
        write_text(folder / "summary.json", json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
    return summary


def learned_text(learning: Learning) -> str:
    """The CHANGE file."""
    about = {
        "name": CHANGE_NAME,
        "note": f"From {learning.first.isoformat()} to {learning.last.isoformat()}, "
        f"{learning.records.rows_read} rows read, {len(learning.records.set_aside)} set aside.",
    }
    remarks = (
        f"What the record of {learning.before.room.name} says, {learning.first.isoformat()} to "
        f"{learning.last.isoformat()}.",
        "A CHANGE file: `growsim compare ROOM learned.toml`, `growsim keep ROOM learned.toml`. Figures say in "
        "their source how many records they rest on.",
        "Learn again from the room file of before and the whole record, not from a room that has learned already.",
    )
    return change_text({"change": about, **learning.change}, remarks)


def _write_tables(learning: Learning, folder: Path) -> None:
    records = learning.records
    write_csv(folder / "measures.csv", tables.MEASURES_HEAD, tables.measures(learning))
    write_csv(folder / "effects.csv", tables.EFFECTS_HEAD, tables.effects_rows(learning))
    write_csv(
        folder / "rows.csv",
        ["file", "table", "rows_read", "used", "set_aside", "columns_not_read"],
        ([r.file, r.table, r.rows, r.used, r.set_aside, ", ".join(r.not_read)] for r in records.tables),
    )
    widest = max((len(row.written) for row in records.set_aside), default=0)
    write_csv(
        folder / "set_aside.csv",
        ["file", "line", "reason", *(f"cell_{n}" for n in range(1, widest + 1))],
        (
            [row.file, row.line, row.reason, *row.written, *[""] * (widest - len(row.written))]
            for row in records.set_aside
        ),
    )
    write_csv(
        folder / "odd_rows.csv",
        ["file", "line", "what_it_says", "used"],
        ([odd.file, odd.line, odd.says, str(odd.used).lower()] for odd in learning.odd),
    )
    write_csv(
        folder / "early_and_late.csv",
        ["figure", "unit", "before", "since", "after", "z", "rows"],
        (
            [each.what, each.unit, float(f"{each.early:.6g}"), each.since.isoformat(), float(f"{each.late:.6g}"),
             round(each.z, 2), each.lines]
            for each in learning.drift
        ),
    )  # fmt: skip
    if learning.forecast_check is not None:
        write_csv(folder / "weeks.csv", tables.WEEKS_HEAD, tables.weeks_rows(learning))


def summary_of(learning: Learning, provenance: Provenance, answer: list[tuple[str, str]]) -> dict[str, Any]:
    """summary.json as a dict: what every command states, and what only learning has."""
    records, held = learning.records, learning.forecast_check
    return {
        "growsim": provenance.growsim,
        "command": provenance.command,
        "room": learning.before.room.name,
        "room_sha256": provenance.room_sha256,
        "seed": held.seed if held else learning.before.rehearsal.seed,
        "replications": held.replications if held else 0,
        "days": (learning.last - learning.first).days + 1,
        "warm_up_days": 0,
        "repeat_with": provenance.repeat_with,
        "answer": [sentence for _, sentence in answer],
        "answer_heads": [head for head, _ in answer],
        "measures": {figure.key: _measure(figure) for figure in learning.figures},
        "effects": [_effect(effect) for effect in effects_of(learning.figures, learning.before)],
        "records": {
            "sha256": records.sha256,
            "first": learning.first.isoformat(),
            "last": learning.last.isoformat(),
            "rows_read": records.rows_read,
            "used": records.rows_read - len(records.set_aside),
            "set_aside": [{"file": r.file, "line": r.line, "reason": r.reason} for r in records.set_aside],
            "not_read": list(records.not_read),
            "odd_rows": [{"file": o.file, "line": o.line, "says": o.says, "used": o.used} for o in learning.odd],
        },
        "drift": [
            {"what": d.what, "unit": d.unit, "before": d.early, "since": d.since.isoformat(), "after": d.late,
             "rows": d.lines}
            for d in learning.drift
        ],
        "forecast_check": _forecast_check(held) if held else None,
        "change_file": CHANGE_FILE if learning.change else None,
        "notes": list(learning.notes),
        "python": provenance.python,
        "libraries": dict(provenance.libraries),
    }  # fmt: skip


def _measure(figure: Learned) -> dict[str, Any]:
    return {
        "label": f"{figure.what}: {figure.label}",
        "unit": figure.unit,
        "mean": figure.after.mean,
        "mean_low": figure.after.q025,
        "mean_high": figure.after.q975,
        "p10": figure.after.low,
        "p50": figure.after.middle,
        "p90": figure.after.high,
        "n": figure.records,
        "of": figure.of,
        "room_file": figure.stated,
        "before_p10": figure.before.low,
        "before_p90": figure.before.high,
        "room_file_counts_as": figure.weight,
        "stays_near_room_file": figure.is_little,
        "clear_of_room_file": figure.is_clear,
    }


def _effect(effect: Effect) -> dict[str, Any]:
    return {
        "figures": [figure.key for figure in effect.figures],
        "unit": f"{effect.kind}/week",
        "about": effect.change,
        "p10": effect.low,
        "p90": effect.high,
        "share_of_room": effect.share,
        "small": effect.is_small,
        "clear_of_room_file": effect.is_clear,
    }


def _forecast_check(held: ForecastCheck) -> dict[str, Any]:
    return {
        "known_until": held.known_until.isoformat(),
        "sowings_on_the_shelves": held.lots,
        "series": {
            series.key: {
                "label": series.label,
                "unit": series.unit,
                "weeks": len(series.weeks),
                "inside_8_in_10": series.inside,
                "pinball_loss": series.loss,
                "last_four_weeks_inside": series.naive_inside,
                "last_four_weeks_pinball_loss": series.naive_loss,
            }
            for series in held.series
        },
    }
