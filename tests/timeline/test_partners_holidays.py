"""Partners with holidays and months of their own, in the round room (tests/small_rooms.py), by pencil."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from small_rooms import DAY, lived, scenario_of, tables

from growsim.ledger.events import HandedOut, OrderServed
from growsim.ledger.measures import measure
from growsim.scenario.checks.all import faults_of, warnings_of
from growsim.scenario.checks.promises import ordered_kg_per_week
from growsim.scenario.orders import kg_ordered_on
from growsim.scenario.plan import RunPlan


def room_of_partners(**pantry: Any) -> dict[str, Any]:
    """The round room; its pantry collects 0.3 kg on Thursdays at 14:00, unless it is closed."""
    raw = tables()
    raw["partners"][0] |= pantry
    return raw


def served(raw: dict[str, Any]) -> list[tuple[int, int, int]]:
    """(day, grams ordered, grams given) of every order that fell due in 40 days."""
    return [(each.minute // DAY, each.grams_ordered, each.grams_given) for each in lived(raw, 40).of(OrderServed)]


def test_nothing_is_ordered_on_a_partners_closed_days() -> None:
    """Thursdays are days 3, 10, 17, 24, 31 and 38; the lot of 445 g is cut on day 24. Closed from 29 January (day 23)
    to 1 February, the pantry does not come on day 24. The greens keep five days, too few for day 31: on Friday day 25
    all 445 g are given away.
    """
    closed = room_of_partners(closed_days=["2031-01-29 to 2031-02-01"])

    assert served(tables()) == [(3, 300, 0), (10, 300, 0), (17, 300, 0), (24, 300, 300), (31, 300, 0), (38, 300, 0)]
    assert served(closed) == [(3, 300, 0), (10, 300, 0), (17, 300, 0), (31, 300, 0), (38, 300, 0)]
    handed = [(each.minute // DAY, each.partner, each.grams) for each in lived(closed, 40).of(HandedOut)]
    assert handed == [(25, "", 445)]


def test_what_is_not_ordered_is_not_missed() -> None:
    """Day 24 alone is met. Of six orders that is 1 in 6 of the kilograms; of the four of January and none of February,
    1 in 4."""

    def filled(raw: dict[str, Any]) -> float:
        book = lived(raw, 42)
        return measure(book, scenario_of(raw), RunPlan(42, start="empty"), 0).measures["orders_filled_fraction"]

    assert filled(tables()) == pytest.approx(1 / 6)
    assert filled(room_of_partners(months=[1])) == pytest.approx(1 / 4)


def test_greens_are_kept_for_the_partner_that_comes() -> None:
    """They keep 14 days: with the pantry away on day 24, 300 g wait for day 31."""
    raw = room_of_partners(closed_days=["2031-01-30"])
    raw["crops"][0]["shelf_life_days"] = 14
    raw["harvest"]["longest_wait_days"] = 14
    handed = [(each.minute // DAY, each.partner, each.grams) for each in lived(raw, 40).of(HandedOut)]

    assert handed == [(25, "", 145), (31, "pantry", 300)]


def test_one_of_two_partners_of_an_hour_is_away() -> None:
    """Pantry and kitchen want 300 g each of 445 g, and share; with the kitchen away the pantry has all of its 300 g."""
    raw = tables()
    raw["partners"].append({**raw["partners"][0], "name": "kitchen"})
    raw["partners"][1]["closed_days"] = ["2031-01-30"]

    def on_day_24(raw: dict[str, Any]) -> list[tuple[str, int]]:
        orders = lived(raw, 26).of(OrderServed)
        return [(each.partner, each.grams_given) for each in orders if each.minute // DAY == 24]

    assert on_day_24(raw) == [("pantry", 300)]
    raw["partners"][1]["closed_days"] = []
    assert sorted(on_day_24(raw)) == [("kitchen", 222), ("pantry", 223)]


def test_on_paper_and_by_date() -> None:
    """A quarter of the year of 0.3 kg a week; nothing on the 30th of January."""
    scenario = scenario_of(room_of_partners(months=[1, 2, 3], closed_days=["2031-01-30"]))
    partner = scenario.partners[0]

    assert ordered_kg_per_week(scenario)["lettuce"] == pytest.approx(0.3 * (26 + 28 + 31 - 1 + 4) / 364)
    assert kg_ordered_on(partner, "lettuce", dt.date(2031, 1, 30)) == 0
    assert kg_ordered_on(partner, "lettuce", dt.date(2031, 1, 23)) == 0.3
    assert kg_ordered_on(partner, "lettuce", dt.date(2031, 4, 24)) == 0


def test_what_cannot_be_meant() -> None:
    """An order of months in which nobody collects; closed days on which nobody would have come; never open."""
    raw = room_of_partners(months=[1, 2])
    raw["partners"][0]["orders"][0]["months"] = [7]
    assert "partners.pantry.orders.lettuce.months" in [key for key, _, _ in faults_of(scenario_of(raw))]

    def told(**pantry: Any) -> list[str]:
        found = warnings_of(scenario_of(room_of_partners(**pantry)))
        return [problem.split(" ", 2)[1] for key, problem, _ in found if key == "partners.pantry.closed_days"]

    assert told(closed_days=["2031-01-31"]) == ["of"]  # a Friday
    assert told(closed_days=["2031-01-06 to 2031-12-31", "2032-01-01 to 2032-01-04"]) == ["never"]
    beyond = told(closed_days=["2031-01-06 to 2031-12-31", "2032-01-01 to 2032-01-10"])
    assert beyond == ["to", "never"]  # 2032-01-05 to 2032-01-10 lie beyond the end
    assert told(closed_days=["2031-01-30"]) == []
