"""Help that cannot hurt does not hurt: more hands, slots, spares, batteries, shorter outages, under shared luck."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import DAY, lived, tables

from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import FloodMissed, Harvested, Lost, TaskDone


def lost(book: Book, *causes: str) -> int:
    """Plants lost to these causes."""
    return sum(record.plants for record in book.of(Lost) if record.cause in causes)


def lucky(raw: dict[str, Any]) -> dict[str, Any]:
    """The round room with seeds, growth and masses that differ, and work that takes no time."""
    raw["crops"][0] |= {"germination_spread_sd": 0.05, "days_spread_cv": 0.05, "mass_spread_cv": 0.3}
    raw["sowing"][0] |= {"every_weeks": 1, "cells": 20}
    raw["racks"][0]["shelves"][0]["slots"] = 30
    raw["racks"][0]["shelves"][1]["slots"] = 30
    raw["crew"]["tasks"] = []
    return raw


OUTAGES = ("pump", "timer", "power", "reservoir leak", "heat pump")


@pytest.mark.parametrize("machine", OUTAGES)
def test_a_longer_outage_costs_no_fewer_plants(machine: str) -> None:
    """The same year with one outage of 10 h to 8 days: what dries out or overheats only grows, by one luck."""
    losses = []
    for hours in (10, 30, 50, 80, 120, 200):
        raw = lucky(tables())
        raw["crops"][0] |= {"dry_half_loss_hours": 40, "heat_half_loss_degree_hours": 400}
        raw["room"]["other_heat_w"] = 300
        where = "reservoir" if machine in ("pump", "timer", "reservoir leak") else ""
        raw["outages"] = [
            {"name": "one", "machine": machine, "where": where, "start_day": 30, "start_hour": 7, "hours": hours}
        ]
        losses.append(lost(lived(raw, 50, luck=Luck(3, 1)), "dried_out", "heat"))

    assert losses == sorted(losses)
    assert losses[0] < losses[-1]


@pytest.mark.parametrize("seed", range(4))
def test_a_longer_battery_misses_no_more_floods(seed: int) -> None:
    """One power outage of 60 h; batteries of 0 to 60 h."""
    books = []
    for hours in (0, 5, 20, 40, 60):
        raw = lucky(tables())
        raw["power"] = {"battery_pump_hours": hours}
        raw["outages"] = [{"name": "harvest", "machine": "power", "start_day": 30, "hours": 60}]
        books.append(lived(raw, 50, luck=Luck(seed, 0)))
    missed = [sum(1 for _ in book.of(FloodMissed)) for book in books]
    dried = [lost(book, "dried_out") for book in books]

    assert missed == sorted(missed, reverse=True)
    assert (missed[0], missed[-1]) == (15, 0)
    assert dried == sorted(dried, reverse=True)
    assert dried[0] > dried[-1] == 0


@pytest.mark.parametrize("seed", range(4))
def test_help_with_one_dead_pump(seed: int) -> None:
    """The pump dies once, at the same minute: a spare on the shelf, an alarm, a quicker delivery or a second pump leave
    no more floods missed and no more plants dried out than nothing at all."""
    helps: dict[str, dict[str, Any]] = {
        "nothing": {},
        "a quicker delivery": {"delivery_days": 1},
        "an alarm": {"alarm_minutes": 30},
        "a spare": {"spares": 1},
        "both": {"spares": 1, "alarm_minutes": 30},
    }
    missed, dried = {}, {}
    for name, change in helps.items():
        raw = lucky(tables())
        # 3 min of pumping in 4 h: 9 h of running are 720 h, day 30, a Wednesday; the next shift is Thursday's.
        for_certain = {"distribution": "fixed", "value": 9}
        life = {"running_hours_to_failure": for_certain, "delivery_days": 3, "repair_hours": 1}
        raw["reservoirs"][0]["pump"]["reliability"] = life | change
        book = lived(raw, 50, luck=Luck(seed, 0))
        missed[name] = sum(1 for _ in book.of(FloodMissed))
        dried[name] = lost(book, "dried_out")

    # Noticed on Thursday day 31 at 9:00; repaired 73 h later, or 25 h, or 1 h; by the alarm at 0:30, repaired at 73:30.
    assert missed == {"nothing": 26, "a quicker delivery": 14, "an alarm": 18, "a spare": 8, "both": 0}
    assert sorted(dried, key=lambda name: (dried[name], missed[name])) == sorted(missed, key=lambda name: missed[name])
    assert dried["nothing"] > dried["both"] == 0


def test_more_hands_finish_a_job_no_later() -> None:
    """One big job, harvest 160 plants at a minute each and 4 min for getting ready, shared out in pieces of 30 min.

    One person needs 164 min, so 120 min on Thursday and the rest on Monday; two are done in 90, three in 60 (pieces
    30 30 30 / 30 30 14), four in 60 and six in 30 minutes.
    """
    finished = []
    for people in (0, 1, 2, 3, 5):
        raw = tables()
        raw["crops"][0] |= {"germination_fraction": 1.0, "seeds_per_cell": 1}
        raw["sowing"][0]["cells"] = 160
        raw["racks"][0]["shelves"][0]["slots"] = raw["racks"][0]["shelves"][1]["slots"] = 40
        raw["room"]["people_at_once"] = 6
        raw["crew"]["chance_of_coming"] = [1.0] * 12
        raw["crew"]["tasks"] = [task for task in raw["crew"]["tasks"] if task["name"] == "harvest"]
        for shift in raw["crew"]["shifts"]:
            shift["people"] = max(1, people)
        if people == 0:
            raw["crew"]["chance_of_coming"] = [0.0] * 12
        finished += [done.minute for done in lived(raw, 40).of(TaskDone) if done.task == "harvest"]

    thursday = 24 * DAY + 540
    assert finished == [thursday + 4 * DAY + 44, thursday + 90, thursday + 60, thursday + 60, thursday + 30]


def test_more_slots_lose_no_more_plants() -> None:
    """One crop, first come first served: each slot more lets as many lots through or more."""
    thrown, cut = [], []
    for slots in (1, 2, 3, 4, 6, 9, 12, 20):
        raw = tables()
        raw["sowing"][0]["every_weeks"] = 1
        raw["racks"][0]["shelves"][1]["slots"] = slots
        raw["racks"][0]["shelves"][0]["slots"] = 9
        book = lived(raw, 120)
        thrown.append(lost(book, "no_room"))
        cut.append(sum(record.plants for record in book.of(Harvested)))

    assert thrown == sorted(thrown, reverse=True)
    assert cut == sorted(cut)
    assert thrown[0] > thrown[-1] == 0
