"""The report of `growsim rehearse`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import csv_files, summaries
from growsim.report.holds_back import HoldsBack, what_holds_back
from growsim.report.page import render
from growsim.report.provenance import Provenance
from growsim.report.rehearse import sentences
from growsim.report.rehearse.page import compose
from growsim.report.tenths import sentence, tenths_entry
from growsim.report.words import per_period
from growsim.run.writing import output_folder, write_text

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal
    from growsim.study.tenths import TenthsMore


def write_rehearsal(
    rehearsal: Rehearsal,
    out: Path,
    *,
    provenance: Provenance,
    replace: bool = False,
    tenths: TenthsMore | None = None,
) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables and figures into `out`, all or nothing; give the summary.

    tenths: what a tenth more of each thing brings, where that was asked for. Raises OutputError where `out` exists
    (unless `replace`) or cannot be written.
    """
    finding = holds_back_of(rehearsal)
    summary = summary_of(rehearsal, provenance, finding, tenths)
    with output_folder(out, replace=replace) as folder:
        (folder / "figures").mkdir()
        page = compose(rehearsal, provenance, finding, summary["answer"], folder / "figures", tenths)
        write_text(folder / "report.html", render(page))
        csv_files.write_tables(rehearsal, folder)
        if tenths is not None:
            from growsim.run.results import write_frame

            write_frame(folder / "tenths.csv", tenths.to_frame())
        write_text(folder / "summary.json", json.dumps(summary, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
    return summary


def holds_back_of(rehearsal: Rehearsal) -> HoldsBack:
    """What holds the room back, by the rule of `holds_back`."""
    means = {key: found.mean for key, found in rehearsal.estimates.items()}
    return what_holds_back(rehearsal.outcomes, rehearsal.scenario, means)


def summary_of(
    rehearsal: Rehearsal, provenance: Provenance, finding: HoldsBack | None = None, tenths: TenthsMore | None = None
) -> dict[str, Any]:
    """summary.json as a dict: what every command states, and what only a rehearsal has."""
    finding = finding or holds_back_of(rehearsal)
    scenario, plan = rehearsal.scenario, rehearsal.plan
    return {
        "growsim": provenance.growsim,
        "command": provenance.command,
        "room": scenario.room.name,
        "room_sha256": provenance.room_sha256,
        "seed": rehearsal.seed,
        "replications": len(rehearsal.outcomes),
        "days": plan.days,
        "warm_up_days": plan.lead_in_days,
        "repeat_with": provenance.repeat_with,
        "answer": sentences.answer(rehearsal, finding) + ([sentence(tenths, plan.days)] if tenths else []),
        "answer_heads": [*sentences.ANSWER_HEADS, *(["A tenth more"] if tenths else [])],
        "measures": {key: measure_entry(found, plan.days) for key, found in rehearsal.estimates.items()},
        "on_paper": dict(rehearsal.on_paper.measures),
        "holds_back": {
            "first": finding.first,
            "others": list(finding.others),
            "strains": finding.strains,
            "share_of_seedlings_lost_to": finding.shares,
            "fullest_stage": None
            if finding.fullest is None
            else {"stage": finding.fullest.stage, "month": finding.fullest.month, "share": finding.fullest.share},
            "months_short_of_hands": list(finding.short_months),
        },
        "tenths": None if tenths is None else tenths_entry(tenths, plan.days),
        "typical_replication": summaries.typical(rehearsal.outcomes).replication,
        "warm_up": {
            "enough": rehearsal.warm_up.enough,
            "truncation_week": rehearsal.warm_up.truncation_week,
            "sentence": rehearsal.warm_up.sentence,
        },
        "start": plan.start,
        "python": provenance.python,
        "libraries": dict(provenance.libraries),
    }


def measure_entry(found: Estimate, days: int) -> dict[str, Any]:
    """One figure as summary.json states it. mean_low and mean_high are null with one replication."""
    measure = CATALOGUE[found.key]
    return {
        "label": measure.label,
        "unit": per_period(measure.unit, days),
        "mean": found.mean,
        "mean_low": found.mean_low,
        "mean_high": found.mean_high,
        "p10": found.p10,
        "p50": found.p50,
        "p90": found.p90,
        "n": found.n,
        "of": found.of,
    }
