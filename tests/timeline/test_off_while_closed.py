"""Lights and heat off while the round room (tests/small_rooms.py) is closed, worked out by pencil."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import lived, scenario_of, tables

from growsim.ledger.events import Harvested, Lost, MetersRead, WentDown
from growsim.scenario.calendar import Calendar
from growsim.scenario.checks.all import warnings_of
from growsim.scenario.checks.closings import lost_sowings

WEEK = ["2031-01-18 to 2031-01-24"]  # days 12 to 18; day 19 is open


def closed_room(*off: str, days: list[str] | None = None) -> dict[str, Any]:
    """The round room, closed for a week, with so much off meanwhile."""
    raw = tables()
    raw["room"] |= {"closed_days": WEEK if days is None else days, "off_while_closed": list(off)}
    return raw


def cut(raw: dict[str, Any]) -> list[tuple[int, int]]:
    """When the lot is harvested, and what it weighs."""
    return [(each.minute, each.grams) for each in lived(raw, 40).of(Harvested)]


def last(raw: dict[str, Any], days: int) -> MetersRead:
    """The meters at the end."""
    return list(lived(raw, days).of(MetersRead))[-1]


def test_seven_dark_days_cost_seven_days() -> None:
    """Lit, the lot is cut on day 24 at 35,113, 20.9986 days old: 445 g. Dark for a week it is ripe on day 26, and cut
    on the Thursday after, day 31, at 45,193, of the same age."""
    assert cut(closed_room()) == [(35113, 445)]
    assert cut(closed_room("lights")) == [(45193, 445)]


def test_what_is_off_costs_nothing() -> None:
    """200 W of lights for 30 days are 144 kWh, less 7 × 4.8. Without lights the heat pump makes up 20 W/K × 10 K = 200
    W, at 3 to 1: 7 × 24 × 200 / 3 W h = 11.2 kWh; off, it uses none."""
    assert last(closed_room(), 30).kwh_lights == pytest.approx(144)
    assert last(closed_room("lights"), 30).kwh_lights == pytest.approx(144 - 33.6)
    assert last(closed_room("lights"), 19).kwh_heat_pump == pytest.approx(11.2)
    assert last(closed_room("lights", "heat pump"), 19).kwh_heat_pump == 0.0


def test_a_few_closed_days_leave_all_on() -> None:
    """Six closed days are no closing of seven or more; with off_from_days = 6 they are."""
    six = ["2031-01-18 to 2031-01-23"]
    raw = closed_room("lights", days=six)

    assert last(raw, 30).kwh_lights == pytest.approx(144)
    raw["room"]["off_from_days"] = 6
    assert last(raw, 30).kwh_lights == pytest.approx(144 - 6 * 4.8)


def test_the_cold_kills_what_stands_there() -> None:
    """10 °C outside, a time constant of 10 h: from 20 °C the air falls to 15 in 6.9 h, and to 10. Below 15 °C it
    gathers 5 × (168 - 6.93) - 50 = 755 degree-hours in the week. Half die of 300: 1 - 2^-(755 / 300)² of nine is all
    of them. No failure is counted. With the heat pump on, or the lights on, which hold 20 °C alone, none is harmed.
    """
    cold = {"cold_limit_c": 15, "cold_half_loss_degree_hours": 300}
    found = {}
    for off in (("lights", "heat pump"), ("lights",), ("heat pump",)):
        raw = closed_room(*off)
        raw["crops"][0] |= cold
        book = lived(raw, 30)
        chilled = [lost for lost in book.of(Lost) if lost.cause == "cold"]
        found[off] = sum(lost.plants for lost in chilled)
        assert {lost.held_up for lost in chilled} <= {"closed"}
        assert not list(book.of(WentDown))

    assert found == {("lights", "heat pump"): 9, ("lights",): 0, ("heat pump",): 0}


def test_co2_is_off_with_the_lights() -> None:
    """An air change an hour of 25 m³ from 420 to 820 ppm; a week of the leak is not given off."""
    raw = closed_room()
    raw["room"]["air_changes_per_hour"] = 1
    raw["co2"] = {"setpoint_ppm": 820, "outdoor_ppm": 420, "supply_kg_per_day": 2}
    raw["sowing"] = []
    on = last(raw, 28).co2_g
    raw["room"]["off_while_closed"] = ["lights"]

    assert on > 0
    assert last(raw, 28).co2_g == pytest.approx(on * 21 / 28)


def test_lots_sown_before_dark_days_are_not_called_lost() -> None:
    """Closed for three weeks: lit, what is ripe in them is overgrown. Dark, it stands still and is cut afterwards."""
    days = ["2031-03-03 to 2031-03-23"]
    found = []
    for off in ((), ("lights",)):
        raw = closed_room(*off, days=days)
        raw["crops"][0]["overgrown_after_days"] = 5
        raw["crops"][0]["stages"][1]["latest_days"] = 30
        scenario = scenario_of(raw)
        calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        first, end = scenario.room.closed_days[0], scenario.room.closed_days[-1]
        lost = lost_sowings(scenario, calendar, scenario.crops[0], first, end)
        found.append(sum((b - a).days + 1 for a, b in lost if a < first))

    assert found[0] > 10
    assert found[1] == 0


def test_a_closing_never_so_long_is_told() -> None:
    """Off from seven days on, and never closed for more than one."""
    raw = closed_room("lights", days=["2031-01-18"])

    def told() -> list[str]:
        return [key for key, _, _ in warnings_of(scenario_of(raw)) if key == "room.off_while_closed"]

    assert told() == ["room.off_while_closed"]
    raw["room"]["off_from_days"] = 1
    assert told() == []


def test_closings_of_a_calendar() -> None:
    """A single day and a week; each with the day on which it opens again."""
    scenario = scenario_of(closed_room(days=["2031-01-10", *WEEK]))
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)

    assert calendar.closings() == [(4, 5), (12, 19)]
    assert calendar.closings(7) == [(12, 19)]
