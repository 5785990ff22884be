"""A small invented room whose every figure is round, and ways to let it run: the ground for tests done by hand.

Lights burn day and night and curves are straight lines, so that growing and drinking go evenly and can be worked out
on paper: a plant is 0.1 g dry at germination and gains 0.1 g a day; it drinks 24 mL a day, 1 mL an hour.
"""

from __future__ import annotations

import copy
from typing import Any

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.growth.crops import Curves
from growsim.growth.curves import MassCurve
from growsim.growth.pace import environments_at
from growsim.ledger.book import Book
from growsim.room.model import simulate
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

DAY = 1440
DRY_G, DRY_G_A_DAY, ML_A_DAY = 0.1, 0.1, 24.0

_ROOM: dict[str, Any] = {
    "about": "invented",
    "room": {
        "name": "round room",
        "start_date": "2031-01-06",  # a Monday
        "people_at_once": 4,
        "floor_area_m2": 10,
        "height_m": 2.5,
        "outdoor_temperature_c": [10] * 12,
        "heat_loss_w_per_k": 20,
        "heat_capacity_kj_per_k": 720,
        "air_changes_per_hour": 0,
    },
    "trays": [
        {"name": "sheet", "places": 10, "length_cm": 50, "width_cm": 50, "plug_volume_ml": 30},
        {"name": "head tray", "places": 4, "length_cm": 50, "width_cm": 50, "plug_volume_ml": 30},
    ],
    "racks": [
        {
            "name": "rack",
            "reservoir": "reservoir",
            "lights": "lights",
            "shelves": [
                {
                    "name": name,
                    "count": 1,
                    "slots": slots,
                    "slot_length_cm": 50,
                    "slot_width_cm": 50,
                    "stages": [stage],
                }
                for name, slots, stage in (("nursery", 2, "seedling"), ("lower", 6, "head"))
            ],
        }
    ],
    "crops": [
        {
            "name": "lettuce",
            "seeds_per_cell": 2,
            "germination_fraction": 0.75,
            "emergence": {"temperature_c": [20], "days": [3], "relative_fraction": [1]},
            "stages": [
                {"name": "seedling", "tray": "sheet", "days": 10},
                {"name": "head", "after": "seedling", "tray": "head tray", "days": 14, "latest_days": 5},
            ],
            "typical_mass_g": 50,
            "dry_matter_fraction": 0.04,
            "days_spread_cv": 0,
            "mass_spread_cv": 0,
            "harvest_from_mass_fraction": 0.85,
            "overgrown_after_days": 10,
            "trimmed_fraction": 0.1,
            "shelf_life_days": 5,
            "dry_half_loss_hours": 12,
            "heat_limit_c": 30,
            "heat_half_loss_degree_hours": 60,
            "seed_price_per_1000": 10,
        }
    ],
    "reservoirs": [
        {
            "name": "reservoir",
            "capacity_l": 100,
            "lowest_flood_level_l": 50,
            "first_flood_hour": 2,
            "flood_every_hours": 4,
            "flood_minutes": 3,
            "change_every_weeks": 0,
            "pump": {"power_w": 40},
        }
    ],
    "lights": [
        {
            "name": "lights",
            "ppfd_umol_m2_s": 200,
            "on_hour": 0,
            "hours_per_day": 24,
            "efficacy_umol_j": 2.5,
            "light_on_trays_fraction": 0.8,
        }
    ],
    "climate": {"air_temperature_c": 20, "cooling_kw": 2, "heating_kw": 2},
    "crew": {
        "chance_of_coming": [0] * 12,
        "shifts": [
            {"name": name, "weekday": day, "start_hour": 9, "hours": 2, "people": 1, "lead": True}
            for name, day in (("Monday", "mon"), ("Thursday", "thu"))
        ],
        "tasks": [
            {"name": "harvest", "fixed_minutes": 4, "minutes_per_unit": 1, "priority": 1},
            {"name": "pack", "fixed_minutes": 2, "minutes_per_unit": 10, "priority": 2},
            {"name": "transplant", "fixed_minutes": 3, "minutes_per_unit": 1, "priority": 3},
            {"name": "sow", "fixed_minutes": 5, "minutes_per_unit": 1, "priority": 4},
            {"name": "thin", "minutes_per_unit": 1, "priority": 5},
            {"name": "wash", "fixed_minutes": 1, "minutes_per_unit": 4, "priority": 6},
            {"name": "top up", "minutes_per_unit": 10, "priority": 7},
            {"name": "change solution", "minutes_per_unit": 30, "priority": 8},
        ],
    },
    "sowing": [{"name": "Mondays", "crop": "lettuce", "cells": 10, "weekday": "mon", "every_weeks": 52}],
    "harvest": {"weekdays": ["thu"], "surplus_weekday": "fri"},
    "partners": [
        {"name": "pantry", "weekday": "thu", "hour": 14, "orders": [{"crop": "lettuce", "kg": 0.3}]},
    ],
    "prices": {"electricity_per_kwh": 0.2},
}  # fmt: skip


def tables() -> dict[str, Any]:
    """The tables of the room, yours to change."""
    return copy.deepcopy(_ROOM)


def scenario_of(raw: dict[str, Any]) -> Scenario:
    """Tables to a scenario (as the file's reader does it, without its checks)."""
    return Scenario.model_validate(raw)


def straight_curves(scenario: Scenario, days: int = 200) -> Curves:
    """Straight lines for every crop, stage and bank."""
    line = MassCurve.from_grid(
        1.0, tuple(DRY_G + DRY_G_A_DAY * day for day in range(days)), tuple(ML_A_DAY * day for day in range(days))
    )
    return Curves(
        growth_rate={crop.name: 1.0 for crop in scenario.crops},
        curves={
            (crop.name, stage.name, bank.name): line
            for crop in scenario.crops
            for stage in crop.stages
            for bank in scenario.lights
        },
        environments=environments_at(scenario),
        seedling_dry_g={crop.name: DRY_G for crop in scenario.crops},
    )


def lived(raw: dict[str, Any], days: int, *, luck: Luck | None = None, **plan: Any) -> Book:
    """The log book of the room of these tables over so many days, from empty shelves, with luck switched off."""
    scenario = scenario_of(raw)
    return simulate(scenario, straight_curves(scenario), luck or FixedLuck(), RunPlan(days, start="empty", **plan))
