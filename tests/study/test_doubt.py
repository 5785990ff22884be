"""Which figures the spread between years hangs on: made-up outcomes of known shares, noise, and a real small room."""

from __future__ import annotations

import math
import random
import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.doubt import KILOGRAMS, ORDERS, doubts_of, drawn, shares_of
from growsim.vocabulary.find_out import FIND_OUT

FILE = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
MASS, GERMINATION = ("crops", 0, "typical_mass_g"), ("crops", 0, "germination_fraction")
Places = dict[tuple[str | int, ...], Any]


def raw_room() -> dict[str, Any]:
    """The tiny room's tables, every figure that may be drawn once a year given exactly."""
    raw: dict[str, Any] = tomllib.loads(FILE.read_text("utf-8"))
    for crop in raw["crops"]:
        crop |= {"germination_fraction": 0.9, "typical_mass_g": 25, "growth_pace": 1.0}
        for stage in crop["stages"]:
            stage["loss_fraction"] = 0.02
    for task in raw["crew"]["tasks"]:
        task["minutes_factor"] = 1.0
    for reservoir in raw["reservoirs"]:
        reservoir["pump"]["reliability"] = {"running_hours_to_failure": 300}
    return raw


def places(raw: dict[str, Any]) -> list[tuple[str | int, ...]]:
    """Every figure of these tables that is drawn once a year where it is a range."""
    found: list[tuple[str | int, ...]] = []
    for i, crop in enumerate(raw["crops"]):
        found += [("crops", i, key) for key in ("germination_fraction", "typical_mass_g", "growth_pace")]
        found += [("crops", i, "stages", j, "loss_fraction") for j in range(len(crop["stages"]))]
    found += [("crew", "tasks", i, "minutes_factor") for i in range(len(raw["crew"]["tasks"]))]
    return [*found, ("reservoirs", 0, "pump", "reliability", "hours_factor")]


def with_ranges(ranges: Places, **crew: Any) -> Scenario:
    """The tiny room with exact figures but for these."""
    raw = raw_room()
    for path, value in ranges.items():
        table: Any = raw
        for step in path[:-1]:
            table = table[step]
        table[path[-1]] = value
    raw["crew"] |= crew
    return scenario_from(raw, str(FILE))[0]


def wide(path: tuple[str | int, ...]) -> dict[str, float]:
    """A range, of an order that suits the figure."""
    at = {"germination_fraction": 0.8, "typical_mass_g": 25.0, "loss_fraction": 0.1}.get(str(path[-1]), 1.0)
    return {"low": 0.8 * at, "likely": at, "high": 1.2 * at}


def year(replication: int, kilograms: float, orders: float | None = None) -> Outcome:
    """A made-up year."""
    measures = {KILOGRAMS: kilograms} if orders is None else {KILOGRAMS: kilograms, ORDERS: orders}
    return Outcome(replication, measures, {}, {}, {})


def noise(seed: int, years: int) -> list[float]:
    """Normal noise of sd 1."""
    dice = random.Random(f"noise {seed}")
    return [dice.gauss(0.0, 1.0) for _ in range(years)]


def standard(values: Sequence[float], low: float, likely: float, high: float) -> list[float]:
    """Draws of a triangular range as deviations from its mean, in sds (closed form)."""
    mean = (low + likely + high) / 3
    sd = math.sqrt((low**2 + likely**2 + high**2 - low * likely - low * high - likely * high) / 18)
    return [(value - mean) / sd for value in values]


def test_known_shares_are_found() -> None:
    """Kilograms made of two figures and noise, 50, 30 and 20 % of the variance by construction: both are told, the
    larger first, with ranges that hold it; other figures are not, and orders, which are noise, hang on none."""
    room = with_ranges({path: wide(path) for path in places(raw_room())})
    years = 400
    draws = drawn(room, 5, range(years))
    mass, germination = standard(draws[MASS], 20, 25, 30), standard(draws[GERMINATION], 0.64, 0.8, 0.96)
    parts = zip(mass, germination, noise(1, years), noise(2, years), strict=True)
    outcomes = [
        year(i, 40 + math.sqrt(0.5) * a + math.sqrt(0.3) * b + math.sqrt(0.2) * c, 0.9 + 0.01 * d)
        for i, (a, b, c, d) in enumerate(parts)
    ]

    told = doubts_of(room, 5, outcomes).told

    assert [each.path for each in told] == [MASS, GERMINATION]
    assert [set(each.shares) for each in told] == [{KILOGRAMS}] * 2
    for each, true in zip(told, (0.5, 0.3), strict=True):
        share = each.shares[KILOGRAMS]
        assert share.low < true < share.high
        assert share.share == pytest.approx(true, abs=0.06)


def test_shares_are_those_of_a_regression() -> None:
    """Against libraries: the first share and its range are scipy's correlation and Fisher interval, squared; together
    they are the R² of numpy's least squares on the figures told."""
    dice = np.random.default_rng(3)
    draws = {("figure", i): dice.normal(size=80) for i in range(6)}
    values = 2 * draws["figure", 0] + draws["figure", 1] + dice.normal(size=80)
    told = dict(shares_of(list(values), {path: list(each) for path, each in draws.items()}, 3.0))

    by_scipy = stats.pearsonr(draws["figure", 0], values)
    interval = by_scipy.confidence_interval(0.95)
    first = told["figure", 0]
    assert (first.share, first.low, first.high) == pytest.approx(
        (by_scipy.statistic**2, interval.low**2, interval.high**2), rel=1e-9
    )
    table = np.column_stack([np.ones(80), *(draws[path] for path in told)])
    rest = values - table @ np.linalg.lstsq(table, values, rcond=None)[0]
    assert len(told) == 2
    assert math.fsum(each.share for each in told.values()) == pytest.approx(1 - rest.var() / values.var(), rel=1e-9)


def test_noise_alone_tells_nothing_in_19_of_20() -> None:
    """200 rooms' years in which nothing hangs on any figure: at most one in twenty tells of one."""
    room = with_ranges({path: wide(path) for path in places(raw_room())})
    told = 0
    for seed in range(1, 201):
        parts = zip(noise(seed, 40), noise(-seed, 40), strict=True)
        told += bool(doubts_of(room, seed, [year(i, *pair) for i, pair in enumerate(parts)]).told)

    assert told <= 10


def test_ranges_hold_the_true_share() -> None:
    """Over 300 made-up rehearsals of 60 years, with 60 and 30 % of the variance: a told range holds it in 19 of 20."""
    held = []
    for seed in range(300):
        draws = {(f"figure {i}",): noise(1000 * (i + 1) + seed, 60) for i in range(10)}
        parts = zip(draws[("figure 0",)], draws[("figure 1",)], noise(50_000 + seed, 60), strict=True)
        values = [math.sqrt(0.6) * a + math.sqrt(0.3) * b + math.sqrt(0.1) * c for a, b, c in parts]
        told = dict(shares_of(values, draws, 3.0))
        held += [
            told[path].low <= true <= told[path].high for path, true in ((("figure 0",), 0.6), (("figure 1",), 0.3))
        ]

    assert np.mean(held) >= 0.95 - 2 * math.sqrt(0.95 * 0.05 / len(held))  # chance alone takes it so far below


def test_a_range_that_dominates_a_real_room_is_found() -> None:
    """The tiny room, simulated: the mass of its first crop may be a third to five thirds of 25 g, all else exact but
    for germination, a little."""
    room = with_ranges(
        {MASS: {"low": 8, "likely": 25, "high": 42}, GERMINATION: {"low": 0.88, "likely": 0.9, "high": 0.92}}
    )
    prepared, plan = prepare(room), RunPlan(days=56, warm_up_days=42)
    doubts = doubts_of(room, 3, [replicate(prepared, 3, i, plan) for i in range(25)])

    assert doubts.figures[0].path == MASS
    assert doubts.told[0].shares[KILOGRAMS].share > 0.5
    assert {each.path for each in doubts.figures} == {MASS, GERMINATION}


@settings(deadline=None, max_examples=25)
@given(st.sets(st.sampled_from(places(raw_room()))))
def test_figures_given_exactly_never_appear(in_doubt: set[tuple[str | int, ...]]) -> None:
    """Whichever figures are ranges, those and no others are in doubt; a range of no width is exact."""
    ranges: Places = {path: wide(path) for path in in_doubt}
    exact = next((path for path in places(raw_room()) if path not in in_doubt), None)
    if exact is not None:
        ranges[exact] = {"low": 0.5, "likely": 0.5, "high": 0.5}
    room = with_ranges(ranges)
    outcomes = [year(i, value) for i, value in enumerate(noise(9, 12))]

    assert {each.path for each in doubts_of(room, 9, outcomes).figures} == in_doubt


def test_every_kind_of_figure_can_be_found_out() -> None:
    """The table has a row for each kind that is drawn, people's coming among them, and no other."""
    room = with_ranges({path: wide(path) for path in places(raw_room())}, chance_doubt_sd=[0.1] * 12)

    assert {path[-1] for path in drawn(room, 1, range(3))} == set(FIND_OUT)


@pytest.mark.parametrize("years", [1, 3, 4])
def test_few_years_tell_nothing(years: int) -> None:
    """Even where all hangs on one figure; up to three, nothing could be told at all."""
    room = with_ranges({MASS: wide(MASS)})
    outcomes = [year(i, value) for i, value in enumerate(drawn(room, 1, range(years)).get(MASS, [1.0]))]
    doubts = doubts_of(room, 1, outcomes)

    assert (doubts.told == (), doubts.smallest == 1.0) == (years <= 3, years <= 3)


def test_a_result_that_never_varies_hangs_on_nothing() -> None:
    """Every order filled in every year."""
    room = with_ranges({MASS: wide(MASS)})

    assert doubts_of(room, 1, [year(i, 40.0, 1.0) for i in range(30)]).told == ()
