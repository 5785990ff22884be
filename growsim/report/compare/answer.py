"""The report of `growsim compare`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import holds_back
from growsim.report.compare import why as reasons
from growsim.report.compare import words
from growsim.report.compare.page import compose
from growsim.report.frame import Answer, measures_of
from growsim.report.provenance import Provenance
from growsim.report.words import per_period
from growsim.study.verdicts import Verdict, replications_to_decide
from growsim.vocabulary.obstacles import because

if TYPE_CHECKING:
    from growsim.study.compare.answer import Changed, Comparison


def write_comparison(
    comparison: Comparison, out: Path, *, provenance: Provenance, replace: bool = False
) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables and figures into `out`, all or nothing; give the summary.

    Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    answer = Answer(
        provenance, comparison.scenario, comparison.seed, len(comparison.outcomes), comparison.plan.days,
        comparison.plan.lead_in_days, front=words.front(comparison),
    )  # fmt: skip
    summary = answer.summary(measures_of(comparison.estimates, answer.days), **_own(comparison))
    return answer.write(
        out,
        summary,
        lambda folder: compose(comparison, answer, folder),
        lambda folder: _write_tables(comparison, folder),
        replace=replace,
    )


def _own(comparison: Comparison) -> dict[str, Any]:
    """What only a comparison has in its summary."""
    return {
        "changes": {changed.name: _change_entry(changed, comparison) for changed in comparison.changes},
        "decided": {
            "all": comparison.is_decided,
            "too_small_percent": comparison.too_small_percent,
            "rounds": list(comparison.rounds),
            "at_most": comparison.planned_rounds[-1],
        },
        "measures_of": words.TODAY,
        "holds_back": None if comparison.held is None else holds_back.entry(comparison.held),
        "holds_back_with": None if comparison.held_with is None else comparison.held_with.name,
        "start": comparison.plan.start,
    }


def _change_entry(changed: Changed, comparison: Comparison) -> dict[str, Any]:
    days, change = comparison.plan.days, changed.alternative.change
    pay_back = changed.pay_back
    return {
        "title": changed.title,
        "sha256": change.sha256,
        "price": change.about.price,
        "verdict": words.verdict(changed, comparison),
        "why": reasons.why(changed, comparison),
        "pay_back": None
        if pay_back is None
        else {
            "sentence": reasons.pay_back(changed, comparison),
            **asdict(pay_back),
            "years_by_saving": pay_back.years_by_saving,
            "price_per_extra_kg_a_year": pay_back.price_per_extra_kg_a_year,
            "years_by_worth": dict(zip(("mean", "soonest", "latest"), pay_back.years_by_worth, strict=True)),
        },
        "differences": {key: _difference_entry(verdict, days) for key, verdict in changed.verdicts.items()},
        "measures": measures_of(changed.estimates, days),
        "moved": [asdict(each) | {"because": because(each.held_up)} for each in changed.moved],
        "shared_luck_saves": {key: luck.ratio for key, luck in changed.luck.items()},
        "pace_found_anew": list(changed.alternative.found_anew),
        "warnings": [str(warning) for warning in changed.alternative.warnings],
    }


def _difference_entry(verdict: Verdict, days: int) -> dict[str, Any]:
    found, measure = verdict.difference, CATALOGUE[verdict.key]
    return {
        "label": measure.label,
        "unit": per_period(measure.unit, days),
        "mean": found.mean,
        "low": found.low,
        "high": found.high,
        "chance_better": found.chance_better,
        "n": found.n,
        "too_small": verdict.margin,
        "verdict": verdict.says,
        "matters": verdict.matters,
        "is_better": verdict.is_better,
        "replications_to_decide": None if verdict.is_decided else replications_to_decide(verdict),
    }


def _write_tables(comparison: Comparison, folder: Path) -> None:
    """differences.csv, measures.csv, weeks.csv and replications.csv; what was tried, as CHANGE files."""
    import pandas as pd

    from growsim.run import results

    rooms = {"today": comparison.estimates} | {c.name: c.estimates for c in comparison.changes}
    lived = {"today": comparison.outcomes} | {changed.name: changed.outcomes for changed in comparison.changes}

    def of_each_room(frames: dict[str, pd.DataFrame]) -> pd.DataFrame:
        return pd.concat([frame.assign(room=name) for name, frame in frames.items()], ignore_index=True)

    results.write_frame(folder / "differences.csv", comparison.to_frame())
    measures = of_each_room(
        {name: results.measures_frame(found, comparison.plan.days) for name, found in rooms.items()}
    )
    results.write_frame(folder / "measures.csv", _room_first(measures))
    weeks = of_each_room({name: results.week_summary_frame(outcomes) for name, outcomes in lived.items()})
    results.write_frame(folder / "weeks.csv", _room_first(weeks).round(6))
    results.write_frame(folder / "replications.csv", comparison.to_frame("replications"))
    holds_back.write_tried(comparison.held, folder)


def _room_first(frame: Any) -> Any:
    return frame[["room", *(column for column in frame.columns if column != "room")]]
