"""`growsim review ROOM`: what is printed, what is left behind, what is refused."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from growsim.cli.door import main
from growsim.run.prepare import prepare_room
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.uncertain import Uncertain
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
    assert {each["kind"] for each in summary["figures"]} >= {"greens", "seedlings", "people", "minutes"}
    assert main(["review", "tiny", *QUICK, "--week", "2040-01-01"]) == 2


def test_learn_and_review_say_the_same_of_the_same_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of seed that germinates less than its file says: what has drifted is a figure that learn tells apart from the
    room file, on the same side; what is offered for it is in the range learned, and can be kept."""
    monkeypatch.chdir(tmp_path)
    room = load_scenario(TINY)
    leaf, head = room.scenario.crops
    worse = head.model_copy(
        update={"germination_fraction": Uncertain(value=head.germination_fraction.expected() - 0.2)}
    )
    lived = room.scenario.model_copy(update={"crops": (leaf, worse)})
    book = trace(replace(prepare_room(room), scenario=lived), 404, 1, RunPlan(140, 0, "empty"))
    as_csv(kept(book, room.scenario), Path("records"))

    assert main(["learn", str(TINY), "records", "--out", "learned"]) == 0
    assert main(["review", str(TINY), "--records", "records", *QUICK, "--out", "reviewed"]) == 0
    learned, reviewed = (json.loads(Path(out, "summary.json").read_text()) for out in ("learned", "reviewed"))
    (drifted,) = [each for each in reviewed["figures"] if each["drifted"] is not None]
    figure = learned["measures"][drifted["key"]]
    assert figure["clear_of_room_file"]
    assert not drifted["drifted"]["is_above"]
    assert figure["mean"] < figure["room_file"]
    assert f"as {100 * figure['room_file']:.0f}% of seeds would make" in " ".join(reviewed["answer"])
    assert reviewed["offer"]["keys"] == [drifted["key"]]
    assert main(["keep", str(TINY), f"reviewed/{reviewed['change_file']}", "--out", "better"]) == 0
    better = load_scenario(Path("better")).scenario.crops[1].germination_fraction
    assert figure["mean_low"] < better.expected() < figure["mean_high"]
