"""Seed in the simulated room: when it is up and how much of it, by temperature; cells filled, by the binomial's rules.

Source: Harrington & Minges 1954, *Vegetable Seed Germination*, Calif. Agric. Ext. mimeo: per cent normal seedlings and
days to emerge at half an inch; days reprinted in *Knott's Handbook for Vegetable Growers* (1997). Read in two
transcriptions that agree. Reference for the arithmetic of cells: scipy.stats.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from checks_table import PublishedChecks
from published.houses import came_up, lettuce_house
from scipy import stats

from growsim.room.model import simulate
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

HANDBOOK = "Harrington & Minges 1954, via Knott's Handbook"
TEMPERATURES_C = (10.0, 15.0, 20.0, 25.0, 30.0)
# days to germinate, per cent that do
TABLE = {
    "lettuce": ((7, 4, 3, 2, 3), (98, 99, 99, 99, 12)),
    "spinach": ((12, 7, 6, 5, 6), (91, 82, 52, 28, 32)),
    "radish": ((11, 6, 4, 4, 3), (76, 97, 95, 97, 95)),
}


def house_of(crop: dict[str, Any], temperature_c: float = 24.0) -> Scenario:
    """The lettuce house at some temperature, with another seed."""

    def change(raw: dict[str, Any]) -> None:
        raw["crops"][0].update(crop)
        raw["climate"]["air_temperature_c"] = temperature_c

    return lettuce_house(change)


def seed_of(kind: str) -> dict[str, Any]:
    """A crop's seed as a room file says it: the best percentage, and shares of it."""
    days, percent = TABLE[kind]
    best = max(percent)
    return {
        "germination_fraction": best / 100,
        "emergence": {
            "temperature_c": list(TEMPERATURES_C),
            "days": list(days),
            "relative_fraction": [share / best for share in percent],
        },
    }


@pytest.mark.parametrize("kind", TABLE)
def test_seed_comes_up_as_the_handbook_says(kind: str, published_check: PublishedChecks) -> None:
    """Days to the minute, per cent of 40,000 seeds within one point, from 10 to 30 °C."""
    days, percent = [], []
    for temperature_c in TEMPERATURES_C:
        book = trace(prepare(house_of(seed_of(kind), temperature_c)), 2031, 0, RunPlan(days=48))
        lots = came_up(book)
        took = {minutes for _, minutes in lots}
        assert len(lots) >= 34
        assert len(took) == 1
        days.append(took.pop() / 1440)
        percent.append(100 * sum(up.filled_cells for up, _ in lots) / (1200 * len(lots)))

    how, given = "one replication at each temperature", "the table is the room's input"
    published_check.table(
        f"days for {kind} to germinate, 10 to 30 °C", HANDBOOK, TABLE[kind][0], days, "d",
        checks=simulate, how=how, given=given,
    )  # fmt: skip
    published_check.table(
        f"share of {kind} that germinates, 10 to 30 °C", HANDBOOK, TABLE[kind][1], percent, "%",
        checks=simulate, how=how, given=given, within=1.0,
    )  # fmt: skip


SEEDS, FRACTION, CELLS = 3, 0.6, 60


def lots_of_cells(spread_sd: float) -> np.ndarray:
    """Filled cells, extra seedlings and seeds that stayed away in some 3,700 simulated lots of 60 cells."""
    crop = {"seeds_per_cell": SEEDS, "germination_fraction": FRACTION, "germination_spread_sd": spread_sd}

    def change(raw: dict[str, Any]) -> None:
        raw["crops"][0].update(crop)
        raw["crew"]["tasks"].append({"name": "thin", "minutes_per_unit": 0})
        for line in raw["sowing"]:
            line["cells"] = CELLS

    prepared = prepare(lettuce_house(change))
    return np.array(
        [
            (up.filled_cells, up.extra_seedlings, up.not_emerged)
            for i in range(10)
            for up, _ in came_up(trace(prepared, 2031, i, RunPlan(days=378)))
        ]
    )


def beta_of(spread_sd: float) -> tuple[float, float]:
    """The two parameters of a beta distribution of this mean and spread."""
    size = FRACTION * (1 - FRACTION) / spread_sd**2 - 1
    return FRACTION * size, (1 - FRACTION) * size


def chance_of_fit(counts: np.ndarray, distribution: Any) -> float:
    """Chi-square of counts against a distribution, in about ten equally likely classes (p-value)."""
    edges = np.unique(distribution.ppf(np.arange(1, 10) / 10))
    below = np.concatenate([[0.0], distribution.cdf(edges), [1.0]])
    observed = np.bincount(np.searchsorted(edges, counts), minlength=len(edges) + 1)
    return float(stats.chisquare(observed, np.diff(below) * len(counts)).pvalue)


def test_cells_filled_in_even_lots(published_check: PublishedChecks) -> None:
    """Three seeds a cell at 60 %: filled cells of a lot are binomial(60, 1 - 0.4³), seedlings binomial(180, 0.6)."""
    lots = lots_of_cells(0.0)
    none = float(stats.binom.pmf(0, SEEDS, FRACTION))

    assert len(lots) > 3600
    assert chance_of_fit(lots[:, 0], stats.binom(CELLS, 1 - none)) > 0.001
    assert chance_of_fit(lots[:, 0], stats.binom(CELLS, 1 - none - 0.005)) < 0.001  # sharp enough to fail
    assert chance_of_fit(lots[:, 0] + lots[:, 1], stats.binom(CELLS * SEEDS, FRACTION)) > 0.001
    assert set(lots.sum(axis=1)) == {CELLS * SEEDS}
    published_check.simulated(
        "share of cells filled, 3 seeds at 60 %", "scipy.stats.binom", 1 - none, list(lots[:, 0] / CELLS),
        checks=simulate, each="lots", sharp=0.005,
    )  # fmt: skip


def test_cells_filled_in_uneven_lots(published_check: PublishedChecks) -> None:
    """Lots differ (60 % with a spread of 15 points): seedlings of a lot are beta-binomial, and fewer cells fill."""
    lots = lots_of_cells(0.15)
    a, b = beta_of(0.15)

    assert chance_of_fit(lots[:, 0] + lots[:, 1], stats.betabinom(CELLS * SEEDS, a, b)) > 0.001
    assert chance_of_fit(lots[:, 0] + lots[:, 1], stats.binom(CELLS * SEEDS, FRACTION)) < 1e-9
    published_check.simulated(
        "share of cells filled, the same, lots spread by 15 points", "scipy.stats.betabinom",
        1 - float(stats.betabinom.pmf(0, SEEDS, a, b)), list(lots[:, 0] / CELLS),
        checks=simulate, each="lots", sharp=0.01,
    )  # fmt: skip


def test_an_official_test_of_four_hundred_seeds(published_check: PublishedChecks) -> None:
    """400 seeds of 80 % (7 CFR 201.54 and 201.31): results spread by 2.0 points from one test to the next."""

    def change(raw: dict[str, Any]) -> None:
        for line in raw["sowing"]:
            line["cells"] = 400

    prepared = prepare(lettuce_house(change))
    percent = [up.filled_cells / 4 for i in range(4) for up, _ in came_up(trace(prepared, 2031, i, RunPlan(days=378)))]

    published_check(
        "spread of a test of 400 seeds at 80 %", "binomial; 7 CFR 201.54, 201.31", 2.0, float(np.std(percent)),
        "points",
        checks=simulate, how=f"{len(percent):,} lots", within=0.15,
    )  # fmt: skip


def test_cells_filled_from_seed_that_is_just_legal(published_check: PublishedChecks) -> None:
    """Seed of the least germination that may be sold, 80 %, two a cell: 1 - 0.2² = 96 % of the cells are filled.

    7 CFR 201.31 as of 59 FR 64491 (14 December 1994), read at law.lawstack.com; not held against the revision of 2020.
    """

    def change(raw: dict[str, Any]) -> None:
        raw["crops"][0].update(seeds_per_cell=2, germination_fraction=0.80)
        raw["crew"]["tasks"].append({"name": "thin", "minutes_per_unit": 0})

    prepared = prepare(lettuce_house(change))
    shares = [up.filled_cells / 1200 for up, _ in came_up(trace(prepared, 2031, 0, RunPlan(days=48)))]

    published_check.simulated(
        "cells filled from lettuce seed that is just legal, 2 a cell", "7 CFR 201.31 (59 FR 64491, 1994); binomial",
        0.96, shares, checks=simulate, each="lots", sharp=0.005,
    )  # fmt: skip
