"""The first plan, on paper: enough cells for the orders, no more than slots and hands allow."""

from __future__ import annotations

import copy
import math
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import norm, triang, uniform

from growsim.run.prepare import prepare
from growsim.scenario import on_paper
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.orders import StandingOrder
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.sow.paper import OnPaper, first_plan, margin, spread
from growsim.study.sow.timing import Line, fed_orders, lines_for

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
LEAF, HEAD = StandingOrder("trial pantry", "cutting leaf"), StandingOrder("trial pantry", "small head")


def room(kg: tuple[float, float] = (1.0, 1.8), shelves: int = 3, **order: Any) -> Scenario:
    """The tiny room with other orders, and so many lower shelves. order: more keys of the order of leaf."""
    raw = copy.deepcopy(TINY.raw)
    raw["racks"][0]["shelves"][1]["count"] = shelves
    for each, amount in zip(raw["partners"][0]["orders"], kg, strict=True):
        each["kg"] = amount
    raw["partners"][0]["orders"][0] |= order
    return scenario_from(raw, "tiny")[0]


def planned(scenario: Scenario, certainty: float = 0.9) -> tuple[tuple[Line, ...], OnPaper]:
    """The lines there could be, and the first plan."""
    prepared, fed = prepare(scenario), fed_orders(scenario)
    lines = tuple(line for crop in scenario.crops for line in lines_for(prepared, crop, fed))
    return lines, first_plan(scenario, lines, fed, certainty)


def cells_of(lines: tuple[Line, ...], plan: OnPaper) -> dict[str, float]:
    """Cells a week, by crop."""
    found: dict[str, float] = {}
    for line, cells in zip(lines, plan.cells, strict=True):
        found[line.crop] = found.get(line.crop, 0.0) + cells
    return found


def test_enough_cells_and_no_more() -> None:
    """With room to spare: the order, divided by what a cell surely gives in time. Worked by hand for the line used."""
    scenario = room()
    lines, plan = planned(scenario)

    assert plan.short == pytest.approx({LEAF: 0, HEAD: 0}, abs=1e-9)
    for line, cells in zip(lines, plan.cells, strict=True):
        crop = on_paper.crops_by_name(scenario)[line.crop]
        sure = line.kg_per_cell * margin(scenario, crop, 60.0, 0.9)
        if cells > 0:
            assert cells == pytest.approx(
                {"cutting leaf": 1.0, "small head": 1.8}[line.crop] / sure / line.feeds[0].in_time
            )
    assert len([cells for cells in plan.cells if cells > 0]) == 2


def test_twice_the_order_takes_twice_the_cells() -> None:
    """As long as there is room."""
    one, two = planned(room(kg=(0.5, 0.6))), planned(room(kg=(1.0, 1.2)))

    assert cells_of(*two) == pytest.approx({crop: 2 * cells for crop, cells in cells_of(*one).items()})


def test_more_certainty_takes_more_cells() -> None:
    """Half the weeks, nine in ten, 99 in 100."""
    half, most, nearly_all = (cells_of(*planned(room(), certainty))["cutting leaf"] for certainty in (0.5, 0.9, 0.99))

    assert half < most < nearly_all < 2 * half


def test_what_slots_have_no_room_for_is_short() -> None:
    """One lower shelf: 4 slots for heads and leaf. Heads stand 21 days (and wait 2): 12 a slot, under 15 a week."""
    lines, plan = planned(room(kg=(0.01, 5.0), shelves=1))

    cells = cells_of(lines, plan)["small head"]
    slots = cells * 0.9 / 12 * (21 + 2) / 7
    assert slots == pytest.approx(4.0, rel=0.02)
    assert 0.5 < plan.short[HEAD] < 1
    assert plan.short[LEAF] == pytest.approx(0, abs=1e-6)


def test_a_crop_out_of_season_is_still_sown_for_its_season() -> None:
    """Leaf ordered in July only: as many cells as if all year, for the line is scaled by the calendar later."""
    assert cells_of(*planned(room(months=[7]))) == pytest.approx(cells_of(*planned(room())))


@pytest.mark.parametrize(
    ("figure", "expected"),
    [
        (Uncertain(value=3.0), 0.0),
        (Uncertain(distribution="range", low=22, likely=26, high=30), triang(0.5, 22, 8).std() / 26),
        (Uncertain(distribution="range", low=1, likely=2, high=6), triang(0.2, 1, 5).std() / 3),
        (Uncertain(distribution="uniform", low=1, high=3), uniform(1, 2).std() / 2),
        (Uncertain(distribution="lognormal", mean=4, sd=3), 0.75),
        (Uncertain(distribution="exponential", mean=4), 1.0),
    ],
)
def test_spread_of_a_figure(figure: Uncertain, expected: float) -> None:
    """Standard deviation over mean. Reference: SciPy's distributions."""
    assert spread(figure) == pytest.approx(expected)


def test_margin_by_hand() -> None:
    """Heads, one seed a cell, p = 0.9 ± 0.03, 60 cells, growth 4 %: normal quantile of four independent spreads."""
    crop = TINY.scenario.crops[1]
    varies = math.sqrt(0.1 / (0.9 * 60) + (0.1 / 0.9 * 0.03 / 0.9) ** 2 + crop.days_spread_cv**2)

    assert margin(TINY.scenario, crop, 60, 0.95) == pytest.approx(1 - norm.ppf(0.95) * varies)
    assert margin(TINY.scenario, crop, 60, 0.5) == pytest.approx(1)
