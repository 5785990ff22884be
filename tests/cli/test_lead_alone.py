"""A lead alone on a shift: every question lives with a room whose shifts have nobody signed up but the lead."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main
from growsim.scenario.load import load_scenario
from growsim.study.sow import question

TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
QUICK = ["--replications", "4", "--workers", "1"]
TABLE = "lot,crop,stage,sown,plants,rack\na,small head,head,2031-01-13,28,rack\n"


@pytest.fixture(autouse=True)
def alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The tiny room with nobody signed up; the lead is there on both days. Plans are tried in few years."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(question, "TRIAL_YEARS", 2)
    text = TINY.read_text("utf-8")
    assert text.count("people = 2\nlead = true") == 2
    Path("room.toml").write_text(text.replace("people = 2\nlead = true", "people = 0\nlead = true"), encoding="utf-8")
    Path("today.csv").write_text(TABLE, encoding="utf-8")
    return Path("room.toml")


def summary(folder: str) -> dict[str, Any]:
    """The summary.json a command left behind."""
    found = json.loads(Path(folder, "summary.json").read_text("utf-8"))
    assert isinstance(found, dict)
    return found


def test_only_the_lead_works(capsys: pytest.CaptureFixture[str]) -> None:
    """Nobody comes, and the hours present are the lead's: two shifts of two hours a week, closed days apart."""
    assert main(["check", "room.toml"]) == 0
    assert main(["rehearse", "room.toml", "--days", "56", *QUICK, "--out", "out"]) == 0

    measures = summary("out")["measures"]
    assert measures["volunteers_came_per_week"]["mean"] == 0
    assert 0 < measures["crew_hours_worked_per_week"]["mean"] <= 4
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    "words",
    [
        ["compare", "room.toml", "change.toml", "--days", "28", *QUICK],
        ["crew", "room.toml", "--days", "56", "--replications", "5", "--workers", "1"],
        ["sow", "room.toml", "--days", "56", *QUICK],
        ["promise", "room.toml", "--shelves", "today.csv", "--date", "2031-02-10", "--weeks", "2",
         "--replications", "9", "--workers", "1"],
        ["outage", "room.toml", "--machine", "pump", "--day", "8", "--days", "28", *QUICK],
        ["funder", "room.toml", *QUICK],
    ],
    ids=lambda words: str(words[0]),
)  # fmt: skip
def test_every_question_can_be_asked(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Each ends well and says no figure that is none."""
    Path("change.toml").write_text('[[crew.shifts]]\nname = "Monday"\npeople = 1\n', encoding="utf-8")

    assert main([*words, "--out", "out"]) == 0, capsys.readouterr().err
    assert " nan" not in capsys.readouterr().out.lower()


def test_the_sheet_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    """On the sheets, for the wall and in the calendar: the lead alone, not "0 volunteers of 0"."""
    assert main(["sheet", "room.toml", "--week", "2031-02-10", *QUICK, "--out", "out"]) == 0

    page = Path("out/report.html").read_text("utf-8")
    assert "No volunteer is signed up, the lead works alone; the work takes" in page
    assert ">the lead alone</td>" in page
    assert "0 volunteers" not in page
    assert "SUMMARY:Monday: the lead alone" in Path("out/week.ics").read_text("utf-8")
    assert "the lead alone" in capsys.readouterr().out


def test_without_a_lead_somebody_must_be_signed_up(capsys: pytest.CaptureFixture[str]) -> None:
    """Zero people and no lead is no shift; the sentence says what would be right."""
    text = TINY.read_text("utf-8").replace("people = 2\nlead = true", "people = 0\nlead = false", 1)
    Path("room.toml").write_text(text, encoding="utf-8")

    assert main(["check", "room.toml"]) == 2
    assert capsys.readouterr().err == (
        "room.toml, crew.shifts.Monday.people: is 0, and the shift has no lead, so nobody would ever come; "
        "sign up at least 1, or set lead = true for a lead who works alone.\n"
    )


def test_the_starter_may_have_one(tmp_path: Path) -> None:
    """A lead alone beside shifts with volunteers is a sound room too."""
    assert main(["new", "fresh"]) == 0
    file = Path("fresh/room.toml")
    file.write_text(
        file.read_text("utf-8").replace("people = 2, lead = true", "people = 0, lead = true", 1), encoding="utf-8"
    )
    assert load_scenario(Path("fresh")).scenario.crew.shifts[0].people == 0
