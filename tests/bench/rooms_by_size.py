"""The room of twelve racks made larger or busier, everything in it growing alike; and years ready made."""

from __future__ import annotations

import copy
import math
import tomllib
from pathlib import Path
from typing import Any

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan

FILE = Path(__file__).with_name("twelve_racks.toml")


def twelve_racks(copies: int = 1, lots: int = 1) -> Prepared:
    """So many times the twelve racks, their reservoirs, lights, lots, people and orders; each sowing in so
    many lots.
    """
    raw = tables()
    made = copy.deepcopy(raw)
    for kind in ("racks", "reservoirs", "lights", "sowing", "partners"):
        made[kind] = [_named_anew(each, number) for number in range(copies) for each in raw[kind]]
    made["sowing"] = [
        {**line, "name": f"{line['name']}, lot {lot}", "cells": math.ceil(line["cells"] / lots)}
        for line in made["sowing"]
        for lot in range(lots)
    ]
    _scale(made, copies)
    return _prepared(made)


_READY: dict[int, Outcome] = {}


def ready_made(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """A year that costs next to nothing to live through and as much as any to bring home."""
    if seed not in _READY:
        _READY[seed] = replicate(room, seed, 0, plan)
    year = _READY[seed]
    return Outcome(i, year.measures, year.weeks, year.fates, year.accounts, year.outages)


def empty(room: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """A year with nothing in it: what is left is the post."""
    return Outcome(i, {}, {}, {}, {})


def tables() -> dict[str, Any]:
    """The file as it is."""
    return tomllib.loads(FILE.read_text("utf-8"))


def _named_anew(each: dict[str, Any], number: int) -> dict[str, Any]:
    named = {"name", "reservoir", "lights"} & each.keys()
    anew = {key: f"{each[key]} {number}" for key in named if isinstance(each[key], str)}
    return copy.deepcopy(each) | anew


def _scale(raw: dict[str, Any], by: int) -> None:
    for key in ("floor_area_m2", "heat_loss_w_per_k", "heat_capacity_kj_per_k"):
        raw["room"][key] *= by
    raw["room"]["people_at_once"] = raw["room"]["people_at_once"] * by
    for key in ("cooling_kw", "heating_kw"):
        if key in raw["climate"]:
            raw["climate"][key] *= by
    for shift in raw["crew"]["shifts"]:
        shift["people"] = shift["people"] * by
        if "people_by_month" in shift:
            shift["people_by_month"] = [people * by for people in shift["people_by_month"]]


def _prepared(raw: dict[str, Any]) -> Prepared:
    return prepare(scenario_from(raw, FILE.name)[0])
