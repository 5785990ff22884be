"""`growsim sow ROOM`: what is printed, what is left behind, and what is refused."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main
from growsim.scenario.load import load_scenario
from growsim.study.sow import question

TINY = str(Path(__file__).parents[2] / "scenarios" / "tiny")
QUICK = ["--days", "56", "--replications", "2", "--workers", "1"]


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports go to ./reports of an empty folder; plans are tried in few years."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(question, "TRIAL_YEARS", 2)


def summary(folder: str) -> dict[str, Any]:
    """The summary.json a command left behind."""
    found = json.loads(Path(folder, "summary.json").read_text("utf-8"))
    assert isinstance(found, dict)
    return found


def test_the_plan_is_printed_and_left_as_a_change_file(capsys: pytest.CaptureFixture[str]) -> None:
    """Sentences with their heads, and where report and plan lie; the printed command gives the same again."""
    assert main(["sow", TINY, *QUICK]) == 0

    out, err = capsys.readouterr()
    left = summary("reports/tiny-sow")
    assert " ".join(out.split()).startswith(left["answer"][0])
    assert "The plan as a CHANGE file: reports/tiny-sow/sowing.toml\n" in out
    assert out.endswith(f"  growsim keep {TINY} reports/tiny-sow/sowing.toml\n")
    assert main(["keep", TINY, "reports/tiny-sow/sowing.toml", "--out", "kept"]) == 0
    sown = {(line.crop, line.weekday, line.cells) for line in load_scenario(Path("kept")).scenario.sowing}
    assert sown >= {(line["crop"], line["weekday"], line["cells"]) for line in left["sowing"]}
    capsys.readouterr()
    assert err == ""
    assert (left["command"], left["certainty"], left["days"]) == ("sow", 0.9, 56)

    words = shlex.split(left["repeat_with"])
    assert main([*words[1:], "--out", "again", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == left


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (["--certainty", "100"], "--certainty: '100' is not possible; give a percentage from 50 to 99, such as 90"),
        (["--certainty", "most"], "--certainty: 'most' is not possible"),
        (["--days", "20"], "days: 20 is too short to judge a sowing plan; give 56 or more."),
    ],
)
def test_a_slip_is_told(change: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, one sentence, nothing left behind."""
    assert main(["sow", TINY, *QUICK, *change]) == 2

    assert said in capsys.readouterr().err
    assert not Path("reports").exists()
