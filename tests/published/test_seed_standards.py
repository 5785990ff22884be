"""Legal minima of germination, kind by kind, against the two rules."""

from __future__ import annotations

from typing import Any

import pytest
from checks_table import PublishedChecks
from published.houses import came_up, lettuce_house

from growsim.growth.seed_standards import FEDERAL, STATE, legal_minimum
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.plan import RunPlan

# 7 CFR 201.31 (59 FR 64491, 14 Dec 1994), read at law.lawstack.com; not yet held against the revision of 2020.
FEDERAL_PERCENT = {
    "lettuce": 80, "kale": 75, "pak-choi": 75, "Chinese cabbage": 75, "spinach": 60, "India mustard": 75,
    "spinach mustard": 75, "Swiss chard": 65, "beet": 65, "radish": 75, "celery": 55, "parsley": 60, "onion": 70,
    "collards": 80, "garden cress": 75, "endive": 70, "turnip": 80, "water cress": 40,
}  # fmt: skip
# N.H. Admin. Code Agr 2203.01.
STATE_PERCENT = {"roquette": 60, "arugula": 60, "sweet basil": 70, "coriander": 70, "salad chervil": 65, "shiso": 50}


@pytest.mark.parametrize(
    ("rule", "table", "source"),
    [("7 CFR 201.31", FEDERAL_PERCENT, FEDERAL), ("N.H. Agr 2203.01", STATE_PERCENT, STATE)],
    ids=["federal", "state"],
)
def test_legal_minimum_of_germination(
    rule: str, table: dict[str, int], source: str, published_check: PublishedChecks
) -> None:
    """Every kind of the rule as read; a kind that no rule names has the state's 50 %."""
    found = [legal_minimum(kind) for kind in table]

    assert {minimum.source for minimum in found} == {source}
    published_check.table(
        f"least germination by law, {rule}", source, list(table.values()),
        [round(100 * minimum.germination_fraction, 9) for minimum in found], "%",
    )  # fmt: skip


def test_cells_filled_from_seed_that_is_just_legal(published_check: PublishedChecks) -> None:
    """Lettuce of the legal minimum, two seeds a cell: 1 - 0.2² = 96 % of the cells are filled."""

    def change(raw: dict[str, Any]) -> None:
        raw["crops"][0].update(seeds_per_cell=2, germination_fraction=legal_minimum("lettuce").germination_fraction)
        raw["crew"]["tasks"].append({"name": "thin", "minutes_per_unit": 0})

    prepared = prepare(lettuce_house(change))
    shares = [up.filled_cells / 1200 for up, _ in came_up(trace(prepared, 2031, 0, RunPlan(days=48)))]

    published_check.simulated(
        "cells filled from lettuce seed that is just legal, 2 a cell, simulated", f"{FEDERAL}; binomial", 0.96, shares,
        sharp=0.005,
    )  # fmt: skip
