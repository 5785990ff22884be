"""A small invented room with one lettuce, for the tests of biology."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from growsim.growth.curves import Environment
from growsim.scenario.scenario import Scenario

LETTUCE: dict[str, Any] = {
    "name": "lettuce",
    "seeds_per_cell": 2,
    "germination_fraction": 0.9,
    "emergence": {
        "temperature_c": (10.0, 15.0, 20.0, 25.0, 30.0),
        "days": (7.0, 4.0, 3.0, 2.0, 3.0),
        "relative_fraction": (1.0, 1.0, 1.0, 1.0, 0.12),
    },
    "stages": [
        {"name": "sheet", "tray": "plug tray", "days": 12},
        {"name": "spaced", "after": "sheet", "tray": "spaced tray", "days": 10},
        {"name": "finishing", "after": "spaced", "tray": "finishing tray", "days": 13},
    ],
    "typical_mass_g": 140,
    "overgrown_after_days": 14,
    "shelf_life_days": 10,
}


def _tray(name: str, places: int) -> dict[str, Any]:
    return {"name": name, "places": places, "length_cm": 100, "width_cm": 50, "plug_volume_ml": 15}


def _bank(name: str, ppfd: float, hours: float) -> dict[str, Any]:
    return {"name": name, "ppfd_umol_m2_s": ppfd, "on_hour": 6, "hours_per_day": hours, "efficacy_umol_j": 2.5}


def _rack(name: str, lights: str, slots: int, stages: list[str]) -> dict[str, Any]:
    shelves = {"name": "all", "count": 2, "slots": slots, "slot_length_cm": 100, "slot_width_cm": 50, "stages": stages}
    return {"name": name, "reservoir": "reservoir", "lights": lights, "shelves": [shelves]}


@pytest.fixture
def room_of() -> Callable[..., Scenario]:
    """Build the small room; keyword arguments change the lettuce, `co2`, `climate` and `more_crops` the rest."""

    def build(
        co2: dict[str, Any] | None = None,
        climate: dict[str, Any] | None = None,
        more_crops: tuple[dict[str, Any], ...] = (),
        **lettuce: Any,
    ) -> Scenario:
        base_climate = {"air_temperature_c": 22, "cooling_kw": 5, "heating_kw": 2}
        return Scenario.model_validate(
            {
                "room": {
                    "name": "invented room",
                    "start_date": "2031-01-06",
                    "people_at_once": 4,
                    "floor_area_m2": 20,
                    "height_m": 2.5,
                    "outdoor_temperature_c": (5.0,) * 12,
                    "heat_loss_w_per_k": 40,
                    "heat_capacity_kj_per_k": 2000,
                    "air_changes_per_hour": 0.3,
                },
                "trays": [_tray("plug tray", 500), _tray("spaced tray", 40), _tray("finishing tray", 14)],
                "racks": [
                    _rack("north", "north lights", 3, ["sheet", "spaced", "finishing"]),
                    _rack("south", "south lights", 1, ["finishing"]),
                ],
                "crops": [LETTUCE | lettuce, *more_crops],
                "reservoirs": [
                    {
                        "name": "reservoir",
                        "capacity_l": 100,
                        "lowest_flood_level_l": 30,
                        "flood_every_hours": 4,
                        "flood_minutes": 3,
                        "pump": {"power_w": 50},
                    }
                ],
                "lights": [_bank("north lights", 250, 16), _bank("south lights", 200, 18)],
                "climate": base_climate | (climate or {}),
                "co2": co2 or {},
                "crew": {"chance_of_coming": (0.8,) * 12},
                "harvest": {"weekdays": ["mon", "thu"], "surplus_weekday": "fri"},
                "prices": {"electricity_per_kwh": 0.2},
            }
        )

    return build


@pytest.fixture
def lettuce_table() -> dict[str, Any]:
    """The lettuce of the small room as a plain table, to make more crops from."""
    return dict(LETTUCE)


@pytest.fixture
def mild() -> Environment:
    """An ordinary lettuce room: 250 µmol for 16 h, 22 °C, outside air, 65 % humidity."""
    return Environment(250.0, 16.0, 22.0, 420.0, 65.0)
