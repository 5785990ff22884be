"""Closed for long: what sown before is lost in it, told beforehand; and whether the rehearsed room says the same."""

from __future__ import annotations

import datetime as dt
from typing import Any

from small_rooms import lived, scenario_of, tables

from growsim.ledger.events import Harvested
from growsim.scenario.calendar import Calendar
from growsim.scenario.checks.closings import lost_sowings, nothing_is_sown_in_vain

FIRST, LAST = dt.date(2031, 4, 1), dt.date(2031, 4, 21)  # a Tuesday and a Monday, three weeks


def closed_in_april() -> dict[str, Any]:
    """The round room (24 days, moved on day 10 or at most 5 days later, overgrown 10 days after it is ripe)."""
    raw = tables()
    raw["room"]["closed_days"] = [(FIRST + dt.timedelta(days=day)).isoformat() for day in range(21)]
    return raw


def test_last_day_to_sow_and_day_to_start_again() -> None:
    """Moved in [s + 10, s + 15], harvested on a Thursday in [s + 24, s + 33], sown in [s, s + 5].

    Harvest: no Thursday before April 1 (the last is March 27, s + 24 > 27th) and none from the 22nd on, which makes up
    for closed Thursdays (s + 33 < 22): sown from March 4 to March 19. Move: s + 10 >= April 1 and s + 15 <= 21st: from
    March 22 to April 6. Sowing: from April 1 to 16.
    """
    scenario = scenario_of(closed_in_april())
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)

    assert lost_sowings(scenario, calendar, scenario.crops[0], FIRST, LAST) == [
        (dt.date(2031, 3, 4), dt.date(2031, 3, 19)),
        (dt.date(2031, 3, 22), dt.date(2031, 4, 16)),
    ]


def test_it_is_told_with_both_days() -> None:
    """Weekly Mondays fall into both spells; a plan that pauses is told nothing."""
    raw = closed_in_april()
    raw["sowing"][0]["every_weeks"] = 1
    said = list(nothing_is_sown_in_vain(scenario_of(raw)))
    raw["sowing"] = [
        {**raw["sowing"][0], "until_date": "2031-03-03"},
        {**raw["sowing"][0], "name": "again", "from_date": "2031-04-17"},
    ]

    assert [key for key, _, _ in said] == ["room.closed_days"] * 2
    assert said[0][1].startswith("closed from 2031-04-01 to 2031-04-21: lettuce sown from 2031-03-04 on")
    assert said[0][2].startswith("sow it for the last time by 2031-03-03 and again from 2031-03-20 on")
    assert list(nothing_is_sown_in_vain(scenario_of(raw))) == []


def test_the_rehearsed_room_loses_what_is_told_and_nothing_else() -> None:
    """Sown every day from February to May: of lots that anybody could sow, those not harvested are those told."""
    raw = closed_in_april()
    raw["crops"][0] |= {
        "harvest_from_mass_fraction": 1.0,
        "emergence": {"temperature_c": [20], "days": [5], "relative_fraction": [1]},
    }
    raw["racks"][0]["shelves"][0]["slots"] = raw["racks"][0]["shelves"][1]["slots"] = 400
    raw["reservoirs"][0]["top_up"] = "float valve"
    raw["climate"]["cooling_kw"] = 500  # against the heat of so many slots' light
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    raw["sowing"] = [
        {
            "name": day,
            "crop": "lettuce",
            "cells": 10,
            "weekday": day,
            "from_date": "2031-02-01",
            "until_date": "2031-05-15",
        }
        for day in days
    ]
    raw["crew"]["shifts"] = [
        {"name": day, "weekday": day, "start_hour": 0, "hours": 23, "people": 0, "lead": True} for day in days
    ]
    raw["crew"]["tasks"] = []
    scenario = scenario_of(raw)
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    told = {
        begin + dt.timedelta(days=day)
        for begin, end in lost_sowings(scenario, calendar, scenario.crops[0], FIRST, LAST)
        for day in range((end - begin).days + 1)
    }
    harvested = {dt.date.fromisoformat(cut.lot[:10]) for cut in lived(raw, 180).of(Harvested)}
    sown = {dt.date(2031, 2, 1) + dt.timedelta(days=day) for day in range(104)}

    assert sown - harvested == told


def test_a_closing_is_not_blamed_where_no_harvest_day_meets_the_crop_anyway() -> None:
    """Harvested on Thursdays, ripe for two days from the 24th day on, sown on Mondays: ripe on Thursday and Friday.

    Sown on Tuesdays it is ripe on Friday and Saturday, closed or not.
    """
    raw = closed_in_april()
    raw["crops"][0]["overgrown_after_days"] = 2
    raw["sowing"][0] |= {"weekday": "tue", "every_weeks": 1}
    scenario = scenario_of(raw)
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    told = lost_sowings(scenario, calendar, scenario.crops[0], FIRST, LAST)
    days = [begin + dt.timedelta(days=n) for begin, end in told for n in range((end - begin).days + 1)]

    assert dt.date(2031, 3, 11) not in days  # a Tuesday: ripe on Friday, April 4, while closed
    assert dt.date(2031, 3, 10) in days  # a Monday: ripe on Thursday, April 3


def test_nobody_is_told_to_sow_again_on_a_day_that_no_harvest_day_meets() -> None:
    """The same crop sown on Mondays: Mondays and Sundays alone are harvested, so what begins on Sunday, March 9 (ripe
    on Wednesday, April 2) ends with the closing, and is told once; the days named have a shift."""
    raw = closed_in_april()
    raw["crops"][0]["overgrown_after_days"] = 2
    raw["sowing"][0] |= {"weekday": "mon", "every_weeks": 1}
    ((_, says, helps),) = nothing_is_sown_in_vain(scenario_of(raw))

    assert "lettuce sown from 2031-03-09 on" in says
    assert helps.startswith("sow it for the last time by 2031-03-06 and again from 2031-04-24 on")


def test_no_day_before_the_start_is_named() -> None:
    """Closed in the fourth week after the start: what would have been sown before waits."""
    raw = closed_in_april()
    raw["room"]["start_date"] = dt.date(2031, 3, 10)
    raw["sowing"][0]["every_weeks"] = 1
    said = list(nothing_is_sown_in_vain(scenario_of(raw)))

    assert said[0][1].startswith("closed from 2031-04-01 to 2031-04-21: lettuce sown from 2031-03-10 on")
    assert said[0][2].startswith("sow it from 2031-03-20 on")
    assert not any(f"2031-03-0{day}" in text for _, *texts in said for text in texts for day in range(1, 10))
