"""`growsim sheet ROOM`: of which week the sheets are. No test here asks the computer what day it is."""

from __future__ import annotations

import datetime as dt
import json
import shlex
from pathlib import Path

import pytest

from growsim.cli import main, options
from growsim.scenario.load import load_scenario

TINY = str(Path(__file__).parents[2] / "scenarios" / "tiny")
QUICK = ["--replications", "2", "--workers", "1", "--json"]
REHEARSAL = load_scenario(Path(TINY)).scenario
START = REHEARSAL.room.start_date
LAST = START + dt.timedelta(days=REHEARSAL.rehearsal.days - 1)


def monday(day: dt.date) -> str:
    """The Monday of that week."""
    return (day - dt.timedelta(days=day.weekday())).isoformat()


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports go to ./reports of an empty folder."""
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("today", "week"),
    [
        (START - dt.timedelta(days=1), START),
        (START, START),
        (START + dt.timedelta(days=30), START + dt.timedelta(days=30)),
        (LAST, LAST),
        (LAST + dt.timedelta(days=1), START),
    ],
    ids=["before", "first day", "within", "last day", "after"],
)
def test_the_week_is_this_one_where_the_room_has_it(
    today: dt.date, week: dt.date, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Within the counted time it is today's week, else the room's first; the command printed names it."""
    monkeypatch.setattr(options, "system_date", lambda: today)

    assert main(["sheet", TINY, *QUICK]) == 0

    words = shlex.split(json.loads(capsys.readouterr().out)["repeat_with"])
    assert words[words.index("--week") + 1] == monday(week)


def test_what_is_asked_for_comes_first(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """A week that is named, or the day of a count, is not moved to today."""
    monkeypatch.setattr(options, "system_date", lambda: START + dt.timedelta(days=30))
    Path("today.csv").write_text(
        "lot,crop,stage,sown,plants,rack\na,small head,head,2031-01-13,28,rack\n", encoding="utf-8"
    )

    for asked, week in (
        (["--week", "2031-03-05"], "2031-03-03"),
        (["--shelves", "today.csv", "--date", "2031-02-10"], "2031-02-10"),
    ):
        assert main(["sheet", TINY, *asked, *QUICK, "--replace"]) == 0
        assert Path("reports/tiny-sheet/summary.json").is_file()
        said = json.loads(capsys.readouterr().out)
        words = shlex.split(said["repeat_with"])
        assert monday(dt.date.fromisoformat(words[words.index("--week") + 1])) == week


def test_a_count_of_weeks_ago_is_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """By this computer's clock, as a promise tells it; sentences have their heads."""
    monkeypatch.setattr(options, "system_date", lambda: dt.date(2031, 3, 1))
    Path("today.csv").write_text(
        "lot,crop,stage,sown,plants,rack\na,small head,head,2031-01-13,28,rack\n", encoding="utf-8"
    )
    for counted, is_old in (("2031-02-10", True), ("2031-02-24", False)):
        asked = ["sheet", TINY, "--shelves", "today.csv", "--date", counted, "--replace", *QUICK[:-1]]
        assert main(asked) == 0
        told = capsys.readouterr().out
        assert "The week of Monday" in " ".join(told.split())
        assert ("Mind: the count is of 2031-02-10, 19 days ago" in told) is is_old
