"""What to sow: from orders to a plan that keeps them, or the best there is and what is short."""

from __future__ import annotations

import copy
import dataclasses
from pathlib import Path
from typing import Any

import pytest

from growsim.errors import InputError
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.load import LoadedRoom, load_scenario, scenario_from
from growsim.scenario.orders import StandingOrder
from growsim.scenario.plan import RunPlan
from growsim.study.sow.answer import SowingPlan, change_tables
from growsim.study.sow.question import sow

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TINY = load_scenario(SCENARIOS / "tiny")
RUN = RunPlan(84, 56)


def edited(**changes: Any) -> LoadedRoom:
    """The tiny room with tables merged in at the top."""
    raw = copy.deepcopy(TINY.raw)
    for key, value in changes.items():
        raw[key] = raw[key] | value if isinstance(value, dict) else value
    return dataclasses.replace(TINY, raw=raw, scenario=scenario_from(raw, "tiny")[0])


def asked(room: LoadedRoom = TINY, **other: Any) -> SowingPlan:
    """A plan, quickly: short years, few of them."""
    options: dict[str, Any] = {"run": RUN, "seed": 4, "replications": 6, "trial_years": 3, **other}
    return sow(room, **options)


@pytest.fixture(scope="module")
def told() -> list[tuple[int, int]]:
    """(years done, of how many): what was told while the tiny room's plan was looked for."""
    return []


@pytest.fixture(scope="module")
def plan(told: list[tuple[int, int]]) -> SowingPlan:
    """The tiny room's plan."""
    return asked(progress=lambda done, total: told.append((done, total)))


def test_orders_are_met_with_less_seed(plan: SowingPlan) -> None:
    """Both orders reach nine weeks in ten, in years the search has not seen; no better is the room file's plan."""
    assert plan.is_met
    assert plan.score.worth > plan.today_score.worth
    assert plan.short == () and plan.held is None
    for each in plan.kept:
        assert each.share >= 0.9
        assert each.safe_kg == pytest.approx(each.ordered_kg)


def test_progress_ends_about_where_it_said(plan: SowingPlan, told: list[tuple[int, int]]) -> None:
    """Every year is told of once; the share done never falls, and is whole at the last year and not before. What was
    expected at first is within half of it (a rule of thumb; the factor is our own)."""
    years = [done for done, _ in told]
    shares = [done / total for done, total in told]

    assert years == list(range(1, years[-1] + 1))
    assert shares == sorted(shares)
    assert shares.index(1.0) == len(shares) - 1
    assert 0.5 < told[0][1] / years[-1] < 1.5
    assert plan.is_met


def test_the_proof_is_in_fresh_years(plan: SowingPlan) -> None:
    """Trial years are numbered 0 to 2, those of the choice 3 to 8; the proof begins at 9, today's plan with it."""
    assert [outcome.replication for outcome in plan.outcomes] == [9, 10, 11, 12, 13, 14]
    assert [outcome.replication for outcome in plan.today_outcomes] == [9, 10, 11, 12, 13, 14]
    assert plan.tried >= 5


def test_the_change_file_makes_the_plan(plan: SowingPlan) -> None:
    """Merged into the room file, it is the room that was rehearsed."""
    changed = changed_room(
        TINY, LoadedChange(change_tables(plan.room, plan.frame, plan.cells), Path("sowing.toml"), "")
    )

    assert changed.scenario == plan.scenario


def test_the_table_adds_up_to_the_seed_sown(plan: SowingPlan) -> None:
    """Cells week by week; two seeds a cell of leaf, one of heads. Here and there a sowing falls past the last day."""
    frame = plan.to_frame()
    seeds = frame.cells.where(frame.crop == "small head", 2 * frame.cells).sum()

    assert seeds == pytest.approx(plan.score.seeds, rel=0.08)
    assert set(frame.week) <= set(range(1, 13))
    assert (frame.sheets == frame.cells / 60).all()


def test_workers_change_nothing(plan: SowingPlan) -> None:
    """Two processes, the same plan and proof."""
    assert asked(workers=2) == plan


def test_what_cannot_be_met_is_said_by_how_much() -> None:
    """Heads for which one shelf has no room: the order is short, by so many kilograms; one more shelf meets it more
    often, more people do not (tried in the same five years)."""
    racks = copy.deepcopy(TINY.raw["racks"])
    racks[0]["shelves"][1]["count"] = 1
    orders = [{"crop": "small head", "kg": 4.0}]
    pantry = [{"name": "pantry", "weekday": "thu", "hour": 14, "orders": orders}]

    found = asked(edited(racks=racks, partners=pantry), replications=5)

    assert not found.is_met
    (short,) = found.short
    assert short.order == StandingOrder("pantry", "small head")
    assert short.safe_kg < 4.0
    assert 0 < short.short_kg <= 4.0
    assert found.held is not None
    gain = {tried.name: tried.orders.mean for tried in found.held.tried if tried.orders is not None}
    assert all(tried.by_pick_ups for tried in found.held.tried)
    assert gain["one more lower shelf on rack (for 4 trays)"] > 0.2 > gain["2 more people on every shift"]


def test_an_order_that_nothing_can_reach_is_named() -> None:
    """Collected on Wednesday; harvested on Thursday, the rest given away on Friday."""
    wednesday = {"name": "early", "weekday": "wed", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 1}]}

    found = asked(edited(partners=[*TINY.raw["partners"], wednesday]), replications=2)

    assert found.impossible == (StandingOrder("early", "cutting leaf"),)
    assert not found.is_met


@pytest.mark.parametrize(
    ("room", "other", "said"),
    [
        ({"partners": []}, {}, "partners: nothing is promised"),
        ({}, {"run": RunPlan(28, 56)}, "days: 28 is too short"),
        ({}, {"run": RunPlan(84, start="empty")}, "start: "),
        ({}, {"certainty": 1.0}, "certainty: 1 is not possible; give 0.5 to 0.99"),
        ({}, {"trial_years": 1}, "replications: 1 is too few"),
    ],
)
def test_what_cannot_be_asked_is_refused(room: dict[str, Any], other: dict[str, Any], said: str) -> None:
    """In one sentence."""
    with pytest.raises(InputError, match=said):
        asked(edited(**room), **other)
