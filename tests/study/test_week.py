"""The week's sheets hold all the work of the week and nothing else, in the order in which it is taken up."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from growsim.errors import InputError
from growsim.ledger.events import Packed, Sown, Worked
from growsim.run.prepare import prepare
from growsim.run.replicate import trace_on_paper
from growsim.spec.load import load_scenario
from growsim.spec.plan import RunPlan
from growsim.study.tasks_done import lines_of_shifts
from growsim.study.week import week_plan

ROOMS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def room():
    """The tiny invented room."""
    return load_scenario(ROOMS / "tiny")


@pytest.fixture(scope="module")
def book(room):
    """Its log book on paper, ten weeks after a run-in."""
    return trace_on_paper(prepare(room.scenario), RunPlan(70, 56, "filled"))


def test_every_minute_worked_is_on_a_sheet(room, book):
    """Person-minutes on the sheets are those in the log book, to the minute."""
    lines = lines_of_shifts(book, room.scenario)
    on_sheets = sum(line.minutes for shift in lines.values() for line in shift)

    assert sum(piece.minute - piece.began_minute for piece in book.of(Worked)) == on_sheets


def test_sowings_and_packing_on_the_sheets_are_those_of_the_book(room, book):
    """Cells sown and kilograms packed agree, each task counted once however many shifts it took."""
    lines = [line for shift in lines_of_shifts(book, room.scenario).values() for line in shift if not line.goes_on]

    assert sum(sown.cells for sown in book.of(Sown)) == sum(line.count for line in lines if line.task == "sow")
    assert sum(packed.grams for packed in book.of(Packed)) / 1000 == pytest.approx(
        sum(line.count for line in lines if line.task == "pack")
    )


def test_a_move_says_from_where_to_where(room, book):
    """Every move names the rack it goes to and how many trays it fills."""
    moves = [
        line
        for shift in lines_of_shifts(book, room.scenario).values()
        for line in shift
        if line.task == "move" and not line.goes_on
    ]

    assert moves
    assert [line for line in moves if not line.to or line.trays < 1 or not line.crop] == []


def test_a_week_begins_on_its_monday_and_lists_its_own_shifts(room):
    """Whatever day of the week is asked for."""
    start = room.scenario.room.start_date
    week = week_plan(room, week=start + dt.timedelta(days=10), seed=1, replications=2)

    assert week.monday.weekday() == 0
    assert week.monday <= start + dt.timedelta(days=10) < week.monday + dt.timedelta(days=7)
    assert len(week.sheets) == len(room.scenario.crew.shifts)
    assert {sheet.date - week.monday < dt.timedelta(days=7) for sheet in week.sheets} == {True}
    assert len(week.to_frame()) == sum(len(sheet.lines) for sheet in week.sheets)


def test_a_week_before_the_room_began_is_refused(room):
    """In one sentence."""
    with pytest.raises(InputError, match="give a later date"):
        week_plan(room, week=room.scenario.room.start_date - dt.timedelta(days=30), seed=1, replications=1)


def test_a_closed_day_has_no_sheet(room):
    """Nobody comes in on it."""
    monday = room.scenario.room.start_date + dt.timedelta(days=7)
    open_week = week_plan(room, week=monday, seed=1, replications=1)
    closed = open_week.sheets[0].date
    shut = room.scenario.model_copy(update={"room": room.scenario.room.model_copy(update={"closed_days": (closed,)})})

    closed_week = week_plan(replace(room, scenario=shut), week=monday, seed=1, replications=1)

    assert closed not in {sheet.date for sheet in closed_week.sheets}


def test_a_shift_that_is_not_held_in_a_month_has_no_sheet(room):
    """The second shift only in the month after: its sheet is missing, the first is there."""
    monday = room.scenario.room.start_date + dt.timedelta(days=7)
    first, second = room.scenario.crew.shifts
    later = second.model_copy(update={"months": (monday.month % 12 + 1,)})
    crew = room.scenario.crew.model_copy(update={"shifts": (first, later)})
    rare = replace(room, scenario=room.scenario.model_copy(update={"crew": crew}))

    week = week_plan(rare, week=monday, seed=1, replications=1)

    assert [sheet.shift.name for sheet in week.sheets] == [first.name]
