"""The report of `growsim rehearse`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report import csv_files, summaries
from growsim.report.frame import Answer, measures_of
from growsim.report.holds_back import HoldsBack, what_holds_back
from growsim.report.provenance import Provenance
from growsim.report.rehearse import sentences
from growsim.report.rehearse.page import compose
from growsim.report.tenths import sentence, tenths_entry

if TYPE_CHECKING:
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
    finding, plan = holds_back_of(rehearsal), rehearsal.plan
    said = list(zip(sentences.ANSWER_HEADS, sentences.answer(rehearsal, finding), strict=True))
    said += [("A tenth more", sentence(tenths, plan.days))] if tenths else []
    answer = Answer(
        provenance, rehearsal.scenario, rehearsal.seed, len(rehearsal.outcomes), plan.days, plan.lead_in_days,
        tuple(said),
    )  # fmt: skip

    def files(folder: Path) -> None:
        csv_files.write_tables(rehearsal, folder)
        if tenths is not None:
            from growsim.run.results import write_frame

            write_frame(folder / "tenths.csv", tenths.to_frame())

    summary = answer.summary(measures_of(rehearsal.estimates, plan.days), **_own(rehearsal, finding, tenths))
    return answer.write(out, summary, lambda folder: compose(rehearsal, answer, folder, tenths), files, replace=replace)


def holds_back_of(rehearsal: Rehearsal) -> HoldsBack:
    """What holds the room back, by the rule of `holds_back`."""
    means = {key: found.mean for key, found in rehearsal.estimates.items()}
    return what_holds_back(rehearsal.outcomes, rehearsal.scenario, means)


def _own(rehearsal: Rehearsal, finding: HoldsBack, tenths: TenthsMore | None) -> dict[str, Any]:
    """What only a rehearsal has in its summary."""
    return {
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
        "tenths": None if tenths is None else tenths_entry(tenths, rehearsal.plan.days),
        "typical_replication": summaries.typical(rehearsal.outcomes).replication,
        "warm_up": {
            "enough": rehearsal.warm_up.enough,
            "truncation_week": rehearsal.warm_up.truncation_week,
            "sentence": rehearsal.warm_up.sentence,
        },
        "start": rehearsal.plan.start,
    }
