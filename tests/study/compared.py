"""A small comparison of the tiny room, rehearsed once for all tests that only read it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from growsim.ledger.outcome import Outcome
from growsim.scenario.change import LoadedChange, change_from
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.compare.answer import Comparison
from growsim.study.compare.question import compare

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
PLAN = RunPlan(days=70, warm_up_days=42)
RACK = {
    "change": {"name": "a second rack", "price": 900.0},
    "racks": [
        {
            "name": "rack 2",
            "reservoir": "reservoir",
            "lights": "lights",
            "shelves": [
                {
                    "name": "all",
                    "count": 3,
                    "slots": 4,
                    "slot_length_cm": 60,
                    "slot_width_cm": 40,
                    "stages": ["leaf", "head"],
                }
            ],
        }
    ],
    "sowing": [{"name": "heads Thursdays", "crop": "small head", "cells": 30, "weekday": "thu"}],
}
DARK = {"change": {"name": "dim light"}, "lights": [{"name": "lights", "ppfd_umol_m2_s": 120}]}
NOTHING = {"change": {"name": "nothing new", "price": 50.0}, "room": {"floor_area_m2": 12}}


def change(tables: dict[str, Any], name: str) -> LoadedChange:
    """A change from its tables."""
    return change_from(tables, Path(f"{name}.toml"), "cd" * 32)


@lru_cache(maxsize=1)
def tiny() -> LoadedRoom:
    """The tiny invented room."""
    return load_scenario(TINY)


@lru_cache(maxsize=1)
def comparison() -> Comparison:
    """A rack, dim light and nothing at all, ten possible spells of ten weeks each."""
    changes = [change(RACK, "rack"), change(DARK, "dim"), change(NOTHING, "nothing")]
    return compare(tiny(), changes, plan=PLAN, seed=7, at_most=10, too_small_percent=5.0)


def outcomes(values: Sequence[float], key: str = "kg_handed_out_per_week", **others: Sequence[float]) -> list[Outcome]:
    """Made-up replications, numbered from 0, with one figure or a few."""
    return [
        Outcome(i, {key: value, **{name: row[i] for name, row in others.items()}}, {}, {}, {})
        for i, value in enumerate(values)
    ]
