"""From the room file to the report, with nothing made up in between."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType

from growsim.report.provenance import Provenance
from growsim.report.rehearse.answer import write_rehearsal
from growsim.report.rehearse.story import story
from growsim.run.prepare import prepare
from growsim.run.rehearse import rehearse
from growsim.run.replicate import trace
from growsim.scenario.plan import RunPlan

PLAN = RunPlan(days=63, warm_up_days=42)


def test_the_tiny_room_is_rehearsed_and_reported(made_up: ModuleType, origin: Provenance, tmp_path: Path) -> None:
    """Every file is there, every answer said, and the summary's average is the outcomes' own."""
    rehearsal = rehearse(made_up.tiny_room(), seed=3, replications=3, plan=PLAN)
    summary = write_rehearsal(rehearsal, tmp_path / "out", provenance=origin)
    average = sum(outcome.measures["kg_packed_per_week"] for outcome in rehearsal.outcomes) / 3

    assert abs(summary["measures"]["kg_packed_per_week"]["mean"] - average) < 1e-9
    assert json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8")) == summary
    assert [part for part in summary["answer"] if not part.endswith(".")] == []
    assert "rehearsals of 63 days" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


def test_one_replication_can_be_told(made_up: ModuleType) -> None:
    """A story has sowings, harvests and hand-overs of the replication asked for."""
    book = trace(prepare(made_up.tiny_room()), 3, 1, PLAN)
    told = story(book.records, made_up.tiny_room())

    assert all(
        words in told for words in (" sown: ", " plants harvested, ", " to trial pantry, ", "shift Monday ends: ")
    )
