"""Deliveries: the same year as ever, with every standing order and crop beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from growsim.ledger.book import Book
from growsim.ledger.events import Found, HandedOut, OrderServed, TaskDue
from growsim.ledger.outcome import Outcome
from growsim.run.deliveries import deliver, deliver_by_day, deliveries, last_days
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate
from growsim.scenario.demand import Order
from growsim.scenario.load import load_scenario
from growsim.scenario.orders import StandingOrder, standing_orders
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

PLAN = RunPlan(42, 56)


@pytest.fixture(scope="module")
def room() -> Scenario:
    """The tiny room with a second order of leaf: 'any', in February only."""
    tiny = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
    pantry = tiny.partners[0]
    more = pantry.model_copy(update={"orders": (*pantry.orders, Order(crop="any", kg=0.5, months=(2,)))})
    return tiny.model_copy(update={"partners": (more,)})


@pytest.fixture(scope="module")
def prepared(room: Scenario) -> Prepared:
    """The same, with its curves."""
    return prepare(room)


@pytest.fixture(scope="module")
def outcome(prepared: Prepared) -> Outcome:
    """Six weeks, watched."""
    return deliver(prepared, 3, 4, PLAN)


def test_watching_changes_nothing(prepared: Prepared, outcome: Outcome) -> None:
    """Every figure and series that `replicate` gives is there, to the last bit."""
    plain = replicate(prepared, 3, 4, PLAN)

    assert replace(outcome, weeks={name: outcome.weeks[name] for name in plain.weeks}) == plain


def test_orders_add_up_to_what_partners_got(room: Scenario, outcome: Outcome) -> None:
    """Order by order, and crop by crop, the kilograms are those of the whole."""
    weeks, orders = outcome.weeks, range(len(standing_orders(room)))

    given = [sum(kg) for kg in zip(*(weeks[f"order_given:{i}"] for i in orders), strict=True)]
    asked = [sum(kg) for kg in zip(*(weeks[f"order_asked:{i}"] for i in orders), strict=True)]
    crops = [sum(kg) for kg in zip(*(weeks[f"kg_given:{crop.name}"] for crop in room.crops), strict=True)]
    left = [sum(kg) for kg in zip(*(weeks[f"kg_left:{crop.name}"] for crop in room.crops), strict=True)]

    assert given == pytest.approx(weeks["kg_to_partners"])
    assert asked == pytest.approx(weeks["kg_ordered"])
    assert crops == pytest.approx(weeks["kg_handed_out"])
    assert left == pytest.approx(weeks["kg_surplus"])
    assert sum(given) > 5


def test_an_order_of_some_months_asks_for_nothing_in_others(outcome: Outcome) -> None:
    """The third order, of February, from Monday 6 January on: Thursdays 6 and 13 February."""
    assert outcome.weeks["order_asked:2"] == (0, 0, 0, 0, 0.5, 0.5)


def test_a_book_of_four_lines(room: Scenario) -> None:
    """By hand: 1.2 kg of leaf on Thursday of the second week, 1 kg ordered, 0.2 kg left on Friday."""
    book = Book(0)
    thursday, friday = (7 + 3) * 1440 + 840, (7 + 4) * 1440 + 1020
    for record in (
        HandedOut(thursday, "a", "cutting leaf", "trial pantry", 1000, thursday - 200),
        OrderServed(thursday, "trial pantry", "cutting leaf", 1000, 1000),
        OrderServed(thursday, "trial pantry", "small head", 1800, 0),
        HandedOut(friday, "a", "cutting leaf", "", 200, thursday - 200),
    ):
        book.write(record)

    found = deliveries(book, room, weeks=2)

    assert standing_orders(room)[:2] == (
        StandingOrder("trial pantry", "cutting leaf"),
        StandingOrder("trial pantry", "small head"),
    )
    assert found["kg_given:cutting leaf"] == (0.0, 1.2)
    assert found["kg_left:cutting leaf"] == (0.0, 0.2)
    assert (found["order_asked:0"], found["order_given:0"]) == ((0.0, 1.0), (0.0, 1.0))
    assert (found["order_asked:1"], found["order_given:1"]) == ((0.0, 1.8), (0.0, 0.0))


def test_the_last_days_are_the_last_week_day_by_day(prepared: Prepared, outcome: Outcome) -> None:
    """Seven days of the sixth week; added up they are what the week's series have; the partner comes on Thursday."""
    weeks = deliver_by_day(prepared, 3, 4, PLAN).weeks

    for i in range(3):
        assert sum(weeks[f"asked_by_day:{i}"]) == pytest.approx(outcome.weeks[f"order_asked:{i}"][5])
        assert sum(weeks[f"given_by_day:{i}"]) == pytest.approx(outcome.weeks[f"order_given:{i}"][5])
        assert [day for day, kg in enumerate(weeks[f"asked_by_day:{i}"]) if kg] == [3]
    assert sum(sum(weeks[f"given_by_day:{i}"]) for i in range(3)) > 1


def test_days_are_counted_back_from_the_last(room: Scenario) -> None:
    """By hand: of nine days, the Thursday of the first week is the second of the last seven."""
    book = Book(0)
    book.write(OrderServed(3 * 1440 + 840, "trial pantry", "small head", 1800, 700))
    book.write(OrderServed(1440 + 840, "trial pantry", "small head", 1800, 100))

    found = last_days(book, room, days=9)

    assert found["asked_by_day:1"] == (0, 1.8, 0, 0, 0, 0, 0)
    assert found["given_by_day:1"] == (0, 0.7, 0, 0, 0, 0, 0)


def test_what_comes_ripe_is_counted_on_its_day(room: Scenario) -> None:
    """By hand: 20 heads come due for harvest on the last day but one of nine; moving plants is no harvest."""
    book = Book(0)
    book.write(Found(0, "left/1", 1, "small head", 20, "head", "rack", was_harvested=False))
    book.write(TaskDue(7 * 1440 + 540, "harvest", "left/1 #1", 20.0, 10, 8 * 1440))
    book.write(TaskDue(6 * 1440 + 540, "transplant", "left/1 #1", 20.0, 10, 8 * 1440))

    found = last_days(book, room, days=9)

    assert found["ripe_by_day:small head"] == (0, 0, 0, 0, 0, 20, 0)
    assert found["ripe_by_day:cutting leaf"] == (0,) * 7
