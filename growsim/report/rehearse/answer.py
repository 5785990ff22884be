"""The report of `growsim rehearse`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report import csv_files, holds_back, summaries
from growsim.report.frame import Answer, measures_of
from growsim.report.provenance import Provenance
from growsim.report.rehearse import find_out, lead
from growsim.report.rehearse.page import compose
from growsim.run.writing import write_csv
from growsim.study.doubt import doubts_of
from growsim.study.trials import untried
from growsim.study.tried import Held

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal


def write_rehearsal(
    rehearsal: Rehearsal,
    out: Path,
    *,
    provenance: Provenance,
    replace: bool = False,
    held: Held | None = None,
) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables and figures into `out`, all or nothing; give the summary.

    held: what holds the room back, where something was tried; else only what was waited for is told. Raises OutputError
    where `out` exists (unless `replace`) or cannot be written.
    """
    found, plan = held or untried(rehearsal.outcomes, rehearsal.scenario), rehearsal.plan
    doubts, figures = doubts_of(rehearsal.scenario, rehearsal.seed, rehearsal.outcomes), provenance.figures
    answer = Answer(
        provenance, rehearsal.scenario, rehearsal.seed, len(rehearsal.outcomes), plan.days, plan.lead_in_days,
        front=lead.front(rehearsal, found),
    )  # fmt: skip

    def files(folder: Path) -> None:
        csv_files.write_tables(rehearsal, folder)
        write_csv(folder / "doubts.csv", find_out.COLUMNS, find_out.rows(doubts, rehearsal.scenario, figures))
        holds_back.write_tried(found, folder)

    own = _own(rehearsal, found) | {"doubts": find_out.entry(doubts, rehearsal.scenario, figures)}
    summary = answer.summary(measures_of(rehearsal.estimates, plan.days), **own)
    return answer.write(
        out, summary, lambda folder: compose(rehearsal, answer, folder, found, doubts), files, replace=replace
    )


def _own(rehearsal: Rehearsal, held: Held) -> dict[str, Any]:
    """What only a rehearsal has in its summary."""
    return {
        "on_paper": dict(rehearsal.on_paper.measures),
        "holds_back": holds_back.entry(held),
        "typical_replication": summaries.typical(rehearsal.outcomes).replication,
        "warm_up": {
            "enough": rehearsal.warm_up.enough,
            "truncation_week": rehearsal.warm_up.truncation_week,
            "sentence": rehearsal.warm_up.sentence,
        },
        "start": rehearsal.plan.start,
    }
