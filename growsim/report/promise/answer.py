"""The report of `growsim promise`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

import json
import re
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report.page import render
from growsim.report.promise import words
from growsim.report.promise.page import compose
from growsim.report.provenance import Provenance
from growsim.report.rehearse.answer import measure_entry
from growsim.run.writing import output_folder, write_text
from growsim.scenario.toml.text import toml_text

if TYPE_CHECKING:
    from growsim.study.promise.answer import Promises
    from growsim.study.promise.rescue import Rescue


def write_promises(promises: Promises, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables, figures and CHANGE files into `out`, all or nothing.

    Gives the summary. Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    from growsim.run import results
    from growsim.study.promise.answer import rescue_frame

    answer = words.answer(promises)
    summary = summary_of(promises, provenance, answer)
    with output_folder(out, replace=replace) as folder:
        (folder / "figures").mkdir()
        write_text(folder / "report.html", render(compose(promises, provenance, answer, folder / "figures")))
        results.write_frame(folder / "promises.csv", promises.to_frame())
        results.write_frame(folder / "tried.csv", rescue_frame(promises))
        results.write_frame(folder / "measures.csv", results.measures_frame(promises.estimates))
        results.write_frame(folder / "weeks.csv", results.week_summary_frame(promises.outcomes).round(6))
        _write_changes(promises, folder / "changes")
        write_text(folder / "summary.json", json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
    return summary


def summary_of(promises: Promises, provenance: Provenance, answer: list[tuple[str, str]]) -> dict[str, Any]:
    """summary.json as a dict: what every command states, and what only promises have."""
    return {
        "growsim": provenance.growsim,
        "command": provenance.command,
        "room": promises.scenario.room.name,
        "room_sha256": provenance.room_sha256,
        "seed": promises.seed,
        "replications": len(promises.outcomes),
        "days": promises.plan.days,
        "warm_up_days": 0,
        "repeat_with": provenance.repeat_with,
        "answer": [sentence for _, sentence in answer],
        "answer_heads": [head for head, _ in answer],
        "measures": {key: measure_entry(found, promises.plan.days) for key, found in promises.estimates.items()},
        "today": promises.date.isoformat(),
        "weeks": [
            {
                "crop": each.crop,
                "week_from": each.starts.isoformat(),
                "kg": asdict(each.there),
                "kg_beyond_orders": asdict(each.spare),
                "ordered_kg": each.ordered,
            }
            for each in promises.crops
        ],
        "deliveries": [
            {
                "partner": each.partner,
                "crop": each.crop,
                "date": each.date.isoformat(),
                "ordered_kg": each.ordered,
                "kg": asdict(each.gets),
                "met_in_full": {"share": each.chance.share, "low": each.chance.low, "high": each.chance.high},
                "short_kg_mean": each.short,
                "at_risk": each.is_at_risk,
            }
            for each in promises.deliveries
        ],
        "days_without_sowing": promises.days_without_sowing,
        "given_up": [asdict(each) for each in promises.given_up],
        "tried": [_tried(rescue, promises) for rescue in promises.rescues],
        "together": [_tried(rescue, promises) for rescue in promises.together],
        "python": provenance.python,
        "libraries": dict(provenance.libraries),
    }


def _tried(rescue: Rescue, promises: Promises) -> dict[str, Any]:
    date_of = {each.key: each.date.isoformat() for each in promises.deliveries}
    return {
        "actions": [action.name for action in rescue.actions],
        "kinds": [action.kind for action in rescue.actions],
        "saves": [{"partner": key[0], "crop": key[1], "date": date_of[key]} for key in rescue.saves],
        "puts_at_risk": [{"partner": key[0], "crop": key[1], "date": date_of[key]} for key in rescue.risks],
        "deliveries_met": asdict(rescue.met),
        "kg_to_partners": asdict(rescue.kg),
        "helps": rescue.helps,
        "n": rescue.n,
    }


def _write_changes(promises: Promises, folder: Path) -> None:
    """A CHANGE file for each single thing that helps."""
    if not promises.helpful:
        return
    folder.mkdir()
    for rescue in promises.helpful:
        (action,) = rescue.actions
        name = re.sub(r"[^a-z0-9]+", "-", action.name.lower()).strip("-")
        write_text(folder / f"{name}.toml", toml_text({"change": {"name": action.name}, **action.tables}))
