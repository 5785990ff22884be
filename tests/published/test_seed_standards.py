"""Seed that is just good enough to be sold."""

from __future__ import annotations

from typing import Any

from checks_table import PublishedChecks
from published.houses import came_up, lettuce_house

from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.plan import RunPlan

# Least germination of lettuce seed for sale: 7 CFR 201.31 as of 59 FR 64491 (14 December 1994), read at
# law.lawstack.com; not yet held against the revision of 2020.
FEDERAL = "7 CFR 201.31 (59 FR 64491, 1994)"
LETTUCE = 0.80


def test_cells_filled_from_seed_that_is_just_legal(published_check: PublishedChecks) -> None:
    """Lettuce of the legal minimum, two seeds a cell: 1 - 0.2² = 96 % of the cells are filled."""

    def change(raw: dict[str, Any]) -> None:
        raw["crops"][0].update(seeds_per_cell=2, germination_fraction=LETTUCE)
        raw["crew"]["tasks"].append({"name": "thin", "minutes_per_unit": 0})

    prepared = prepare(lettuce_house(change))
    shares = [up.filled_cells / 1200 for up, _ in came_up(trace(prepared, 2031, 0, RunPlan(days=48)))]

    published_check.simulated(
        "cells filled from lettuce seed that is just legal, 2 a cell, simulated", f"{FEDERAL}; binomial", 0.96, shares,
        sharp=0.005,
    )  # fmt: skip
