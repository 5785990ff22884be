"""`growsim crew` at the command line: the answer, the report, the command that gives it again."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from growsim.cli import main
from growsim.cli.door import parser

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
QUICK = ["--days", "28", "--replications", "5", "--workers", "1", "--orders", "60", "--on-time", "90"]


def test_the_answer_and_the_command_that_repeats_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """--json prints summary.json and nothing else; every option that matters is in the command that repeats it."""
    monkeypatch.chdir(tmp_path)

    assert main(["crew", str(TINY), *QUICK, "--json"]) == 0
    out, err = capsys.readouterr()
    summary = json.loads(out)
    again = parser().parse_args(shlex.split(summary["repeat_with"])[1:])
    report = Path("reports/tiny-crew")

    assert err == ""
    assert summary == json.loads((report / "summary.json").read_text(encoding="utf-8"))
    assert summary["table"]["title"] == "Volunteers to sign up each week"
    assert (again.seed, again.replications, again.days, again.start) == (7, 5, 28, "filled")
    assert (again.orders, again.on_time, again.at_least) == (60, 90, 1)
    assert {key: goal["wanted"] for key, goal in summary["goals"].items()} == {
        "tasks_on_time_fraction": 0.9,
        "orders_filled_fraction": 0.6,
    }
    assert set(summary["people_by_month"]) == {"Monday", "Thursday"}


def test_an_earlier_report_is_not_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Said before the work begins."""
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")

    assert main(["crew", str(TINY), *QUICK, "--out", str(tmp_path)]) == 2
    assert "exists already" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--orders", "120"], "--orders: '120' is not possible"),
        (["--at-least", "-1"], "--at-least: '-1' is not possible"),
        (["--replications", "4"], "--replications: '4' is not possible"),
        (["--days", "14"], "days: 14 is too short to judge a crew"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(
    options: list[str], said: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Exit code 2, one line, nothing written."""
    assert main(["crew", str(TINY), "--out", str(tmp_path / "out"), *options]) == 2
    err = capsys.readouterr().err

    assert said in err
    assert err.count("\n") == 1
    assert not (tmp_path / "out").exists()
