"""Today becomes day 0; plan and calendar keep their dates."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.ledger.events import Sown
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.demand import Sowing
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot
from growsim.study.today import room_today
from growsim.vocabulary.days import WEEKDAYS

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
START = TINY.room.start_date  # Monday 6 January 2031


def sowing_days(line: Sowing, start: dt.date, end: dt.date) -> list[dt.date]:
    """Days on which a line falls due, by the plain rule: its weekday, every so many weeks from the first on."""
    first = start + dt.timedelta(days=(WEEKDAYS.index(line.weekday) - start.weekday()) % 7, weeks=line.first_week)
    days = []
    while first < end:
        if (line.from_date is None or first >= line.from_date) and (
            line.until_date is None or first <= line.until_date
        ):
            days.append(first)
        first += dt.timedelta(weeks=line.every_weeks)
    return days


@given(
    st.sampled_from(WEEKDAYS), st.integers(1, 5), st.integers(0, 6), st.integers(0, 80), st.sampled_from([None, 20, 60])
)
def test_sowings_keep_their_dates(weekday: str, every: int, first_week: int, later: int, from_day: int | None) -> None:
    """A plan of every so many weeks is sown on the same dates, whichever day is called today."""
    from_date = None if from_day is None else START + dt.timedelta(days=from_day)
    line = Sowing(name="a", crop="small head", cells=30, weekday=weekday, every_weeks=every, first_week=first_week)
    line = line.model_copy(update={"from_date": from_date})
    today, end = START + dt.timedelta(days=later), START + dt.timedelta(days=200)
    (moved,) = room_today(TINY.model_copy(update={"sowing": (line,)}), today).sowing

    assert sowing_days(moved, today, end) == [day for day in sowing_days(line, START, end) if day >= today]


@given(st.integers(1, 200), st.integers(1, 5))
def test_a_plan_that_begins_later_is_in_step_before_it_too(earlier: int, every: int) -> None:
    """Today may lie before the room file's start date: the running plan goes on in step."""
    line = TINY.sowing[0].model_copy(update={"every_weeks": every})
    today = START - dt.timedelta(days=earlier)
    (moved,) = room_today(TINY.model_copy(update={"sowing": (line,)}), today).sowing

    days = sowing_days(moved, today, START + dt.timedelta(days=90))
    assert sowing_days(line, START, START + dt.timedelta(days=90)) == [day for day in days if day >= START]


def test_what_was_sown_today_is_not_sown_again() -> None:
    """Sheets counted after this morning's sowing: the plan's leaf of today is taken as done, its heads are not."""
    sheet = ShelfLot("a", "cutting leaf", "seedling", 0, 60)
    room = room_today(TINY, START, (sheet,))

    book = trace(prepare(room), 1, 0, RunPlan(8, start="shelves", shelves=(sheet,)))

    sown = {(sown.crop, sown.minute // 1440) for sown in book.of(Sown)}
    assert sown == {("small head", 0), ("cutting leaf", 7), ("small head", 7)}


def test_a_line_that_has_not_begun_was_not_due_before() -> None:
    """Every two weeks from the second Wednesday on: on the first Monday nothing of it is missing. In a plan that runs,
    today in its fifth week, the Wednesday before is."""
    line = TINY.sowing[0].model_copy(update={"weekday": "wed", "every_weeks": 2, "first_week": 1})
    room = TINY.model_copy(update={"sowing": (line,)})

    def sown_by_tuesday(today: dt.date) -> int:
        book = trace(prepare(room_today(room, today)), 1, 0, RunPlan(2, start="shelves"))
        return len(list(book.of(Sown)))

    assert sown_by_tuesday(START) == 0
    assert sown_by_tuesday(START + dt.timedelta(weeks=4)) == 1
    assert sown_by_tuesday(START + dt.timedelta(weeks=3)) == 0


def test_a_planned_outage_keeps_its_day() -> None:
    """Planned for the 10th day; twelve days later it is over."""
    outage = PlannedOutage(name="no power", machine="power", start_day=10, start_hour=8, hours=5)
    room = TINY.model_copy(update={"outages": (outage,)})

    assert room_today(room, START + dt.timedelta(days=4)).outages[0].start_day == 6
    assert room_today(room, START + dt.timedelta(days=12)).outages == ()


@pytest.mark.parametrize("later", [0, 30])
def test_closed_days_are_dates(later: int) -> None:
    """They stay as they are."""
    today = START + dt.timedelta(days=later)
    assert room_today(TINY, today).room == TINY.room.model_copy(update={"start_date": today})
