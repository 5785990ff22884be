"""The report of `growsim promise`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report.frame import Answer, measures_of
from growsim.report.promise import words
from growsim.report.promise.page import compose
from growsim.report.provenance import Provenance
from growsim.run.writing import write_text
from growsim.scenario.change import change_text, file_name

if TYPE_CHECKING:
    from growsim.study.promise.answer import Promises
    from growsim.study.promise.rescue import Rescue


def write_promises(promises: Promises, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables, figures and CHANGE files into `out`, all or nothing.

    Gives the summary. Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    from growsim.run import results
    from growsim.study.promise.answer import rescue_frame

    answer = Answer(
        provenance, promises.scenario, promises.seed, len(promises.outcomes), promises.plan.days, 0,
        front=words.front(promises),
    )  # fmt: skip

    def files(folder: Path) -> None:
        results.write_frame(folder / "promises.csv", promises.to_frame())
        results.write_frame(folder / "tried.csv", rescue_frame(promises))
        results.write_frame(folder / "measures.csv", results.measures_frame(promises.estimates, promises.plan.days))
        results.write_frame(folder / "weeks.csv", results.week_summary_frame(promises.outcomes).round(6))
        _write_changes(promises, folder / "changes")

    summary = answer.summary(measures_of(promises.estimates, answer.days), **_own(promises))
    return answer.write(out, summary, lambda folder: compose(promises, answer, folder), files, replace=replace)


def _own(promises: Promises) -> dict[str, Any]:
    """What only promises have in their summary."""
    return {
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
    texts: dict[str, str] = {}
    for rescue in promises.helpful:
        (action,) = rescue.actions
        texts[file_name(action.name, texts)] = change_text(action.tables, {"name": action.name})
    for name, text in texts.items():
        write_text(folder / name, text)
