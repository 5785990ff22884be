"""Starting from what stands on the shelves: as a room would stand that had grown it."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from statistics import fmean, stdev

import pytest

from growsim.ledger.events import Found, Germinated, HandedOut, Harvested, SowingSkipped, Sown, Transplanted
from growsim.ledger.measures import measure
from growsim.room.standing import still_to_sow
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate, trace
from growsim.scenario.demand import Sowing
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot, StoredGreens
from growsim.scenario.scenario import Scenario
from growsim.study.today import room_today
from growsim.vocabulary.days import WEEKDAYS

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
HEADS = ShelfLot("heads", "small head", "head", 28, 60, "rack")
SHEET = ShelfLot("sheet", "cutting leaf", "seedling", 1, 60)


@pytest.fixture(scope="module")
def bare() -> Scenario:
    """The tiny room with nothing to sow."""
    return load_scenario(TINY).scenario.model_copy(update={"sowing": ()})


@pytest.fixture(scope="module")
def prepared(bare: Scenario) -> Prepared:
    """The same, with its curves."""
    return prepare(bare)


def started(days: int, *lots: ShelfLot) -> RunPlan:
    """A start from these shelves."""
    return RunPlan(days, start="shelves", shelves=lots)


def test_seeds_that_are_not_up_yet_come_up_with_luck(prepared: Prepared) -> None:
    """A sheet sown yesterday: 60 cells of two seeds, 85 % of them germinate; the cells that stay empty follow."""
    books = [trace(prepared, 5, i, started(7, SHEET)) for i in range(40)]

    assert [found.plants for found in books[0].of(Found)] == [120]
    up = [record for book in books for record in book.of(Germinated)]
    assert len(up) == 40
    assert all(record.minute < 3 * 1440 for record in up)
    filled = [record.filled_cells / 60 for record in up]
    expected = 1 - fmean((1 - 0.85) ** 2 for _ in up) - 0.04**2  # spread from lot to lot costs its variance
    half = 4 * stdev(filled) / math.sqrt(len(filled))
    assert half < 0.02
    assert abs(fmean(filled) - expected) < half


def test_every_plant_on_the_shelves_has_a_fate(bare: Scenario) -> None:
    """Seeds, plants and plants that were harvested before: `measure` accounts for each, or it would refuse."""
    leaf = bare.crops[0].model_copy(update={"harvests": 2, "regrowth_days": 10.0})
    room = bare.model_copy(update={"crops": (leaf, *bare.crops[1:])})
    stubble = ShelfLot("stubble", "cutting leaf", "leaf", 33, 55, harvests=1)
    plan = started(28, HEADS, SHEET, stubble)

    outcome = replicate(prepare(room), 5, 0, plan)

    assert sum(outcome.fates.values()) == 60 + 120
    assert outcome.measures["plants_harvested"] > 60


@pytest.mark.parametrize(("days", "due"), [(7, 7), (4, 7), (2, 7), (1, 13)])
def test_what_was_sown_late_is_moved_as_planned(days: int, due: int) -> None:
    """Heads are sown on Mondays and moved 14 days later (the made-up room file). Day 0 is a Monday: sown on that of a
    week ago, on the Thursday or Saturday after it, they are moved on day 7; on the Sunday after it a sowing is no
    longer made, so one of that day was nobody's plan, and is moved 14 days later.
    """
    room = load_scenario(TINY).scenario
    daily = [room.crew.shifts[0].model_copy(update={"name": day, "weekday": day, "hours": 12.0}) for day in WEEKDAYS]
    people = room.model_copy(update={"crew": room.crew.model_copy(update={"shifts": tuple(daily)})})
    seedlings = ShelfLot("heads", "small head", "seedling", days, 24, "rack")

    moved = [
        record.minute // 1440
        for record in trace(prepare(people), 5, 0, started(21, seedlings)).of(Transplanted)
        if record.lot == "on the shelves/heads"
    ]

    assert room.room.start_date.weekday() == 0
    assert moved == [due]


def test_stubble_is_cut_once_more_and_weighs_less(bare: Scenario) -> None:
    """Leaf harvested once and grown again: the book's next harvest is its second."""
    leaf = bare.crops[0].model_copy(update={"harvests": 2, "regrowth_days": 10.0})
    room = prepare(bare.model_copy(update={"crops": (leaf, *bare.crops[1:])}))

    def grams_each(days: int, harvests: int) -> tuple[float, int]:
        lot = ShelfLot("leaf", "cutting leaf", "leaf", days, 55, harvests=harvests)
        first = next(iter(trace(room, 5, 0, started(21, lot)).of(Harvested)))
        return first.grams / first.plants, first.number

    (fresh_g, fresh_number), (again_g, again_number) = grams_each(25, 0), grams_each(35, 1)

    assert (fresh_number, again_number) == (1, 2)
    assert 0.5 * fresh_g < again_g < 0.7 * fresh_g  # a later harvest weighs 0.6 as much


def calm(bare: Scenario, **crops: dict[str, object]) -> Scenario:
    """The room without machines' and hands' troubles: twelve hours of people a day, air however many plants stand."""
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    every = [bare.crew.shifts[0].model_copy(update={"name": day, "weekday": day, "hours": 12.0}) for day in days]
    return bare.model_copy(
        update={
            "crew": bare.crew.model_copy(update={"shifts": tuple(every)}),
            "harvest": bare.harvest.model_copy(update={"weekdays": days}),
            "crops": tuple(crop.model_copy(update=crops.get(crop.name.split()[-1], {})) for crop in bare.crops),
            "co2": bare.co2.model_copy(update={"setpoint_ppm": 420.0, "supply_kg_per_day": 5.0}),
        }
    )


def sown_on_the_first_day(room: Scenario, line: int) -> Prepared:
    """The room with 24 cells of that line of its plan, sown once."""
    sowing = (
        load_scenario(TINY)
        .scenario.sowing[line]
        .model_copy(update={"until_date": room.room.start_date + dt.timedelta(days=6), "cells": 24})
    )
    return prepare(room.model_copy(update={"sowing": (sowing,)}))


def agree(grown: list[float], found: list[float]) -> None:
    """Means within three standard errors that are small enough, and spreads alike."""
    error = math.sqrt((stdev(grown) ** 2 + stdev(found) ** 2) / len(grown))
    assert error < 0.6
    assert abs(fmean(grown) - fmean(found)) < 3 * error
    assert 0.6 < stdev(found) / stdev(grown) < 1.4


def test_a_lot_of_today_ripens_as_one_that_was_grown_here(bare: Scenario) -> None:
    """Heads on their 30th day ripen when heads sown 30 days ago and grown in the same room do, spread and all: the
    lot's own slowness or speed has been at work for all its life, not only from today on.
    """
    room = calm(bare, head={"days_spread_cv": 0.1})
    sown_here, found_here = sown_on_the_first_day(room, 1), prepare(room)
    lot = ShelfLot("a", "small head", "head", 30, 24)

    grown = [harvest_day(sown_here, i, RunPlan(60, start="empty"), 0) for i in range(60)]
    found = [harvest_day(found_here, i, started(30, lot), 30) for i in range(60)]

    agree(grown, found)


@pytest.mark.parametrize(
    ("later", "regrowth_days"), [(0, 11), (1, 11), (3, 11), (4, 11), (5, 11), (6, 13), (0, 7), (2, 7), (4, 7)]
)
def test_what_was_harvested_grows_again_from_a_harvest_day(bare: Scenario, later: int, regrowth_days: float) -> None:
    """Leaf is harvested on Thursdays alone, whatever day it is ripe: counted the day after, it is harvested again on
    the day on which leaf grown here is. (2, 7) is ripe within hours of a Thursday: what would have been harvested
    twice by now was just not ripe then.
    """
    slow = bare.crops[0].stages[1].model_copy(update={"days": 13.0 + later})
    leaf = {
        "days_spread_cv": 0.0,
        "harvests": 2,
        "regrowth_days": regrowth_days,
        "stages": (bare.crops[0].stages[0], slow),
    }
    room = calm(bare, leaf=leaf)
    room = room.model_copy(update={"harvest": bare.harvest.model_copy(update={"weekdays": ("thu",)})})
    book = trace(sown_on_the_first_day(room, 0), 11, 0, RunPlan(70, start="empty"))
    first, second = (cut.minute // 1440 for cut in book.of(Harvested))
    today = room_today(room, room.room.start_date + dt.timedelta(days=first + 1))

    lot = ShelfLot("a", "cutting leaf", "leaf", first + 1, 24, harvests=1)
    found = next(iter(trace(prepare(today), 11, 0, started(30, lot)).of(Harvested)))

    assert found.minute // 1440 + first + 1 == second


def harvest_day(room: Prepared, replication: int, plan: RunPlan, age: int) -> float:
    """Days from sowing to the first harvest."""
    book = trace(room, 11, replication, plan)
    measure(book, room.scenario, plan, replication)
    return next(iter(book.of(Harvested))).minute / 1440 + age


def test_greens_in_the_cooler_go_to_whoever_comes(prepared: Prepared) -> None:
    """Two kilograms from last Thursday: too old for this Thursday, handed out on Friday if harvested on Saturday."""

    def handed_out(days_since_harvest: int) -> list[tuple[str, int]]:
        greens = (StoredGreens("a", "cutting leaf", 2000, days_since_harvest),)
        book = trace(prepared, 5, 0, RunPlan(7, start="shelves", cooler=greens))
        return [(given.partner, given.grams) for given in book.of(HandedOut)]

    assert handed_out(4) == []  # seven days old at Wednesday noon
    assert handed_out(2) == [("trial pantry", 1000), ("", 1000)]


def test_plants_without_a_slot_are_refused(prepared: Prepared) -> None:
    """A file that was checked cannot get here; a plan made by hand can."""
    too_many = ShelfLot("heads", "small head", "head", 20, 12 * 13)

    with pytest.raises(ValueError, match="do not fit"):
        trace(prepared, 5, 0, started(7, too_many))


def sowings(scenario: Scenario, today: int, *lots: ShelfLot, days: int = 8) -> set[tuple[str, str, int]]:
    """(crop, planned date, day on which it was sown) of a week from that weekday on (0 is a Monday)."""
    later = scenario.model_copy(
        update={"room": scenario.room.model_copy(update={"start_date": dt.date(2031, 1, 6) + dt.timedelta(days=today)})}
    )
    book = trace(prepare(later), 3, 0, started(days, *lots))
    return {(sown.crop, sown.lot.split("/")[0], sown.minute // 1440) for sown in book.of(Sown)}


def test_what_was_due_this_week_and_does_not_stand_is_still_sown() -> None:
    """Counted on a Tuesday, with Monday's leaf in its tray and no heads: the heads are sown at Thursday's shift, as
    Monday's. Common practice, no source."""
    tiny = load_scenario(TINY).scenario

    assert sowings(tiny, 1, SHEET, days=6) == {("small head", "2031-01-06", 2)}


def test_what_stands_is_not_sown_again() -> None:
    """Both of Monday's sowings stand, though not all of their seed came up."""
    tiny = load_scenario(TINY).scenario
    heads = ShelfLot("heads", "small head", "seedling", 1, 25)

    assert sowings(tiny, 1, SHEET, heads, days=6) == set()


def test_an_older_tray_is_not_taken_for_the_sowing_due() -> None:
    """Heads of the week before are not this Monday's."""
    tiny = load_scenario(TINY).scenario
    heads = ShelfLot("heads", "small head", "seedling", 8, 25)

    assert sowings(tiny, 1, SHEET, heads, days=6) == {("small head", "2031-01-06", 2)}


def test_a_sowing_past_its_last_day_is_not_made_up_for() -> None:
    """On Sunday Monday's sowings are six days old: only those of the next day are sown."""
    tiny = load_scenario(TINY).scenario

    assert {date for _, date, _ in sowings(tiny, 6, days=6)} == {"2031-01-13"}


def test_a_sowing_that_is_made_up_for_keeps_its_deadline() -> None:
    """Monday's sowings counted on Friday: no shift before Monday, when their six days are over; they are skipped."""
    tiny = load_scenario(TINY).scenario
    friday = tiny.model_copy(update={"room": tiny.room.model_copy(update={"start_date": dt.date(2031, 1, 10)})})
    book = trace(prepare(friday), 3, 0, started(6))

    assert {(skipped.minute, skipped.held_up) for skipped in book.of(SowingSkipped)} == {(2 * 1440, "no shift")}


def test_two_sowings_of_a_crop_take_from_what_stands_in_turn() -> None:
    """Two lines of 60 cells due four and two days ago: 110 cells stand for both, 50 for one of them alone."""
    first = Sowing(name="a", crop="leaf", cells=60, weekday="mon")
    second = first.model_copy(update={"name": "b"})
    due = [(-2, second), (-4, first)]

    assert still_to_sow(due, (ShelfLot("x", "leaf", "seedling", 2, 110),)) == []
    assert still_to_sow(due, (ShelfLot("x", "leaf", "seedling", 4, 50),)) == [(-2, second)]
    assert still_to_sow(due, (ShelfLot("x", "leaf", "seedling", 2, 50),)) == [(-2, second)]
    assert still_to_sow(due, (ShelfLot("x", "other", "seedling", 2, 50),)) == [(-4, first), (-2, second)]
    assert still_to_sow([(-6, first), (0, second)], ()) == []
