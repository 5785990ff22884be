"""Hypothesis strategies for everyone's property tests: small rooms that pass every check, as tables or as a Scenario.

They are made by editing the tiny room, so that each stays a plain little room that a person could have written.
"""

from __future__ import annotations

import copy
import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from growsim.scenario.load import scenario_from
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

TINY = Path(__file__).parents[1] / "scenarios" / "tiny" / "room.toml"
_BASE: dict[str, Any] = tomllib.loads(TINY.read_text(encoding="utf-8"))

LEAF, HEAD = "cutting leaf", "small head"
SHEET_CELLS = 60


@st.composite
def room_tables(draw: st.DrawFn, *, failures: bool | None = None, luck: bool | None = None) -> dict[str, Any]:
    """The tables of a small room, as a TOML file would give them.

    failures: whether machines and power may fail (None: sometimes). luck: False for a room in which seeds, people and
    pace have no spread either; machines still fail if `failures` says so.
    """
    raw = copy.deepcopy(_BASE)
    fail = draw(st.booleans()) if failures is None else failures
    lucky = draw(st.booleans()) if luck is None else luck
    _place(draw, raw)
    _crops(draw, raw, lucky)
    _machines(draw, raw, fail)
    _people(draw, raw, lucky)
    _plan(draw, raw)
    raw["rehearsal"] = {"days": draw(st.integers(7, 84)), "warm_up_days": draw(st.integers(0, 56)), "replications": 2}
    return raw


def rooms(*, failures: bool | None = None, luck: bool | None = None) -> st.SearchStrategy[Scenario]:
    """Small rooms, read and checked; see `room_tables`."""
    return room_tables(failures=failures, luck=luck).map(lambda raw: scenario_from(raw, "made up")[0])


def _place(draw: st.DrawFn, raw: dict[str, Any]) -> None:
    raw["room"]["start_date"] = dt.date(2031, 1, 1) + dt.timedelta(days=draw(st.integers(0, 364)))
    raw["room"]["closed_days"] = [
        raw["room"]["start_date"] + dt.timedelta(days=days)
        for days in draw(st.lists(st.integers(0, 60), max_size=3, unique=True))
    ]
    raw["room"]["people_at_once"] = draw(st.integers(1, 6))
    raw["room"]["air_changes_per_hour"] = draw(st.sampled_from([0.0, 0.3, 2.0]))
    top, lower = raw["racks"][0]["shelves"]
    top["count"], top["slots"] = draw(st.integers(1, 2)), draw(st.integers(2, 5))
    lower["count"], lower["slots"] = draw(st.integers(1, 4)), draw(st.integers(2, 5))
    if draw(st.booleans()):  # the lower shelves on a rack of their own, with their own reservoir and lights
        for key, name in (("reservoirs", "second reservoir"), ("lights", "second lights")):
            raw[key].append({**copy.deepcopy(raw[key][0]), "name": name})
        raw["racks"].append(
            {"name": "second", "reservoir": "second reservoir", "lights": "second lights", "shelves": [lower]}
        )
        raw["racks"][0]["shelves"] = [top]


def _crops(draw: st.DrawFn, raw: dict[str, Any], lucky: bool) -> None:
    leaf, head = raw["crops"]
    for crop in (leaf, head):
        crop["seeds_per_cell"] = draw(st.integers(1, 3))
        crop["germination_fraction"] = draw(st.sampled_from([0.5, 0.8, 0.95] if lucky else [1.0, 0.8]))
        crop["germination_spread_sd"] = draw(st.sampled_from([0.0, 0.05])) if lucky else 0.0
        crop["days_spread_cv"] = draw(st.sampled_from([0.0, 0.04, 0.15])) if lucky else 0.0
        crop["mass_spread_cv"] = draw(st.sampled_from([0.0, 0.2, 0.5])) if lucky else 0.0
        crop["overgrown_after_days"] = draw(st.integers(2, 20))
        crop["stages"][0]["days"] = draw(st.integers(8, 16))
        crop["stages"][1]["days"] = draw(st.integers(10, 24))
        crop["stages"][1]["latest_days"] = draw(st.integers(2, 14))
        crop["stages"][1]["loss_fraction"] = draw(st.sampled_from([0.0, 0.02, 0.3]))
    leaf["harvests"] = draw(st.integers(1, 3))
    leaf["regrowth_days"] = draw(st.integers(7, 14))
    leaf["shelf_life_days"] = draw(st.integers(2, 9))


def _machines(draw: st.DrawFn, raw: dict[str, Any], fail: bool) -> None:
    for reservoir in raw["reservoirs"]:
        reservoir["flood_every_hours"] = draw(st.sampled_from([2, 4, 6, 8, 12]))
        reservoir["flood_minutes"] = draw(st.integers(1, 15))
        reservoir["first_flood_hour"] = draw(st.integers(0, 23))
        reservoir["top_up"] = draw(st.sampled_from(["by hand", "float valve"]))
        reservoir["change_every_weeks"] = draw(st.integers(0, 4))
        reservoir["capacity_l"] = draw(st.sampled_from([70, 90, 120, 300]))
        reservoir["pump"]["count"] = draw(st.integers(1, 2))
        reservoir["pump"]["reliability"] = _reliability(draw, fail, [1, 20, 200])
        reservoir["timer"] = {"reliability": _reliability(draw, fail, [500, 5000])}
    for bank in raw["lights"]:
        bank["on_hour"], bank["hours_per_day"] = draw(st.integers(0, 23)), draw(st.integers(12, 24))
        bank["reliability"] = _reliability(draw, fail, [300, 5000])
    raw["climate"]["reliability"] = _reliability(draw, fail, [300, 5000])
    raw["climate"]["cooling_kw"] = draw(st.sampled_from([0.5, 2, 5]))
    raw["power"] = {
        "outages_per_year": draw(st.sampled_from([0.0, 1.4, 50.0])) if fail else 0.0,
        "outage_hours": {"distribution": "lognormal", "mean": 4, "sd": 6},
        "battery_pump_hours": draw(st.sampled_from([0, 2])),
    }


def _reliability(draw: st.DrawFn, fail: bool, mean_hours: list[float]) -> dict[str, Any]:
    if not fail or draw(st.booleans()):
        return {}
    table: dict[str, Any] = {
        "running_hours_to_failure": {
            "distribution": "weibull",
            "mean": draw(st.sampled_from(mean_hours)),
            "shape": 1.2,
        },
        "repair_hours": draw(st.sampled_from([0, 1, 8])),
        "spares": draw(st.integers(0, 2)),
        "delivery_days": {"low": 0, "likely": 2, "high": 6},
    }
    if draw(st.booleans()):
        table["alarm_minutes"] = draw(st.integers(0, 120))
    return table


def _people(draw: st.DrawFn, raw: dict[str, Any], lucky: bool) -> None:
    crew = raw["crew"]
    crew["chance_of_coming"] = [draw(st.sampled_from([0.3, 0.7, 1.0] if lucky else [1.0]))] * 12
    crew["chance_spread_sd"] = draw(st.sampled_from([0.0, 0.1])) if lucky else 0.0
    crew["beginner_pace"] = draw(st.sampled_from([0.4, 1.0])) if lucky else 1.0
    days = draw(st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=4, unique=True))
    crew["shifts"] = [
        {
            "name": f"{day} shift",
            "weekday": day,
            "start_hour": draw(st.integers(6, 20)),
            "hours": draw(st.sampled_from([0.5, 1, 2.5, 4])),
            "people": draw(st.integers(0, 4)),
            "lead": number == 0 or draw(st.booleans()),
        }
        for number, day in enumerate(days)
    ]
    for shift in crew["shifts"]:  # only a lead works alone
        shift["people"] = max(shift["people"], 0 if shift["lead"] else 1)
    crew["walk_throughs"] = (
        [{"name": "walk-through", "weekdays": list(WEEKDAYS), "hour": 20}] if draw(st.booleans()) else []
    )


def _plan(draw: st.DrawFn, raw: dict[str, Any]) -> None:
    sheets = raw["racks"][0]["shelves"][0]["count"] * raw["racks"][0]["shelves"][0]["slots"]
    lines = draw(st.integers(0, 3))
    raw["sowing"] = [
        {
            "name": f"line {number}",
            "crop": draw(st.sampled_from([LEAF, HEAD])),
            "cells": draw(st.integers(1, SHEET_CELLS * min(2, sheets))),
            "weekday": draw(st.sampled_from(WEEKDAYS)),
            "every_weeks": draw(st.integers(1, 3)),
            "first_week": draw(st.integers(0, 2)),
        }
        for number in range(lines)
    ]
    raw["harvest"] = {
        "weekdays": draw(st.lists(st.sampled_from(WEEKDAYS), min_size=1, max_size=7, unique=True)),
        "longest_wait_days": draw(st.integers(1, 9)),
        "surplus_weekday": draw(st.sampled_from(WEEKDAYS)),
        "surplus_hour": draw(st.integers(0, 23)),
    }
    raw["partners"] = [
        {
            "name": f"partner {number}",
            "priority": draw(st.integers(1, 2)),
            "weekday": draw(st.sampled_from(WEEKDAYS)),
            "hour": draw(st.integers(8, 20)),
            "orders": [{"crop": draw(st.sampled_from([LEAF, HEAD, "any"])), "kg": draw(st.sampled_from([0.1, 1, 20]))}],
        }
        for number in range(draw(st.integers(0, 3)))
    ]
