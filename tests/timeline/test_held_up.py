"""What held plants up is written down where their waiting ends, by hand, in the round room (tests/small_rooms.py).

The lot is sown on Monday day 0, moved on Thursday day 10, ripe at 27,915 (day 19.4) and harvested on Thursday day 24.
Shifts are on Mondays and Thursdays from 9:00, both with a lead.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from small_rooms import lived, tables

from growsim.ledger.book import Book
from growsim.ledger.events import Harvested, Lost, SowingSkipped, Transplanted
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

ROOT = Path(__file__).parents[2]
ROOMS = ("scenarios/tiny", "scenarios/millrace", "tests/cases/garage.toml")


def lost(book: Book, loss: str) -> list[tuple[int, str]]:
    """(plants, what held them up) of each such loss."""
    return [(record.plants, record.held_up) for record in book.of(Lost) if record.cause == loss]


def without_leads(raw: dict[str, Any], task: str, *weekdays: str) -> None:
    """Shifts on those weekdays have no lead, and the task needs one."""
    for shift in raw["crew"]["shifts"]:
        shift["lead"] = shift["weekday"] not in weekdays
    raw["crew"]["chance_of_coming"] = [1] * 12
    for each in raw["crew"]["tasks"]:
        each["needs_lead"] = each["name"] == task


def test_a_harvest_day_and_a_lead_are_missing_together() -> None:
    """Overgrown 3 days after they are ripe; the only shift between, on Monday day 21, has no lead to harvest."""
    raw = tables()
    raw["crops"][0]["overgrown_after_days"] = 3
    without_leads(raw, "harvest", "mon")

    assert lost(lived(raw, 30), "overgrown") == [(9, "no harvest day + no lead")]


def test_the_harvest_day_was_closed() -> None:
    """Thursdays 24 and 31 are closed, with all days between: no harvest morning before day 30.4."""
    raw = tables()
    raw["room"]["closed_days"] = ["2031-01-30 to 2031-02-07"]

    assert lost(lived(raw, 40), "overgrown") == [(9, "closed")]


def test_everybody_is_busy() -> None:
    """Filling a reservoir takes a week and comes first: the harvest is never begun, though people are there."""
    raw = tables()
    for task in raw["crew"]["tasks"]:
        task["priority"] = 0 if task["name"] in ("sow", "transplant") else 9
    raw["crew"]["tasks"] = [task for task in raw["crew"]["tasks"] if task["name"] != "top up"]
    raw["crew"]["tasks"].append({"name": "top up", "minutes_per_unit": 10_000, "priority": 1})
    book = lived(raw, 40)

    assert lost(book, "overgrown")[-1][1] == "people busy"


def test_the_lead_is_busy() -> None:
    """The same, and only the lead may harvest: the lead was there and had other work."""
    raw = tables()
    without_leads(raw, "harvest")
    for task in raw["crew"]["tasks"]:
        task["priority"] = 0 if task["name"] in ("sow", "transplant") else 9
    raw["crew"]["tasks"] = [task for task in raw["crew"]["tasks"] if task["name"] != "top up"]
    raw["crew"]["tasks"].append({"name": "top up", "minutes_per_unit": 10_000, "priority": 1})
    book = lived(raw, 40)

    assert lost(book, "overgrown")[-1][1] == "lead busy"


def test_no_slot_because_trays_wait_to_be_washed() -> None:
    """Nursery for one sheet, sown every week: moved away on day 10, the sheet waits for a lead who washes and never
    comes. The sowing of day 14 finds its place taken by a dirty sheet; that of day 7 by the plants of the first."""
    raw = tables()
    raw["racks"][0]["shelves"][0]["slots"] = 1
    raw["sowing"][0] |= {"every_weeks": 1, "cells": 10}
    without_leads(raw, "wash", "mon", "thu")
    skipped = list(lived(raw, 22).of(SowingSkipped))

    assert [(record.minute // 1440, record.held_up) for record in skipped] == [
        (13, "no slot + people busy"),
        (20, "no slot + people busy"),
    ]


def test_no_slot_because_plants_grow_in_it() -> None:
    """The same with seedlings that stay 21 days: on day 13 it is they who hold the place."""
    raw = tables()
    raw["racks"][0]["shelves"][0]["slots"] = 1
    raw["sowing"][0] |= {"every_weeks": 1, "cells": 10}
    raw["crops"][0]["stages"][0]["days"] = 21
    skipped = list(lived(raw, 14).of(SowingSkipped))

    assert [(record.minute // 1440, record.held_up) for record in skipped] == [(13, "no slot")]


def test_no_slot_because_ripe_plants_wait_for_a_harvest_day() -> None:
    """Three head slots: lot 1 is ripe on day 19.4, lot 2 waits from day 17 to day 22, and the harvest is on day 24."""
    raw = tables()
    raw["racks"][0]["shelves"][1]["slots"] = 3
    raw["sowing"][0]["every_weeks"] = 1

    assert lost(lived(raw, 23), "no_room") == [(9, "no slot + no harvest day")]


def test_late_for_a_shift_that_is_not_held_then() -> None:
    """Harvest days on Fridays, shifts on Mondays and Thursdays: due on Friday day 25, harvested on Monday day 28."""
    raw = tables()
    raw["harvest"]["weekdays"] = ["fri"]
    (cut,) = lived(raw, 30).of(Harvested)

    assert (cut.days_late, cut.held_up) == (3, "no shift")


def test_moved_late_for_a_closing() -> None:
    """The Thursday on which they are to be moved, day 10, is closed: due on Friday, moved on Monday day 14."""
    raw = tables()
    raw["room"]["closed_days"] = ["2031-01-16"]
    (moved,) = lived(raw, 20).of(Transplanted)

    assert (moved.days_late, moved.held_up) == (3, "closed")


@pytest.mark.parametrize("machine", ["pump", "timer"])
def test_dry_because_a_machine_is_down(machine: str) -> None:
    """Down from day 12 to day 15: all nine dry out."""
    raw = tables()
    raw["crops"][0]["dry_half_loss_hours"] = 1
    raw["outages"] = [
        {"name": "dry", "machine": machine, "where": "reservoir", "start_day": 12, "start_hour": 0, "hours": 72}
    ]

    assert {why for _, why in lost(lived(raw, 20), "dried_out")} == {"machine down"}


def test_dry_because_nobody_fills_the_reservoir() -> None:
    """A reservoir whose whole content lies below the level that a flood wants, once the first liter is drunk."""
    raw = tables()
    reservoir = raw["reservoirs"][0]
    reservoir |= {"top_up": "by hand", "lowest_flood_level_l": reservoir["capacity_l"] - 0.5}
    raw["crops"][0]["dry_half_loss_hours"] = 1
    without_leads(raw, "top up", "mon", "thu")

    assert {why for _, why in lost(lived(raw, 30), "dried_out")} == {"reservoir low"}


def test_dry_because_nobody_is_there_to_fill_the_reservoir() -> None:
    """The same with the room closed from day 4 to day 40: it is the closing, to the end of the drought."""
    raw = tables()
    reservoir = raw["reservoirs"][0]
    reservoir |= {"top_up": "by hand", "lowest_flood_level_l": reservoir["capacity_l"] - 0.5}
    raw["crops"][0]["dry_half_loss_hours"] = 1
    raw["room"]["closed_days"] = ["2031-01-10 to 2031-02-15"]

    assert {why for _, why in lost(lived(raw, 45), "dried_out")} == {"closed + reservoir low"}


@pytest.mark.parametrize("name", ROOMS)
def test_every_plant_that_waited_too_long_says_for_what(name: str) -> None:
    """Two years: the plants of each crop held up are all that were lost so, obstacle by obstacle."""
    room = load_scenario(ROOT / name).scenario
    for number in range(2):
        year = replicate(prepare(room), 5, number, RunPlan(182, 84))
        for loss in ("overgrown", "no_room", "dried_out"):
            told: dict[str, float] = {}
            for (crop, what, _), plants in year.held_up.items():
                if what == loss:
                    told[crop] = told.get(crop, 0) + plants
            assert told == {crop: plants for (crop, fate), plants in year.fates.items() if fate == loss}
