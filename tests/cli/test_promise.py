"""`growsim promise ROOM --shelves TODAY`: what is printed, what is left behind, and what is refused."""

from __future__ import annotations

import datetime as dt
import json
import shlex
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main, options

TINY = str(Path(__file__).parents[2] / "scenarios" / "tiny")
QUICK = ["--date", "2031-02-10", "--weeks", "2", "--replications", "9", "--workers", "1"]
TABLE = "tray,crop,stage,sown,plants,where\na,small head,head,2031-01-13,28,rack\nb,cutting leaf,leaf,2031-01-20,58,\n"


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports go to ./reports of a folder with a shelves file in it."""
    monkeypatch.chdir(tmp_path)
    Path("today.csv").write_text(TABLE, encoding="utf-8")


def summary(folder: str) -> dict[str, Any]:
    """The summary.json a command left behind."""
    found = json.loads(Path(folder, "summary.json").read_text("utf-8"))
    assert isinstance(found, dict)
    return found


def test_the_answer_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """Sentences with their heads, and where the report lies."""
    assert main(["promise", TINY, "--shelves", "today.csv", *QUICK]) == 0

    out, err = capsys.readouterr()
    left = summary("reports/tiny-promise")
    assert " ".join(out.split()).startswith(" ".join(left["answer"][0].split()))
    assert all(cell["text"] in out for row in left["table"]["rows"] for cell in row["cells"])
    assert out.endswith("The whole report: reports/tiny-promise/report.html\n")
    assert err == ""
    assert (left["command"], left["replications"], left["days"], left["today"]) == ("promise", 9, 14, "2031-02-10")


def test_the_printed_command_gives_the_same_numbers(capsys: pytest.CaptureFixture[str]) -> None:
    """Typed again, and asked for JSON."""
    assert main(["promise", TINY, "--shelves", "today.csv", *QUICK, "--no-rescue", "--out", "once"]) == 0
    words = shlex.split(summary("once")["repeat_with"])
    capsys.readouterr()

    assert main([*words[1:], "--out", "twice", "--json"]) == 0

    assert json.loads(capsys.readouterr().out) == summary("once")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (["--date", "2031-02-30"], "--date: '2031-02-30' is no date of the calendar; give one such as 2031-01-06"),
        (["--date", "2031-01-15"], "line 3, sown: is 2031-01-20, and today is 2031-01-15"),
        (["--weeks", "0"], "--weeks: '0' is not possible; give a whole number from 1 to 104"),
        (["--replications", "8"], "--replications: '8' is not possible; give a whole number from 9"),
        (["--shelves", "nowhere.csv"], "nowhere.csv: there is no such file; check the name."),
    ],
)
def test_a_slip_is_told(change: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, one sentence, nothing left behind."""
    assert main(["promise", TINY, "--shelves", "today.csv", *QUICK, *change]) == 2

    assert said in capsys.readouterr().err
    assert not Path("reports").exists()


def test_an_old_count_is_said_to_be_one(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """By the computer's clock, which is only asked by the command: what is written down is the same on any day."""
    asked = ["promise", TINY, "--shelves", "today.csv", *QUICK, "--no-rescue"]
    told = {}
    for day in (dt.date(2031, 2, 17), dt.date(2031, 3, 1)):
        monkeypatch.setattr(options, "system_date", lambda day=day: day)
        assert main([*asked, "--out", day.isoformat()]) == 0
        told[day] = capsys.readouterr().out

    mind = "Mind: the count is of 2031-02-10, 19 days ago, and the promises begin on that day; count the shelves again"
    assert [mind in out for out in told.values()] == [False, True]
    assert summary("2031-02-17") == summary("2031-03-01")
