"""Sowing plans and promises, asked from Python."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

import growsim
from growsim.errors import InputError
from growsim.study.sow import question

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def test_promise_answers_with_a_table(tmp_path: Path) -> None:
    """As `growsim promise` does; a date as a text or as a date."""
    shelves = tmp_path / "today.csv"
    shelves.write_text("lot,crop,stage,sown,plants\na,cutting leaf,leaf,2031-01-20,58\n", encoding="utf-8")

    one = growsim.promise(TINY, shelves, date="2031-02-10", weeks=2, replications=9, rescue=False)
    other = growsim.promise(str(TINY), str(shelves), date=dt.date(2031, 2, 10), weeks=2, replications=9, rescue=False)

    assert one == other
    assert len(one.to_frame().query("partner == ''")) == 2 * 3
    assert one.seed == 7  # the room file's


def test_a_date_that_is_none_is_refused(tmp_path: Path) -> None:
    """In one sentence."""
    with pytest.raises(InputError, match="date: '10 February' is no date of the calendar"):
        growsim.promise(TINY, tmp_path / "today.csv", date="10 February")


def test_sow_answers_with_a_table(monkeypatch: pytest.MonkeyPatch) -> None:
    """As `growsim sow` does."""
    monkeypatch.setattr(question, "TRIAL_YEARS", 2)
    plan = growsim.sow(TINY, days=56, replications=2, certainty=0.8)

    assert plan.certainty == 0.8
    assert set(plan.to_frame().crop) == {"cutting leaf", "small head"}
