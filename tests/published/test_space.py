"""Space and stock on paper against the Rutgers-Cornell lettuce house.

Source: A.J. Both, Rutgers Horticultural Engineering, horteng.envsci.rutgers.edu/fhlettuce.htm: 1200 seeds sown and 960
seedlings (80 %) set out a day; 12 days to setting out, 10 days at 81 plants/m², 14 days at 28 plants/m². The Cornell
facility had 607 m² for a design of 1000 heads a day. Areas and stock follow from Little's law (stock = flow x time).
"""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from checks_table import PublishedChecks

from growsim.scenario import on_paper
from growsim.scenario.load import scenario_from
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

SOURCE = "Both, Rutgers, lettuce page; Cornell CEA demonstration facility"
GIVEN = "1200 seeds and 80 % are the room's input"
STOCK = "flow, days and spacing are the room's input"
TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"


@pytest.fixture
def lettuce_house() -> Scenario:
    """The published flow: sown every day, trays of one square meter."""
    raw: dict[str, Any] = copy.deepcopy(tomllib.loads(TINY.read_text(encoding="utf-8")))
    meter = {"length_cm": 100, "width_cm": 100, "plug_volume_ml": 25}
    raw["trays"] = [
        {"name": "sheet", "places": 1200, **meter},
        {"name": "first spacing", "places": 81, **meter},
        {"name": "final spacing", "places": 28, **meter},
    ]
    crop = raw["crops"][1]
    crop.update(seeds_per_cell=1, germination_fraction=0.8, germination_spread_sd=0)
    crop["stages"] = [
        {"name": "seedling", "tray": "sheet", "days": 12},
        {"name": "close", "after": "seedling", "tray": "first spacing", "days": 10},
        {"name": "wide", "after": "close", "tray": "final spacing", "days": 14},
    ]
    raw["crops"] = [crop]
    slots = {"slot_length_cm": 100, "slot_width_cm": 100}
    raw["racks"][0]["shelves"] = [
        {"name": "nursery", "count": 1, "slots": 20, "stages": ["seedling"], **slots},
        {"name": "house", "count": 1, "slots": 607, "stages": ["close", "wide"], **slots},
    ]
    raw["sowing"] = [{"name": day, "crop": crop["name"], "cells": 1200, "weekday": day} for day in WEEKDAYS]
    raw["partners"] = []
    raw["climate"]["cooling_kw"] = 60  # 627 square meters of lights give off some 40 kW
    raw["room"]["heat_loss_w_per_k"] = 1000
    return scenario_from(raw, "the lettuce house")[0]


def test_plants_set_out_a_day(lettuce_house: Scenario, published_check: PublishedChecks) -> None:
    """960 a day of 1200 sown."""
    a_day = sum(line.plants for line in on_paper.weekly_plan(lettuce_house)) / 7

    published_check(
        "seedlings set out a day, calculated", SOURCE, 960, a_day, "plants/day",
        checks=on_paper.weekly_plan, given=GIVEN, within=0.001,
    )  # fmt: skip


def test_stock_by_stage(lettuce_house: Scenario, published_check: PublishedChecks) -> None:
    """9,600 plants at the first spacing and 13,440 at the final one; 14,400 cells in the nursery (filled or not)."""
    in_the_house = on_paper.plants_standing(lettuce_house) - 1200 * 12

    published_check(
        "plants in the house, calculated (flow x days)", SOURCE, 960 * (10 + 14), in_the_house, "plants",
        checks=on_paper.plants_standing, within=0.01, given=STOCK,
    )  # fmt: skip


def test_area(lettuce_house: Scenario, published_check: PublishedChecks) -> None:
    """118.5 + 480 = 598.5 m² by the densities; in whole trays a sowing 12 x 10 + 35 x 14 = 610; the house had 607."""
    wanted = on_paper.slots_wanted(lettuce_house)
    area_m2 = wanted["close", "first spacing"] + wanted["wide", "final spacing"]

    assert area_m2 == pytest.approx(12 * 10 + 35 * 14)
    assert area_m2 == pytest.approx(9_600 / 81 + 13_440 / 28, rel=0.02)
    published_check(
        "growing area for 960 plants a day, calculated", SOURCE, 607, area_m2, "m²",
        checks=on_paper.slots_wanted, within=6, given=STOCK,
    )  # fmt: skip
