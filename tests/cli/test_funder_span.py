"""`growsim funder` of any days: from a date, until a date, as long as said; without a record."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest

from growsim.__main__ import main
from growsim.errors import InputError
from growsim.study.funder.record import span_of

TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
FEW = ["--replications", "2", "--workers", "1"]
MONDAY = dt.date(2031, 1, 6)


def test_any_quarter(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The third quarter of 2031: 92 days, told as such, and said so in the command that repeats it."""
    span = ["--from", "2031-07-01", "--until", "2031-09-30"]

    assert main(["funder", str(TINY), *span, *FEW, "--out", str(tmp_path / "q3"), "--json"]) == 0

    summary = json.loads(capsys.readouterr().out)
    assert summary["days"] == 92
    assert summary["repeat_with"].count("2031-07-01") == 1
    assert "--days" not in summary["repeat_with"]
    page = (tmp_path / "q3" / "report.html").read_text(encoding="utf-8")
    assert "From 1 Jul 2031 to 30 Sep 2031" in page


def test_what_days_are_told_of() -> None:
    """From the room's first day for a year or a quarter, unless a day is named."""
    assert span_of(MONDAY, 364) == (MONDAY, 364)
    assert span_of(MONDAY, 91, since=dt.date(2031, 4, 1)) == (dt.date(2031, 4, 1), 91)
    assert span_of(MONDAY, 364, until=dt.date(2031, 1, 12)) == (MONDAY, 7)
    assert span_of(MONDAY, 364, since=dt.date(2031, 4, 1), until=dt.date(2031, 6, 30)) == (dt.date(2031, 4, 1), 91)


@pytest.mark.parametrize(
    ("since", "until", "told"),
    [
        (None, dt.date(2031, 1, 11), "is less than a week; give 2031-01-12"),
        (dt.date(2031, 4, 1), dt.date(2031, 3, 1), "is less than a week; give 2031-04-07"),
        (None, dt.date(2131, 3, 1), "is more than 36500 days"),
        (dt.date(3031, 4, 1), None, "is 3031-04-01; give a year from 1900 to 2900"),
    ],
)
def test_days_that_cannot_be(since: dt.date | None, until: dt.date | None, told: str) -> None:
    """A week at the least, a hundred years at the most."""
    with pytest.raises(InputError, match=told):
        span_of(MONDAY, 364, since=since, until=until)


@pytest.mark.parametrize("also", [["--days", "91"], ["--period", "quarter"]])
def test_a_last_day_and_a_length_are_one_too_many(
    also: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """How long a time is said once."""
    assert main(["funder", str(TINY), "--until", "2031-06-30", *also, *FEW, "--out", str(tmp_path / "x")]) == 2
    assert "give one of the two" in capsys.readouterr().err
