"""Every measure, weekly series and account worked out by hand on a book of a few happenings."""

from __future__ import annotations

import math
from typing import Any

import pytest
from small_rooms import scenario_of, tables

from growsim.ledger.book import Book
from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.events import (
    FloodMissed,
    Found,
    Germinated,
    HandedOut,
    Harvested,
    Lost,
    MetersRead,
    Noticed,
    OrderServed,
    Packed,
    Repaired,
    ShiftHeld,
    SowingSkipped,
    Sown,
    Standing,
    TaskDone,
    TaskDue,
    ToppedUp,
    Transplanted,
    Wasted,
    WentDown,
    Worked,
)
from growsim.ledger.measures import _ratios, measure
from growsim.ledger.outcome import Outage, Outcome
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

DAY, WEEK = 1440, 10080
PRICES = {
    "electricity_per_kwh": 0.2,
    "water_per_m3": 4,
    "nutrient_g_per_l": 1.5,
    "nutrient_per_kg": 10,
    "plug_each": 0.05,
    "packing_per_kg": 0.5,
    "co2_per_kg": 2,
    "fixed_per_week": 30,
    "lead_hour": 20,
    "volunteer_hour_value": 33,
    "wash_liters_per_tray": 6,
}


def scenario() -> Scenario:
    """The round room (8 slots) with prices; 1,000 seeds cost 10."""
    raw = tables()
    raw["prices"] = PRICES
    raw["harvest"]["serving_g"] = 80
    return scenario_of(raw)


def two_weeks() -> Book:
    """A week of warm-up and two counted weeks."""
    book = Book(-WEEK)
    for record in (
        Sown(-DAY, "old", 1, "lettuce", 5, 10, "rack"),
        MetersRead(-WEEK, 0, 0, 0, 0, 0, 21.0),
        FloodMissed(-5, "reservoir", "power"),
        MetersRead(0, 100, 10, 50, 20, 3000, 22.0),
        Sown(600, "new", 1, "lettuce", 10, 20, "rack"),
        Found(0, "found", 1, "lettuce", 7, "head", "rack", False),
        ToppedUp(700, "reservoir", 500, 0, 500, 100_000, 1.6, True),
        Germinated(5000, "new", 1, "lettuce", 8, 6, 6),
        Lost(5000, "new", 1, "lettuce", 6, "not_emerged", "seedling", False),
        Lost(5100, "new", 1, "lettuce", 6, "thinned", "seedling", False),
        Lost(5200, "new", 1, "lettuce", 1, "transplanting", "head", False),
        Lost(5300, "new", 1, "lettuce", 1, "too_small", "head", False),
        Lost(5400, "old", 1, "lettuce", 2, "heat", "head", False),  # sown before the window
        Lost(5500, "found", 1, "lettuce", 3, "dried_out", "head", False),
        TaskDue(5600, "harvest", "x", 10, 45, 6000),
        TaskDue(5600, "wash", "x", 3, 15, 6000),
        Worked(5660, "Monday/1", "harvest", "x", 5600),
        TaskDone(5660, "harvest", "x", 6000, 60, True),
        Harvested(5660, "old", 1, "lettuce", 4, 400, 1, 2, -DAY, "rack"),
        Packed(5700, "old", 1, "lettuce", 400),
        Harvested(6000, "found", 1, "lettuce", 4, 200, 1, 0, -4 * DAY, "rack"),
        Packed(6010, "found", 1, "lettuce", 200),
        HandedOut(6060, "old", "lettuce", "pantry", 300, 5660),
        OrderServed(6060, "pantry", "lettuce", 500, 300),
        HandedOut(7200, "found", "lettuce", "", 200, 6000),
        ShiftHeld(7300, "Monday", 3, 2, 3, True, 240, 120, 60),
        SowingSkipped(7400, "skip", "lettuce", 10, "no slot"),
        WentDown(8000, "pump", "reservoir"),
        WentDown(8100, "power", ""),
        FloodMissed(8200, "reservoir", "power"),
        Repaired(8300, "power", "", 200, 0.0),
        Noticed(8400, "pump", "reservoir", "walk-through"),
        Repaired(9000, "pump", "reservoir", 1000, 70.0),
        MetersRead(WEEK, 130, 11, 56, 24, 3500, 25.0),
        TaskDone(WEEK + 1, "wash", "x", 6000, 20, True),  # late
        TaskDue(WEEK + 2, "thin", "y", 5, 5, WEEK + 100),
        TaskDone(WEEK + 50, "thin", "y", WEEK + 100, 0, False),  # given up
        Harvested(WEEK + 900, "found", 1, "lettuce", 4, 100, 2, 1, -4 * DAY, "rack"),
        Lost(WEEK + 950, "found", 1, "lettuce", 1, "too_small", "head", True),
        Wasted(WEEK + 1000, "old", "lettuce", 100),
        OrderServed(WEEK + 2000, "pantry", "lettuce", 500, 500),
        HandedOut(WEEK + 2000, "found", "lettuce", "pantry", 500, WEEK + 900),
        ShiftHeld(WEEK + 2100, "Monday", 3, 3, 3, False, 360, 0, 0),
        WentDown(WEEK + 3000, "lights", "lights"),
        MetersRead(2 * WEEK, 150, 12, 58, 28, 3600, 23.0),
        ToppedUp(2 * WEEK, "reservoir", 900, 0, 900, 100_000, 1.6, False),  # after the window
    ):
        book.write(record)
    book.standing.append(Standing("new", 1, "lettuce", 6, 600, "head", "rack", False))
    book.standing.append(Standing("found", 1, "lettuce", 4, -4 * DAY, "head", "rack", True))
    book.level("slots", "rack", "head").add(0, 3)
    book.level("slots", "rack", "head").add(WEEK, 2)
    book.level("slots", "rack", "seedling").add(WEEK, 1)
    book.level("waiting", "head").add(WEEK, 2)
    return book


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    """The two weeks, measured."""
    return measure(two_weeks(), scenario(), RunPlan(14, 7), 3)


def test_fates_are_those_of_the_seeds_of_the_window(outcome: Outcome) -> None:
    """20 seeds sown in the window and 7 plants found: 6 not up, 6 pulled, 1 + 1 lost, 3 dry, 4 harvested, 6 growing."""
    assert outcome.replication == 3
    assert outcome.fates == {
        ("lettuce", "not_emerged"): 6,
        ("lettuce", "thinned"): 6,
        ("lettuce", "transplanting"): 1,
        ("lettuce", "too_small"): 1,
        ("lettuce", "dried_out"): 3,
        ("lettuce", "harvested"): 4,
        ("lettuce", "growing_at_end"): 6,
    }


def test_measures(outcome: Outcome) -> None:
    """One line a measure; means over the two weeks where they are flows."""
    kwh = (150 - 100) + (12 - 10) + (58 - 50) + (28 - 20)
    liters = 0.5 + 3 * 6
    money = (
        kwh * 0.2
        + liters / 1000 * 4
        + 0.5 * 1.5 / 1000 * 10
        + 20 * 0.01
        + 10 * 0.05
        + 0.6 * 0.5
        + 0.6 * 2  # 3.6 - 3.0 kg of CO2
        + 70
        + 2 * 20  # lead's hours
        + 2 * 30
    )
    expected = {
        "plants_harvested_per_week": (4 + 4 + 4) / 2,
        "kg_packed_per_week": 0.6 / 2,
        "kg_handed_out_per_week": 1.0 / 2,
        "kg_to_partners_per_week": 0.8 / 2,
        "kg_surplus_per_week": 0.2 / 2,
        "kg_wasted_per_week": 0.1 / 2,
        "servings_per_week": 1000 / 80 / 2,
        "orders_filled_fraction": 800 / 1000,
        "weeks_all_orders_met_fraction": 1 / 2,
        "seeds_sown": 27,
        "plants_lost_not_emerged": 6,
        "plants_lost_thinned": 6,
        "plants_lost_no_room": 0,
        "plants_lost_dried_out": 3,
        "plants_dried_low_reservoir": 0,
        "plants_lost_heat": 0,
        "plants_lost_cold": 0,
        "plants_lost_overgrown": 0,
        "plants_lost_transplanting": 1,
        "plants_lost_too_small": 1,
        "plants_harvested": 4,
        "plants_growing_at_end": 6,
        "sowings_skipped": 1,
        "shelf_fill_fraction": (3 + 6) / 2 / 8,
        "shelf_fill_fraction:head": (3 + 5) / 2 / 6,
        "shelf_fill_fraction:seedling": (0 + 1) / 2 / 2,
        "slots_waiting_mean": (0 + 2) / 2,
        "crew_hours_worked_per_week": 1 / 2,
        "crew_hours_needed_per_week": (45 + 15 + 5) / 60 / 2,
        "crew_hours_present_per_week": (6 + 6) / 2,
        "volunteers_came_per_week": 5 / 2,
        "tasks_on_time_fraction": 1 / 3,
        "days_harvested_late_mean": (2 * 4 + 0 * 4 + 1 * 4) / 12,
        "days_sown_to_harvest_mean": (4 * (5660 + DAY) / DAY + 4 * (6000 + 4 * DAY) / DAY) / 8,
        "grams_per_plant_mean": 600 / 12,
        "hours_harvest_to_pickup_mean": (300 * 400 + 200 * 1200 + 500 * 1100) / 1000 / 60,
        "machine_failures": 2,
        "power_outages": 1,
        "floods_missed": 1,
        "air_temperature_max_c": 25.0,
        "kwh_per_week": kwh / 2,
        "kwh_per_kg": kwh / 1.0,
        "liters_per_kg": liters / 1.0,
        "cost_per_week": money / 2,
        "cost_per_kg": money,
        "cost_per_plant": money / 12,
        "volunteer_value_per_week": 10 * 33 / 2,
    }

    assert outcome.measures == pytest.approx(expected)
    assert {key.split(":")[0] for key in outcome.measures} == set(CATALOGUE)


def test_weekly_series(outcome: Outcome) -> None:
    """What happened in which week; the warm-up and what comes after the window are left out."""
    expected: dict[str, tuple[float, float]] = {
        "plants_harvested": (8, 4),
        "kg_packed": (0.6, 0),
        "kg_handed_out": (0.5, 0.5),
        "kg_to_partners": (0.3, 0.5),
        "kg_surplus": (0.2, 0),
        "kg_wasted": (0, 0.1),
        "kg_ordered": (0.5, 0.5),
        "servings": (6.25, 6.25),
        "orders_met": (0, 1),
        "crew_hours_worked": (1, 0),
        "crew_hours_needed": (1, 5 / 60),
        "crew_hours_present": (6, 6),
        "volunteers_came": (2, 3),
        "volunteers_signed_up": (3, 3),
        "tasks_done": (1, 2),
        "tasks_late": (0, 2),
        "liters": (18.5, 0),
        "floods_missed": (1, 0),
        "kwh": (30 + 1 + 6 + 4, 20 + 1 + 2 + 4),
        "air_temperature_max_c": (25, 23),
        "kg_packed:lettuce": (0.6, 0),
        "plants_harvested:lettuce": (8, 4),
        "seeds_sown:lettuce": (20, 0),
        "kg_to:pantry": (0.3, 0.5),
        "kg_ordered:pantry": (0.5, 0.5),
        "kg_ordered_of:lettuce": (0.5, 0.5),
        "kg_given_of:lettuce": (0.3, 0.5),
        "lost:not_emerged": (6, 0),
        "lost:thinned": (6, 0),
        "lost:heat": (2, 0),
        "lost:dried_out": (3, 0),
        "lost:too_small": (1, 1),
        "lost:no_room": (0, 0),
        "slots:rack:head": (3, 5),
        "slots:rack:seedling": (0, 1),
        "slots_free:rack": (5, 2),
        "came:Monday": (2, 3),
        "signed_up:Monday": (3, 3),
        "crew_hours_worked:harvest": (1, 0),
        "late:wash": (0, 1),
        "late:thin": (0, 1),
    }

    assert {name: outcome.weeks[name] for name in expected} == {
        name: pytest.approx(values) for name, values in expected.items()
    }


def test_accounts(outcome: Outcome) -> None:
    """Sums over the window, in the unit each names."""
    expected = {
        "kwh:lights": 50,
        "kwh:pumps": 2,
        "kwh:heat pump": 8,
        "kwh:fans": 8,
        "liters:reservoirs": 0.5,
        "liters:washing": 18,
        "kg:nutrient": 0.00075,
        "kg:co2": 0.6,
        "kg:handed out": 1.0,
        "kg:packed": 0.6,
        "plants:harvested": 12,
        "hours:volunteers": 10,
        "hours:lead": 2,
        "money:electricity": 13.6,
        "money:water": 0.074,
        "money:nutrient": 0.0075,
        "money:seed": 0.2,
        "money:plugs": 0.5,
        "money:packing": 0.3,
        "money:co2": 1.2,
        "money:repairs": 70,
        "money:lead": 40,
        "money:fixed": 60,
        "value:volunteers": 330,
    }

    assert outcome.accounts == pytest.approx(expected)


def test_outages(outcome: Outcome) -> None:
    """Spells that began in the window, with when they were noticed and over; what lies beyond the end is unknown."""
    assert outcome.outages == (
        Outage("pump", "reservoir", 8000, 8400, 9000),
        Outage("power", "", 8100, None, 8300),
        Outage("lights", "lights", WEEK + 3000, None, None),
    )


def test_two_pumps_down_at_once() -> None:
    """Noticed and repaired in turn: the first to come back ends the first spell."""
    book = Book(0)
    for record in (
        WentDown(-9, "pump", "reservoir"),
        WentDown(10, "pump", "reservoir"),
        Noticed(20, "pump", "reservoir", "walk-through"),
        Noticed(20, "pump", "reservoir", "walk-through"),
        Repaired(30, "pump", "reservoir", 39, 1.0),
        Repaired(40, "pump", "reservoir", 30, 1.0),
        MetersRead(0, 0, 0, 0, 0, 0, 20.0),
    ):
        book.write(record)
    found = measure(book, scenario(), RunPlan(1), 0)

    assert found.outages == (Outage("pump", "reservoir", 10, 20, 40),)


def test_less_than_a_week_has_no_weekly_figures() -> None:
    """No figure is better than a wrong one: a window of three days has no weekly means, and no NaN."""
    book = Book(0)
    book.write(MetersRead(0, 0, 0, 0, 0, 0, 20.0))
    found = measure(book, scenario(), RunPlan(3), 0)

    assert not any(key.endswith("_per_week") and not key.startswith(("cost", "volunteer")) for key in found.measures)
    assert all(math.isfinite(value) for value in found.measures.values())


@pytest.mark.parametrize(
    "slip",
    [
        Lost(5250, "new", 1, "lettuce", 1, "heat", "head", False),
        Sown(650, "new", 2, "lettuce", 1, 2, "rack"),
        Harvested(700, "new", 1, "lettuce", 1, 10, 1, 0, 600, "rack"),
    ],
)
def test_a_plant_from_nowhere_is_found_out(slip: Any) -> None:
    """One plant too many or too few in any record, and the measuring stops: our fault."""
    book = two_weeks()
    book.write(slip)

    with pytest.raises(AssertionError, match="accounted for"):
        measure(book, scenario(), RunPlan(14, 7), 0)


def test_a_lot_sown_across_the_start_counts_as_sown_before_it() -> None:
    """Sheets of one lot sown before and after the window opens: the whole lot is left to the time before."""
    book = two_weeks()
    book.write(Sown(100, "old", 2, "lettuce", 5, 10, "rack"))
    found = measure(book, scenario(), RunPlan(14, 7), 0)

    assert found.measures["seeds_sown"] == 27


def at(minute: int) -> Outcome:
    """One week in which everything happens at one minute."""
    book = Book(-DAY)
    for reading in (MetersRead(0, 0, 0, 0, 0, 0, 20.0), MetersRead(WEEK, 1, 0, 0, 0, 0, 20.0)):
        book.write(reading)
    for record in (
        Sown(minute, "a", 1, "lettuce", 5, 10, "rack"),
        ToppedUp(minute, "reservoir", 0, 0, 4000, 100_000, 1.6, True),
        TaskDue(minute, "wash", "x", 1, 60, minute + 9),
        Worked(minute, "Monday/1", "wash", "x", minute - 60),
        TaskDone(minute, "wash", "x", minute, 60, True),
        ShiftHeld(minute, "Monday", 1, 1, 2, True, 60, 60, 60),
        Harvested(minute, "b", 1, "lettuce", 3, 1000, 1, 0, minute - DAY, "rack"),
        Packed(minute, "b", 1, "lettuce", 1000),
        HandedOut(minute, "b", "lettuce", "pantry", 1000, minute),
        OrderServed(minute, "pantry", "lettuce", 2000, 1000),
        Wasted(minute, "b", "lettuce", 500),
        Lost(minute, "b", 1, "lettuce", 2, "heat", "head", False),
        FloodMissed(minute, "reservoir", "pump"),
        WentDown(minute, "pump", "reservoir"),
        Repaired(minute, "pump", "reservoir", 0, 5.0),
        SowingSkipped(minute, "c", "lettuce", 1, "no slot"),
    ):
        book.write(record)
    book.standing.append(Standing("a", 1, "lettuce", 10, minute, "seedling", "rack", False))
    return measure(book, scenario(), RunPlan(7, 1), 0)


@pytest.mark.parametrize("minute", [0, WEEK - 1])
def test_the_window_holds_its_first_minute_and_its_last(minute: int) -> None:
    """Midnight at its start is in, and so is the minute before midnight at its end; one done on the dot is in time."""
    found = at(minute)

    assert found.weeks["plants_harvested"] == (3,)
    assert found.weeks["lost:heat"] == (2,)
    assert found.weeks["tasks_late"] == (0,)
    assert found.weeks["orders_met"] == (0,)
    assert {account: found.accounts[account] for account in _EVERY_ACCOUNT} == pytest.approx(_EVERY_ACCOUNT)
    assert found.measures["seeds_sown"] == 10
    assert [found.measures[key] for key in ("floods_missed", "machine_failures", "sowings_skipped")] == [1, 1, 1]
    assert len(found.counted_outages) == 1


_EVERY_ACCOUNT = {
    "liters:reservoirs": 4,
    "liters:washing": 6,
    "hours:volunteers": 1,
    "hours:lead": 1,
    "kg:handed out": 1,
    "kg:packed": 1,
    "plants:harvested": 3,
    "money:seed": 0.1,
    "money:plugs": 0.25,
    "money:repairs": 5,
}


@pytest.mark.parametrize("minute", [-1, WEEK])
def test_the_window_leaves_out_what_comes_before_and_after(minute: int) -> None:
    """The minute before midnight at its start is out, and midnight at its end begins another window. Outages of the
    warm-up are kept, at negative minutes, but not counted.
    """
    found = at(minute)

    assert all(
        sum(found.weeks[name]) == 0 for name in ("plants_harvested", "lost:heat", "tasks_done", "kg_ordered", "liters")
    )
    assert {account: found.accounts[account] for account in _EVERY_ACCOUNT} == dict.fromkeys(_EVERY_ACCOUNT, 0)
    assert found.measures["seeds_sown"] == 0
    assert found.counted_outages == ()
    assert [outage.down_minute for outage in found.outages] == ([-1] if minute == -1 else [])


def test_what_held_things_up_is_counted_by_crop_and_obstacle() -> None:
    """Of plants sown in the week three dry out over a low reservoir and one over a dead pump; two are overgrown. Four
    more were sown in the warm-up, and one was harvested before: not counted, as in the fates. Ten cells are skipped;
    three plants are moved 2 days late and four harvested 1 day late.
    """
    book = Book(-WEEK)
    for record in (
        Sown(-2 * DAY, "a", 1, "lettuce", 10, 20, "rack"),
        Sown(0, "b", 1, "lettuce", 10, 14, "rack"),
        SowingSkipped(-1, "z", "lettuce", 5, "no slot"),
        SowingSkipped(900, "z", "kale", 10, "no slot + people busy"),
        Lost(1100, "a", 1, "lettuce", 4, "dried_out", "head", False, "reservoir low"),
        Transplanted(1200, "b", 1, "lettuce", "head", 3, 1, "rack", 2, "no slot"),
        Lost(3600, "b", 1, "lettuce", 3, "dried_out", "head", False, "reservoir low"),
        Lost(4100, "b", 1, "lettuce", 1, "dried_out", "head", False, "machine down"),
        Lost(4200, "b", 1, "lettuce", 2, "overgrown", "head", False, "no harvest day + no lead"),
        Lost(4300, "b", 1, "lettuce", 1, "overgrown", "head", True, "closed"),
        Harvested(4400, "b", 1, "lettuce", 4, 400, 1, 1, 0, "rack", "closed"),
        MetersRead(0, 0, 0, 0, 0, 0, 21.0),
        MetersRead(WEEK, 1, 1, 1, 1, 1, 21.0),
    ):
        book.write(record)
    book.standing.append(Standing("b", 1, "lettuce", 4, 0, "head", "rack", False))

    measured = measure(book, scenario(), RunPlan(days=7, warm_up_days=7), 0)

    assert measured.held_up == {
        ("lettuce", "dried_out", "reservoir low"): 3,
        ("lettuce", "dried_out", "machine down"): 1,
        ("lettuce", "overgrown", "no harvest day + no lead"): 2,
        ("kale", "sowings skipped", "no slot + people busy"): 10,
        ("lettuce", "days late", "no slot"): 3 * 2,
        ("lettuce", "days late", "closed"): 4 * 1,
    }
    assert measured.measures["plants_dried_low_reservoir"] == 3
    assert measured.measures["plants_lost_dried_out"] == 3 + 1
    assert sum(measured.weeks["lost:dried_out"]) == 4 + 3 + 1


def test_no_share_is_above_1() -> None:
    """Three orders of 300 g, each filled with 100 and 200 g: rounding adds a last bit to their sum, not to the
    share."""
    given = (0.1 + 0.2,) * 3
    weeks = {"kg_ordered": (0.3,) * 3, "kg_to_partners": given, "orders_met": (1.0,) * 3, "tasks_done": (0.0,) * 3}
    accounts = {"value:volunteers": 0.0, "kg:handed out": 0.0, "plants:harvested": 0.0}

    assert sum(given) / sum([0.3] * 3) > 1.0
    assert _ratios(weeks, accounts, RunPlan(21))["orders_filled_fraction"] == 1.0
