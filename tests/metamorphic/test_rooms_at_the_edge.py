"""Rooms no one would want: no power, no people, no seed that germinates, one slot, nothing. They run to their end."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from small_rooms import DAY, lived, scenario_of, tables

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import FloodMissed, Harvested, Lost, MetersRead, SowingSkipped, Sown
from growsim.ledger.measures import measure
from growsim.scenario.plan import RunPlan


def weekly() -> dict[str, Any]:
    """The round room, sown every week."""
    raw = tables()
    raw["sowing"][0]["every_weeks"] = 1
    return raw


def measures(raw: dict[str, Any], book: Book, days: int) -> dict[str, float]:
    """The measures; they hold seeds to their fates."""
    return measure(book, scenario_of(raw), RunPlan(days, start="empty"), 0).measures


@pytest.mark.parametrize("luck", [FixedLuck(), Luck(1, 0)])
def test_no_power_all_year(luck: Luck) -> None:
    """No light, no flood: what is sown dries out; only the seeds' first days need nothing. No kilowatt-hour is used."""
    raw = weekly()
    raw["outages"] = [{"name": "for ever", "machine": "power", "start_day": 0, "hours": 8760}]
    book = lived(raw, 364, luck=luck)
    found = measures(raw, book, 364)
    meters = list(book.of(MetersRead))[-1]

    assert (meters.kwh_lights, meters.kwh_pumps, meters.kwh_heat_pump, meters.kwh_fans) == (0, 0, 0, 0)
    assert found["plants_harvested"] == 0
    assert found["plants_lost_dried_out"] > 300
    assert sum(1 for _ in book.of(FloodMissed)) == 364 * 6


@pytest.mark.parametrize("luck", [FixedLuck(), Luck(1, 0)])
def test_nobody_comes(luck: Luck) -> None:
    """No lead and no volunteer turns up: shifts without a soul in them, every sowing skipped."""
    raw = weekly()
    for shift in raw["crew"]["shifts"]:
        shift["lead"] = False
    book = lived(raw, 364, luck=luck)
    found = measures(raw, book, 364)

    assert list(book.of(Sown)) == []
    assert found["sowings_skipped"] == sum(1 for _ in book.of(SowingSkipped)) == 52
    assert found["crew_hours_worked_per_week"] == found["crew_hours_present_per_week"] == 0


def test_the_door_stays_shut_from_a_day_on() -> None:
    """From day 30 on the room is closed: what stands there is overgrown or thrown away in time, nothing lingers."""
    raw = weekly()
    raw["room"]["closed_days"] = [
        (scenario_of(raw).room.start_date + dt.timedelta(days=day)).isoformat() for day in range(30, 200)
    ]
    book = lived(raw, 200)
    found = measures(raw, book, 200)

    assert found["plants_growing_at_end"] == 0
    assert found["plants_lost_overgrown"] > 0
    assert all(record.minute < 30 * DAY for record in book.of(Harvested))
    assert max(record.minute for record in book.of(Lost)) < 70 * DAY


def test_no_seed_comes_up() -> None:
    """All seeds sown are lost as not up; trays go round all the same."""
    raw = weekly()
    raw["crops"][0]["germination_fraction"] = 0.0
    found = measures(raw, lived(raw, 364, luck=Luck(1, 0)), 364)

    assert found["seeds_sown"] > 900
    assert found["plants_lost_not_emerged"] + found["plants_growing_at_end"] == found["seeds_sown"]


def test_one_slot_in_all() -> None:
    """One slot for every stage: a lot in its sheet is in its own way, and nothing but the next sowing ever gets in."""
    raw = weekly()
    shelf = raw["racks"][0]["shelves"][0]
    raw["racks"][0]["shelves"] = [{**shelf, "slots": 1, "stages": ["seedling", "head"]}]
    book = lived(raw, 364)
    found = measures(raw, book, 364)

    assert max(book.level("slots", "rack", "seedling").values) == 1
    assert found["shelf_fill_fraction"] <= 1
    assert found["plants_harvested"] == 0
    assert found["plants_lost_no_room"] > 0


def test_a_room_with_nothing_in_it() -> None:
    """No crops, racks, lights, reservoirs, sowings, shifts: a year passes and nothing is written but meters."""
    raw = tables()
    for key in ("crops", "racks", "lights", "reservoirs", "sowing", "partners", "trays"):
        raw[key] = []
    raw["crew"]["shifts"] = []
    book = lived(raw, 364)

    assert {type(record) for record in book.records} == {MetersRead}
    assert measures(raw, book, 364)["kwh_per_week"] == pytest.approx(200 / 3 * 168 / 1000)  # walls lose 200 W
