"""The report of `growsim learn`: its page, its summary, its tables and figures, and the CHANGE file, in one go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report.frame import Answer
from growsim.report.learn import tables, words
from growsim.report.learn.page import compose
from growsim.report.provenance import Provenance
from growsim.run.writing import write_csv, write_text
from growsim.scenario.change import change_text
from growsim.study.learn.effects import Effect, effects_of
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.learn.learned import ForecastCheck, Learned
    from growsim.study.learn.question import Learning

CHANGE_FILE = BY_NAME["learn"].change_file
CHANGE_NAME = "learned from the record"


def write_learning(learning: Learning, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write learned.toml, report.html, summary.json, CSV tables and figures, all or nothing; give the summary.

    Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    held = learning.forecast_check
    answer = Answer(
        provenance, learning.before, held.seed if held else learning.before.rehearsal.seed,
        held.replications if held else 0, (learning.last - learning.first).days + 1, 0,
        front=words.front(learning),
    )  # fmt: skip

    def files(folder: Path) -> None:
        if learning.change:
            write_text(folder / CHANGE_FILE, learned_text(learning))
        _write_tables(learning, folder)

    summary = answer.summary({figure.key: _measure(figure) for figure in learning.figures}, **_own(learning))
    return answer.write(out, summary, lambda folder: compose(learning, answer, folder), files, replace=replace)


def learned_text(learning: Learning) -> str:
    """The CHANGE file."""
    first, last, records = learning.first.isoformat(), learning.last.isoformat(), learning.records
    return change_text(
        learning.change,
        {
            "name": CHANGE_NAME,
            "note": f"From {first} to {last}, {records.rows_read} rows read, {len(records.set_aside)} set aside.",
        },
        (
            f"What the record of {learning.before.room.name} says, {first} to {last}.",
            f"A CHANGE file: `growsim compare ROOM {CHANGE_FILE}`, `growsim keep ROOM {CHANGE_FILE}`. Figures say in "
            "their source how many records they rest on.",
            "Learn again from the room file of before and the whole record, not from a room that has learned already.",
        ),
    )


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


def _own(learning: Learning) -> dict[str, Any]:
    """What only learning has in its summary."""
    records, held = learning.records, learning.forecast_check
    return {
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
