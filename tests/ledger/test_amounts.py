"""A book of amounts that are none of them one, two of each: nothing is counted once that happened twice, or the wrong
way up. Worked out by hand."""

from __future__ import annotations

import copy
import math
from pathlib import Path
from typing import Any

import pytest
from small_rooms import scenario_of, tables

from growsim.ledger.book import Book
from growsim.ledger.events import (
    Found,
    HandedOut,
    Harvested,
    Lost,
    MetersRead,
    Noticed,
    OrderServed,
    Packed,
    Repaired,
    Sown,
    Standing,
    TaskDone,
    TaskDue,
    WentDown,
)
from growsim.ledger.measures import measure, outages_of
from growsim.ledger.outcome import Outcome
from growsim.ledger.weeks import weekly_series
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.losses import LOSSES

WEEK = 10080


def two_racks() -> Scenario:
    """The round room with a second rack of the same 2 and 6 slots; money for seed and plugs, water for washing."""
    raw: dict[str, Any] = tables()
    second = copy.deepcopy(raw["racks"][0])
    second["name"] = "second"
    raw["racks"].append(second)
    raw["prices"] = {"electricity_per_kwh": 0, "plug_each": 0.05, "wash_liters_per_tray": 6}
    return scenario_of(raw)


def book_of(*records: Any) -> Book:
    """A log book from minute 0."""
    book = Book(0)
    for record in (MetersRead(0, 0, 0, 0, 0, 0, 40.0), *records):
        book.write(record)
    return book


@pytest.fixture
def outcome() -> Outcome:
    """Two weeks, all of it in the first but for meters; two of everything."""
    book = book_of(
        Sown(0, "a", 1, "lettuce", 10, 20, "rack"),
        Sown(200, "b", 1, "lettuce", 5, 10, "rack"),
        Sown(300, "c", 1, "lettuce", 2, 4, "rack"),
        TaskDue(0, "wash", "a", 3, 9, 1440),
        TaskDue(400, "wash", "b", 4, 9, 1440),
        Lost(500, "a", 1, "lettuce", 6, "not_emerged", "seedling", False),
        Lost(500, "b", 1, "lettuce", 3, "not_emerged", "seedling", False),
        Lost(600, "a", 1, "lettuce", 6, "thinned", "seedling", False),
        Lost(600, "b", 1, "lettuce", 3, "thinned", "seedling", False),
        Harvested(0, "a", 1, "lettuce", 8, 1500, 1, 1, -10, "rack"),
        Harvested(700, "b", 1, "lettuce", 4, 1000, 1, 4, 200, "rack"),
        Packed(800, "a", 1, "lettuce", 1500),
        Packed(800, "b", 1, "lettuce", 1000),
        HandedOut(0, "a", "lettuce", "pantry", 1000, -600),
        HandedOut(900, "b", "lettuce", "pantry", 500, 0),
        HandedOut(900, "b", "lettuce", "", 500, 0),
        OrderServed(900, "pantry", "lettuce", 1600, 1000),
        OrderServed(900, "pantry", "lettuce", 800, 500),
        Repaired(950, "pump", "reservoir", 5, 60.0),
        Repaired(960, "pump", "reservoir", 5, 45.0),
        MetersRead(5000, 6, 0, 0, 0, 0, 21.0),
        MetersRead(WEEK, 10, 0, 0, 0, 0, 22.0),
        MetersRead(2 * WEEK, 12, 0, 0, 0, 0, 23.0),
    )
    book.standing += [Standing("c", 1, "lettuce", 3, 300, "head", "rack", False)]
    book.standing += [Standing("c", 2, "lettuce", 1, 300, "head", "rack", False)]
    for rack, trays in (("rack", 2), ("second", 1)):
        book.level("slots", rack, "head").add(0, trays)
    book.level("slots", "rack", "ghost").add(0, 1)
    book.level("waiting", "seedling").add(0, 2)
    book.level("waiting", "head").add(WEEK, 4)
    return measure(book, two_racks(), RunPlan(14), 0)


def test_fates_add_up_over_lots(outcome: Outcome) -> None:
    """34 seeds: 9 stayed away, 9 pulled, 12 harvested, 4 standing."""
    assert outcome.fates == {
        ("lettuce", "not_emerged"): 9,
        ("lettuce", "thinned"): 9,
        ("lettuce", "harvested"): 12,
        ("lettuce", "growing_at_end"): 4,
    }


def test_orders_count_by_amount_and_by_week(outcome: Outcome) -> None:
    """1.5 of 2.4 kg; a week without orders is no week in which all were met."""
    assert outcome.measures["orders_filled_fraction"] == pytest.approx(1.5 / 2.4)
    assert outcome.measures["weeks_all_orders_met_fraction"] == 0.0


def test_amounts_for_a_kilogram(outcome: Outcome) -> None:
    """12 kWh, 7 trays of 6 L and 0.34 + 0.85 + 105 of money for 2 kg handed out."""
    assert outcome.measures["kwh_per_kg"] == pytest.approx(6.0)
    assert outcome.measures["liters_per_kg"] == pytest.approx(21.0)
    assert outcome.measures["cost_per_kg"] == pytest.approx((0.34 + 0.85 + 105) / 2)
    assert outcome.measures["grams_per_plant_mean"] == pytest.approx(2500 / 12)


def test_accounts_add_up(outcome: Outcome) -> None:
    """Each twice or thrice."""
    wanted = {"liters:washing": 42.0, "money:seed": 0.34, "money:plugs": 0.85, "money:repairs": 105.0}

    assert {account: outcome.accounts[account] for account in wanted} == pytest.approx(wanted)


def test_money_falls_into_its_week(outcome: Outcome) -> None:
    """All of it is spent in the first week."""
    assert outcome.weeks["cost"] == pytest.approx((0.34 + 0.85 + 105, 0.0))


def test_what_the_weeks_cost_is_what_the_time_costs() -> None:
    """Whole weeks of a room in which everything has a price, to the last of them. Source: the accounts, which add up
    the same money without weeks."""
    room = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
    named = ("electricity_per_kwh", "water_per_m3", "nutrient_per_kg", "plug_each", "packing_per_kg", "co2_per_kg")
    prices = dict.fromkeys((*named, "lead_hour", "fixed_per_week"), 3.0)
    prepared = prepare(room.model_copy(update={"prices": room.prices.model_copy(update=prices)}))
    lived = replicate(prepared, 3, 0, RunPlan(35, 28))

    assert len(lived.weeks["cost"]) == 5
    assert math.fsum(lived.weeks["cost"]) == pytest.approx(5 * lived.measures["cost_per_week"])
    assert all(amount > 0 for name, amount in lived.accounts.items() if name in ("money:lead", "money:water"))


def test_means_take_in_the_first_minute_and_the_last_reading(outcome: Outcome) -> None:
    """Days late of 8 plants 1 and of 4 plants 4; hours of 1000 g 10 and of 1000 g 15; the reading at 0 is of before."""
    assert outcome.measures["days_harvested_late_mean"] == pytest.approx(2.0)
    assert outcome.measures["hours_harvest_to_pickup_mean"] == pytest.approx(12.5)
    assert outcome.measures["air_temperature_max_c"] == 23.0


def test_stages_add_up_over_racks(outcome: Outcome) -> None:
    """3 of 12 slots for heads; a stage that no shelf may hold; 2 trays wait all the time and 4 half of it."""
    assert outcome.measures["shelf_fill_fraction:head"] == pytest.approx(3 / 12)
    assert outcome.measures["shelf_fill_fraction:ghost"] == 0.0
    assert outcome.measures["slots_waiting_mean"] == pytest.approx(4.0)
    assert outcome.weeks["slots_free:rack"] == pytest.approx((5.0, 5.0))


def test_meters_of_a_week_add_up(outcome: Outcome) -> None:
    """6 and 4 kWh in the first week, 2 in the second; trays washed at minute 0 count."""
    assert outcome.weeks["kwh"] == pytest.approx((10.0, 2.0))
    assert outcome.weeks["liters"] == pytest.approx((42.0, 0.0))


def test_a_week_with_a_single_plant() -> None:
    """One week, one plant, one task: every figure that can be told is told."""
    book = book_of(
        Sown(0, "a", 1, "lettuce", 1, 1, "rack"),
        Harvested(60, "a", 1, "lettuce", 1, 200, 1, 2, 0, "rack"),
        TaskDone(60, "harvest", "a", 100, 5, True),
        Packed(70, "a", 1, "lettuce", 200),
        HandedOut(80, "a", "lettuce", "", 1, 20),
        MetersRead(WEEK, 1, 0, 0, 0, 0, 22.0),
    )
    book.level("slots", "rack", "head").add(0, 1)
    outcome = measure(book, two_racks(), RunPlan(7), 0)

    assert outcome.measures["plants_harvested_per_week"] == 1.0
    assert outcome.measures["cost_per_plant"] == pytest.approx(0.01 + 0.05)
    assert outcome.measures["days_harvested_late_mean"] == 2.0
    assert outcome.measures["hours_harvest_to_pickup_mean"] == 1.0
    assert outcome.measures["tasks_on_time_fraction"] == 1.0
    assert outcome.weeks["slots:rack:head"] == pytest.approx([1.0])


def test_days_past_the_last_whole_week_belong_to_no_week() -> None:
    """Ten days are one week; what the meters say of the other three is left out."""
    book = book_of(MetersRead(WEEK, 5, 0, 0, 0, 0, 22.0), MetersRead(14400, 9, 0, 0, 0, 0, 35.0))
    series = weekly_series(book, two_racks(), RunPlan(10))

    assert [*series["kwh"], *series["air_temperature_max_c"]] == [5.0, 22.0]


def test_an_empty_week_has_its_series() -> None:
    """Nothing happened: zeros for each crop and fate, so that no table lacks a column; first reading late."""
    book = Book(0)
    book.write(MetersRead(100, 0, 0, 0, 0, 0, 22.0))
    series = weekly_series(book, two_racks(), RunPlan(7))

    assert all(series[f"{name}:lettuce"] == (0.0,) for name in ("kg_packed", "plants_harvested", "seeds_sown"))
    assert [name for name in series if name.startswith("lost:")] == [loss.series for loss in LOSSES]
    assert (*series["kwh"], *series["air_temperature_max_c"]) == (0.0, 0.0)


def test_a_repair_of_what_never_went_down_here() -> None:
    """A machine that was down before the book begins is noticed and repaired in it: no outage of this book."""
    book = book_of(
        Noticed(5, "pump", "reservoir", "walk-through"),
        Repaired(9, "pump", "reservoir", 99, 0.0),
        WentDown(20, "timer", "reservoir"),
    )

    assert [outage.machine for outage in outages_of(book, WEEK)] == ["timer"]


def test_seeds_of_two_crops_and_of_lots_in_parts_add_up() -> None:
    """A lot sown in two goes, another found on two racks; two crops share a fate."""
    raw: dict[str, Any] = tables()
    raw["crops"].append({**copy.deepcopy(raw["crops"][0]), "name": "kale"})
    book = book_of(
        Sown(0, "a", 1, "lettuce", 3, 6, "rack"),
        Sown(9, "a", 2, "lettuce", 2, 4, "rack"),
        Found(0, "b", 1, "kale", 5, "head", "rack", False),
        Found(0, "b", 2, "kale", 2, "head", "rack", False),
        Lost(50, "a", 1, "lettuce", 10, "no_room", "seedling", False),
        Lost(50, "b", 1, "kale", 7, "no_room", "head", False),
    )
    outcome = measure(book, scenario_of(raw), RunPlan(7), 0)

    assert outcome.fates == {("lettuce", "no_room"): 10, ("kale", "no_room"): 7}
    assert outcome.measures["plants_lost_no_room"] == 17
    assert outcome.measures["seeds_sown"] == 17
