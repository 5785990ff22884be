"""The calendar behind a sowing plan: when lots are harvested, and whom what is harvested can feed."""

from __future__ import annotations

import copy
import math
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from growsim.ledger.events import Harvested
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.sow.timing import HarvestChance, fed_orders, harvest_on_paper, kg_per_cell, lines_for, measured
from growsim.vocabulary.days import WEEKDAYS

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")


def edited(**changes: Any) -> Scenario:
    """The tiny room with tables merged in at the top."""
    raw = copy.deepcopy(TINY.raw)
    for key, value in changes.items():
        raw[key] = raw[key] | value if isinstance(value, dict) else value
    return scenario_from(raw, "tiny")[0]


def partner(name: str, weekday: str, hour: float, crop: str = "cutting leaf") -> dict[str, Any]:
    """A partner with one order."""
    return {"name": name, "weekday": weekday, "hour": hour, "orders": [{"crop": crop, "kg": 1}]}


def test_which_harvest_days_feed_a_pick_up() -> None:
    """Harvested on Monday and Thursday mornings, surplus on Saturday noon; leaf keeps 7 days, at most 6 are waited."""
    room = edited(
        harvest={
            "weekdays": ["mon", "thu"],
            "surplus_weekday": "sat",
            "surplus_hour": 12,
            "longest_wait_days": 6,
        },
        partners=[
            partner("Monday afternoon", "mon", 14),
            partner("Monday dawn", "mon", 6),
            partner("Wednesday", "wed", 12),
            partner("Thursday", "thu", 14),
            partner("Friday", "fri", 14, "any"),
        ],
    )

    assert {each.order.partner: each.cuts for each in fed_orders(room)} == {
        "Monday afternoon": ((0, 0),),  # Thursday's greens are given away on Saturday
        "Monday dawn": (),  # before Monday's harvested, after Saturday: there is nothing
        "Wednesday": ((0, 2),),
        "Thursday": ((3, 0), (0, 3)),
        "Friday": ((3, 1), (0, 4)),
    }


def test_what_is_cut_without_a_lead_waits_for_one() -> None:
    """Harvested on Wednesday, but the only shift comes on Thursday: Wednesday's evening pick-up has none of it."""
    shifts = [TINY.raw["crew"]["shifts"][1]]
    room = edited(
        crew={"shifts": shifts},
        harvest={"weekdays": ["wed"]},
        partners=[partner("evening", "wed", 20), partner("day after", "thu", 14)],
    )

    assert [each.cuts for each in fed_orders(room)] == [(), ((2, 1),)]


def calm(crop_cv: float) -> Prepared:
    """A room without troubles: long shifts every day, nothing fails, only growth differs from lot to lot."""
    raw = copy.deepcopy(TINY.raw)
    raw["crew"]["shifts"] = [
        {"name": day, "weekday": day, "start_hour": 9, "hours": 12, "people": 4, "lead": True} for day in WEEKDAYS
    ]
    raw["crew"]["chance_of_coming"] = [1.0] * 12
    raw["crew"]["chance_spread_sd"] = 0.0
    raw["reservoirs"][0]["pump"].pop("reliability")
    raw["crops"][1]["days_spread_cv"] = crop_cv
    raw["sowing"] = [{"name": "a", "crop": "small head", "cells": 12, "weekday": "mon", "every_weeks": 2}]
    return prepare(scenario_from(raw, "calm")[0])


def test_harvest_days_on_paper_are_those_of_a_calm_room() -> None:
    """The chance of each harvest day agrees with rehearsed lots, within four standard errors."""
    room = calm(0.08)
    (crop,) = [crop for crop in room.scenario.crops if crop.name == "small head"]
    on_paper, grams = harvest_on_paper(room, crop, "mon")
    days: Counter[int] = Counter()
    heads = weight = 0
    for i in range(12):
        for cut in trace(room, 5, i, RunPlan(182, start="empty")).of(Harvested):
            days[round((cut.minute - 600) / 1440 - (cut.sown_minute // 1440))] += 1
            heads, weight = heads + cut.plants, weight + cut.grams

    lots = days.total()
    assert lots > 60
    assert math.fsum(each.chance for each in on_paper) == pytest.approx(1.0)
    for each in on_paper:
        error = math.sqrt(max(each.chance * (1 - each.chance), 0.02) / lots)
        assert abs(days[each.days] / lots - each.chance) < 4 * error
    assert weight / heads == pytest.approx(grams * 0.95 * 1.01, rel=0.04)  # trimmed; the smallest left out


def test_a_cell_gives_what_paper_says() -> None:
    """Leaf: 1 - 0.15² of cells filled, 24 g each, trimmed by 5 %; hardly a plant is too small."""
    room = TINY.scenario
    given = kg_per_cell(room, room.crops[0], 24.0)

    assert given == pytest.approx((1 - 0.15**2) * 0.024 * 0.95, rel=0.02)


def test_each_shift_day_is_a_line() -> None:
    """Monday and Thursday have shifts; both can feed the Thursday pick-up, with their chances."""
    prepared = prepare(TINY.scenario)
    lines = lines_for(prepared, TINY.scenario.crops[0], fed_orders(TINY.scenario))

    assert [line.weekday for line in lines] == ["mon", "thu"]
    for line in lines:
        (feeds,) = line.feeds
        cut = {each.days: each.chance for each in line.cut}
        assert (WEEKDAYS.index(line.weekday) + feeds.days) % 7 == 3
        assert feeds.in_time == pytest.approx(cut[feeds.days])
        assert feeds.in_time == max(cut.values())


def test_measured_days_take_the_place_of_paper() -> None:
    """Of Monday's plants three quarters after 31 days, the rest after 38; 1.5 kg from 100 cells."""
    fed = fed_orders(TINY.scenario)
    lines = lines_for(prepare(TINY.scenario), TINY.scenario.crops[0], fed)
    lived = [
        Outcome(0, {}, {}, {}, {"lot cells:mon:cutting leaf": 60, "lot harvested:mon:31:cutting leaf": 60}),
        Outcome(
            1, {}, {}, {}, {"lot cells:mon:cutting leaf": 40, "lot harvested:mon:38:cutting leaf": 20, "kwh:fans": 3}
        ),
        Outcome(2, {}, {}, {}, {"lot kg:mon:cutting leaf": 1.5, "lot harvested:mon:31:small head": 9}),
    ]

    monday, thursday = measured(lines, fed, lived)

    assert monday.cut == (HarvestChance(31, 0.75), HarvestChance(38, 0.25))
    assert (monday.feeds[0].days, monday.feeds[0].in_time, monday.kg_per_cell) == (31, 0.75, 0.015)
    assert thursday == lines[1]
