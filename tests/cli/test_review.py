"""`growsim review ROOM`: what is printed, what is left behind, what is refused."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from growsim.cli.door import main
from growsim.run.prepare import prepare_room
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from tests.kept_records import as_csv, kept

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
QUICK = ["--replications", "20", "--workers", "1"]


def test_the_record_beside_the_room_is_reviewed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Without a record it says where one comes from; with one, page, summary and table are of the same cells."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(TINY, tmp_path / "tiny")
    assert main(["review", "tiny", *QUICK]) == 2
    assert "there is no record yet; write shifts down on the page" in capsys.readouterr().err
    room = load_scenario(tmp_path / "tiny")
    as_csv(kept(trace(prepare_room(room), 3, 0, RunPlan(84, 0, "empty")), room.scenario), tmp_path / "tiny" / "records")
    assert main(["review", "tiny", *QUICK, "--out", "out"]) == 0
    printed = capsys.readouterr().out
    summary = json.loads(Path("out/summary.json").read_text())
    assert summary["answer"][0] in " ".join(printed.split())
    report = Path("out/report.html").read_text()
    for row in summary["table"]["rows"]:
        assert row["label"] in report
    assert {each["kind"] for each in summary["figures"]} >= {"greens", "losses", "seedlings", "people", "minutes"}
    assert main(["review", "tiny", *QUICK, "--week", "2040-01-01"]) == 2
