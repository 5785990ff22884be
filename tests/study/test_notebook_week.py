"""Records and weeks, asked from Python."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from kept_records import as_csv, kept

import growsim
from growsim.errors import InputError
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study import notebook_plans as notebook_week
from growsim.study.notebook_plans import date_from

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def test_learn_answers_with_a_table(tmp_path: Path) -> None:
    """As `growsim learn` does: a row a figure, each range around its mean; rows before `since` are set aside."""
    scenario = load_scenario(TINY).scenario
    as_csv(kept(trace(prepare(scenario), 41, 0, RunPlan(days=84, warm_up_days=56)), scenario), tmp_path)

    learned = growsim.learn(TINY, tmp_path)
    later = growsim.learn(str(TINY), str(tmp_path), since=scenario.room.start_date + dt.timedelta(days=28))

    frame = learned.to_frame()
    assert len(frame) == len(learned.figures) > 5
    assert (frame.after_low <= frame.after_high).all()
    assert frame.query("records > 0").prior_share.between(0, 1, inclusive="left").all()
    assert later.to_frame().records.sum() < frame.records.sum()
    assert len(later.records.set_aside) > len(learned.records.set_aside)


def test_sheet_answers_with_a_table() -> None:
    """As `growsim sheet` does: lines of work of seven days, in order within each shift."""
    week = growsim.sheet(TINY, week="2031-02-12", replications=2)

    frame = week.to_frame()
    assert week.monday == dt.date(2031, 2, 10)
    assert set(frame.date) <= {(week.monday + dt.timedelta(days=day)).isoformat() for day in range(7)}
    assert all(list(shift.order) == list(range(1, len(shift) + 1)) for _, shift in frame.groupby(["date", "shift"]))


@pytest.mark.parametrize(
    ("today", "monday"),
    [("2031-02-12", "2031-02-10"), ("2031-01-05", "2031-01-06"), ("2035-01-01", "2031-01-06")],
    ids=["within", "before", "after"],
)
def test_sheet_begins_with_the_week_of_today(today: str, monday: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """As the command does: where the room's counted time (from Monday 6 January 2031) holds it, else the first."""
    monkeypatch.setattr(
        notebook_week, "date_from", lambda given: dt.date.fromisoformat(today) if given is None else date_from(given)
    )

    assert growsim.sheet(TINY, replications=1).monday == dt.date.fromisoformat(monday)
    assert growsim.sheet(TINY, week="2031-03-05", replications=1).monday == dt.date(2031, 3, 3)


def test_a_week_that_is_none_is_refused() -> None:
    """In one sentence."""
    with pytest.raises(InputError, match="date: 'next week' is no date of the calendar"):
        growsim.sheet(TINY, week="next week")
