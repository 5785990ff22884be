"""The week's sheets hold all the work of the week and nothing else, in the order in which it is taken up."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from growsim.errors import InputError
from growsim.ledger.events import Packed, Sown, ToppedUp, Worked
from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.week import words as week_words
from growsim.run.prepare import prepare
from growsim.run.replicate import trace_on_paper
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot, StoredGreens
from growsim.scenario.shelves import Today
from growsim.study.week.question import Shortfall, supplies_of, week_plan
from growsim.study.week.tasks import lines_of_shifts

ROOMS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def room():
    """The tiny invented room."""
    return load_scenario(ROOMS / "tiny")


@pytest.fixture(scope="module")
def book(room):
    """Its log book on paper, ten weeks after a warm-up."""
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
        if line.task == "transplant" and not line.goes_on
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


MONDAY = dt.date(2031, 2, 10)
THURSDAY = dt.date(2031, 2, 13)  # when the tiny room's only partner collects 1 kg of leaf and 1.8 kg of heads


def from_shelves(room, *store):
    """The week of Monday 10 February from bare shelves and such a cooler, ten times over."""
    return week_plan(room, today=Today((), tuple(store)), date=MONDAY, seed=1, replications=10)


def test_orders_that_cannot_be_met_are_short_by_all_that_is_missing(room):
    """Nothing stands there, 0.4 kg of leaf lie in the cooler: 0.6 and 1.8 kg are missing, whatever the luck."""
    week = from_shelves(room, StoredGreens("left", "cutting leaf", 400, 1))

    told = [(each.crop, each.date, each.ordered, each.times, each.n) for each in week.at_risk]
    assert told == [("small head", THURSDAY, 1.8, 10, 10), ("cutting leaf", THURSDAY, 1.0, 10, 10)]
    assert [each.short for each in week.at_risk] == pytest.approx([1.8, 0.6])
    said = week_words.too_little(week)
    assert said == (
        "Trial pantry will likely lack 1.8 kg of 1.8 kg of small head on Thursday 13 February. "
        "Trial pantry will likely lack 0.60 kg of 1.0 kg of cutting leaf on Thursday 13 February."
    )
    thursday = next(sheet for sheet in week.sheets if sheet.date == THURSDAY)
    briefing = week_words.briefing(thursday, week.scenario, week.pick_ups)
    assert "Likely short: 1.8 kg of small head and 0.60 kg of cutting leaf." in briefing


def test_the_week_is_told_shift_by_shift_on_one_page(room):
    """What is short first, then work as the table sums it and greens; what is too long stands below the table."""
    week = from_shelves(room, StoredGreens("left", "cutting leaf", 400, 1))
    made = week_words.front(week)
    spent = made.spent()

    assert made.headline.startswith(f"{week_words.too_little(week)} The week of Monday 10 February has ")
    assert f"{sum(float(row.cells[2].text) for row in made.table.rows):.1f} hours of work" in made.headline
    assert made.sure.endswith("from 10 rehearsals; likely: in more than half of them.")
    assert [row.label for row in made.table.rows] == [sheet.shift.name for sheet in week.sheets]
    assert [row.cells[2].mean for row in made.table.rows] == [sheet.minutes / 60.0 for sheet in week.sheets]
    assert made.table.columns[0].of.endswith("from what stood on the shelves on Monday 10 February 2031")
    assert made.table.note == "If every order is met, 1 partner gets 2.8 kg."
    assert spent[0] <= MOST_WORDS and spent[1] <= MOST_NUMBERS
    assert week_words.below(week) == ""
    assert week_words.headline(replace(week, sheets=())) == "There is no shift in the week of Monday 10 February."


def test_nothing_is_said_where_nothing_is_short(room):
    """Two kilograms of each lie ready, harvested yesterday."""
    week = from_shelves(room, *(StoredGreens(crop, crop, 2000, 1) for crop in ("cutting leaf", "small head")))

    assert week.at_risk == ()
    assert week_words.headline(week).startswith("The week of ")


def test_an_old_count_is_doubted_as_in_a_promise(room):
    """Leaf sown three weeks before, and heads two weeks past their last day; a week without a count says nothing."""
    head = next(crop for crop in room.scenario.crops if crop.name == "small head")
    last = round(head.typical_days + head.overgrown_after_days)
    lots = (
        ShelfLot("leaf", "cutting leaf", "leaf", 20, 58, "rack"),
        ShelfLot("heads", "small head", "head", last + 14, 28, "rack"),
    )
    week = week_plan(room, today=Today(lots), date=MONDAY, seed=1, replications=2)

    said = week_words.how_sure(week)
    assert said.startswith("The newest sowing in it is of 21 January, 20 days before 10 February")
    assert "as good as lost: 28 plants of heads (small head)." in said
    assert week_words.the_count(week_plan(room, week=MONDAY, seed=1, replications=2)) == ""


def test_what_may_be_short_is_told_apart_from_what_likely_is(room):
    """Short in 4 of 10 rehearsals is no more than possible; in 6 of 10 it is likely."""
    week = from_shelves(room, *(StoredGreens(crop, crop, 2000, 1) for crop in ("cutting leaf", "small head")))
    maybe = Shortfall(THURSDAY, "trial pantry", "small head", 1.8, 0.7, 4, 10)
    likely = replace(maybe, crop="any", ordered=1.0, times=6)

    def said(*at_risk):
        (pick_up,) = week.pick_ups
        return week_words.too_little(replace(week, counted=None, pick_ups=(replace(pick_up, at_risk=at_risk),)))

    assert said(maybe) == "Trial pantry may lack 0.70 kg of 1.8 kg of small head on Thursday 13 February."
    least = replace(maybe, short=0.1)
    assert said(maybe, least, likely) == (
        "Trial pantry will likely lack 0.70 kg of 1.0 kg of any greens on Thursday 13 February. "
        "Trial pantry may lack 0.70 kg of 1.8 kg of small head on Thursday 13 February. 1 other order may be short too."
    )


def test_supplies_by_pencil() -> None:
    """What is sown, filled in and packed within the time, and no more: amounts and what each costs."""
    room = load_scenario(ROOMS / "tiny").scenario
    prices = room.prices.model_copy(
        update={
            "plug_each": 0.05, "nutrient_g_per_l": 2.0, "nutrient_per_kg": 8.0, "water_per_m3": 3.0,
            "packing_per_kg": 0.5,
        }
    )  # fmt: skip
    happened = {
        Sown: [SimpleNamespace(minute=minute, crop="small head", seeds=40, cells=40) for minute in (99, 100, 199, 200)],
        ToppedUp: [SimpleNamespace(minute=150, added_ml=70_500), SimpleNamespace(minute=201, added_ml=9_000)],
        Packed: [SimpleNamespace(minute=100, grams=2500), SimpleNamespace(minute=99, grams=800)],
    }
    found = supplies_of(
        SimpleNamespace(of=lambda kind: happened[kind]),  # type: ignore[arg-type]
        room.model_copy(update={"prices": prices}), 100, 200,
    )  # fmt: skip

    assert [(each.name, each.amount, each.unit, round(each.price, 4)) for each in found] == [
        ("seed of small head", 80, "seeds", 1.6),
        ("starter plugs", 80, "plugs", 4.0),
        ("dry nutrient", 0.141, "kg", 1.128),
        ("water for the reservoirs", 71, "L", 0.2115),
        ("packing, for greens of", 2.5, "kg", 1.25),
    ]
