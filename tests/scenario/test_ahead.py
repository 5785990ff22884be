"""The plan day by day on paper: what finds no slot, done by pencil, and whether a rehearsed room says the same."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from small_rooms import lived, scenario_of, tables

from growsim.ledger.events import SowingSkipped
from growsim.scenario.ahead import given_up, sowing_days
from growsim.scenario.checks.slots import slots_on_every_day
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.reading import tables_of

GARAGE = Path(__file__).parents[1] / "cases" / "garage.toml"


def weekly(*cells: int) -> dict[str, Any]:
    """The round room (10 days as a seedling, 14 as a head), sown every Monday with these cells, a line for each."""
    raw = tables()
    raw["sowing"] = [
        {"name": f"line {number}", "crop": "lettuce", "cells": each, "weekday": "mon"}
        for number, each in enumerate(cells, start=1)
    ]
    raw["rehearsal"] = {"days": 84, "warm_up_days": 0}
    return raw


def with_seedlings_at_ease(*cells: int) -> dict[str, Any]:
    """The same with slots for any number of seedlings."""
    raw = weekly(*cells)
    raw["racks"][0]["shelves"][0]["slots"] = 60
    return raw


def dark_garage() -> dict[str, Any]:
    """The garage with one dark shelf: eight trays a week, peas four days and radish three, for four slots."""
    raw = tables_of(GARAGE, GARAGE.read_bytes())
    raw["racks"][0]["shelves"][0]["count"] = 1
    return raw


def test_what_fits_is_given_up_nowhere() -> None:
    """10 cells are a sheet of 2 slots for 10 days, 9.4 plants are 3 trays of 6 slots for two weeks: just enough."""
    assert given_up(scenario_of(weekly(10))) == []


def test_heads_that_find_no_slot_are_named() -> None:
    """20 cells are 18.75 plants in 5 trays of 6 slots, moved on Thursdays, harvested on the second Thursday after:
    every other lot finds one slot and can wait 5 days, 4 to the Thursday after. The last of them that gives up before
    day 84 was sown on day 63 (63 + 10 + 5 = 78)."""
    (lost,) = given_up(scenario_of(with_seedlings_at_ease(20)))

    assert (lost.stage, lost.is_first, lost.slots) == ("head", False, 6)
    assert lost.sowings == {7, 21, 35, 49, 63}
    assert lost.trays == 4  # one of five found a slot
    assert lost.planned == 12


def test_a_second_line_is_not_sown_and_the_rehearsed_room_says_so() -> None:
    """Both lines want the two sheets' slots on Monday; they are free again on Thursday of the next week."""
    raw = weekly(20, 20)
    raw["racks"][0]["shelves"][1]["slots"] = 60  # heads have room
    skipped = Counter(each.lot for each in lived(raw, 84).of(SowingSkipped))
    told = {
        f"{scenario_of(raw).room.start_date.fromordinal(scenario_of(raw).room.start_date.toordinal() + day)}"
        f"/lettuce/{lost.line.name}"
        for lost in given_up(scenario_of(raw))
        for day in lost.sowings
    }

    assert len(told) > 8
    assert set(skipped) == told


def test_eight_trays_a_week_for_four_dark_slots_are_named() -> None:
    """Peas go in on Tuesday and are moved out on the next; the radish of the same day is never sown."""
    _, warnings = scenario_from(dark_garage(), "garage.toml")
    (said,) = [warning for warning in warnings if "slot" in warning.problem]

    assert said.key == "sowing.radish Tuesday.cells"
    assert "in 43 of 44 sowings radish shoots finds no free slot of the blackout stage" in said.problem
    assert "4 slots may hold it, taken by pea shoots" in said.problem
    assert said.remedy == "give the blackout stage 4 more slots"


def test_what_is_advised_helps() -> None:
    """The garage has those four slots more, and is told nothing."""
    assert not list(slots_on_every_day(load_scenario(GARAGE).scenario))


def test_fewer_cells_are_advised_where_they_find_a_place() -> None:
    """Of 20 cells 11 (3 trays of heads) find room in turn: the least that is tried is a sixteenth away."""
    ((_, _, remedy),) = slots_on_every_day(scenario_of(with_seedlings_at_ease(20)))

    assert remedy.startswith("sow at most 12 cells")
    assert given_up(scenario_of(with_seedlings_at_ease(12))) == []


@pytest.mark.parametrize(
    ("line", "days"),
    [
        ({}, [0, 7, 14, 21]),
        ({"every_weeks": 2}, [0, 14]),
        ({"first_week": 1}, [7, 14, 21]),
        ({"from_date": "2031-01-14"}, [14, 21]),
        ({"until_date": "2031-01-19"}, [0, 7]),
        ({"months": [2]}, []),
    ],
)
def test_days_on_which_a_line_is_sown(line: dict[str, Any], days: list[int]) -> None:
    """Day 0 is Monday, January 6; 28 days."""
    raw = weekly(10)
    raw["sowing"][0] |= line
    scenario = scenario_of(raw)

    assert list(sowing_days(scenario, scenario.sowing[0], 0, 28)) == days
