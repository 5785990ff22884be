"""A change keeps each crop's pace of growth, unless it says otherwise of the crop itself."""

from __future__ import annotations

from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from growsim.errors import RoomFileError
from growsim.run.prepare import prepare_room
from growsim.study.alternatives import alternatives_of

LEAF, HEAD = "cutting leaf", "small head"


def made(compared: ModuleType, tables: dict[str, Any]) -> Any:
    """The tiny room with one change made."""
    room = compared.tiny()
    return alternatives_of(room, prepare_room(room), [compared.change(tables, "it")])[0]


@pytest.mark.parametrize(
    "tables",
    [
        {"lights": [{"name": "lights", "ppfd_umol_m2_s": 260}]},
        {"lights": [{"name": "lights", "hours_per_day": 12}]},
        {"climate": {"air_temperature_c": 19}},
        {"trays": [{"name": "head tray", "places": 8}]},
        {"crops": [{"name": HEAD, "germination_fraction": 0.7, "overgrown_after_days": 6}]},
        {"crops": [{"name": HEAD, "stages": [{"name": "seedling", "days": 16}, {"name": "head", "days": 19}]}]},
    ],
    ids=["brighter", "shorter day", "cooler", "wider", "other seed", "moved later, harvested as before"],
)
def test_light_air_spacing_and_timetable_keep_the_pace(compared: ModuleType, tables: dict[str, Any]) -> None:
    """Otherwise the planner's typical mass would be met whatever was done, and no change would change anything."""
    today = prepare_room(compared.tiny())
    alternative = made(compared, tables)

    assert alternative.prepared.curves.growth_rate == today.curves.growth_rate
    assert alternative.found_anew == ()


@pytest.mark.parametrize(
    "crop",
    [
        {"typical_mass_g": 150},
        {"stages": [{"name": "head", "days": 25}]},
        {"dry_matter_fraction": 0.06},
        {"seed_mass_mg": 0.5},
    ],
    ids=["heavier", "longer", "drier", "smaller seed"],
)
def test_other_typical_figures_find_the_pace_anew(compared: ModuleType, crop: dict[str, Any]) -> None:
    """Who states other days or another mass says something new of the plant; the other crop stays as it was."""
    today = prepare_room(compared.tiny())
    alternative = made(compared, {"crops": [{"name": HEAD, **crop}]})

    assert alternative.found_anew == (HEAD,)
    assert alternative.prepared.curves.growth_rate[HEAD] != today.curves.growth_rate[HEAD]
    assert alternative.prepared.curves.growth_rate[LEAF] == today.curves.growth_rate[LEAF]


def test_a_pace_stated_in_the_change_is_taken(compared: ModuleType) -> None:
    """The file's own growth_rate wins."""
    alternative = made(compared, {"crops": [{"name": HEAD, "growth_rate": 0.9}]})

    assert alternative.prepared.curves.growth_rate[HEAD] == 0.9
    assert alternative.found_anew == ()


def test_brighter_light_makes_heavier_plants_of_the_same_age(compared: ModuleType) -> None:
    """That is what a kept pace is for."""
    before = prepare_room(compared.tiny()).curves.curves[HEAD, "head", "lights"]
    brighter = made(compared, {"lights": [{"name": "lights", "ppfd_umol_m2_s": 260}]})
    after = brighter.prepared.curves.curves[HEAD, "head", "lights"]

    assert all(after.dry_g(age) > before.dry_g(age) for age in (10.0, 20.0, 30.0))


def test_only_new_warnings_are_told(compared: ModuleType) -> None:
    """What was odd before the change is not the change's doing."""
    assert made(compared, {"climate": {"air_temperature_c": 21}}).warnings == ()
    asked_for = made(compared, {"sowing": [{"name": "leaf Mondays", "cells": 180}]}).warnings
    assert any(warning.key == "sowing.leaf Mondays.cells" for warning in asked_for)
    assert {warning.file for warning in asked_for} == {"it.toml"}


def test_all_faulty_changes_are_named_at_once(compared: ModuleType) -> None:
    """One sentence each, each with its own file."""
    room = compared.tiny()
    faulty = [
        compared.change({"climate": {"air_temperature_c": 99}}, "hot"),
        compared.change({"racks": [{"name": "rack", "reservoir": "bucket"}]}, "bucket"),
    ]
    with pytest.raises(RoomFileError) as refused:
        alternatives_of(room, prepare_room(room), faulty)

    assert [Path(fault.file).stem for fault in refused.value.faults] == ["hot", "bucket"]
