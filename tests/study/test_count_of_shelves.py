"""An old count of the shelves: doubted by its newest sowing, and what in it is too old by now is named."""

from __future__ import annotations

import dataclasses
import datetime as dt
from pathlib import Path

import pytest

from growsim.report.promise import words
from growsim.run.prepare import prepare_room
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import Today
from growsim.study.promise.question import promise
from growsim.study.today import GivenUp, days_without_sowing, given_up, room_today

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
MONDAY = dt.date(2031, 2, 10)
HEAD = next(crop for crop in TINY.scenario.crops if crop.name == "small head")
LEAF = ShelfLot("leaf", "cutting leaf", "leaf", 3, 58, "rack")


def heads(days: int, stage: str = "head") -> ShelfLot:
    """Heads sown so many days ago."""
    return ShelfLot("heads", HEAD.name, stage, days, 28, "rack")


def lost_at_once(*lots: ShelfLot) -> tuple[GivenUp, ...]:
    """What of these is past its last day on the tenth of February."""
    prepared = dataclasses.replace(prepare_room(TINY), scenario=room_today(TINY.scenario, MONDAY, lots))
    return given_up(prepared, RunPlan(14, start="shelves", shelves=lots))


def with_plan(**changes: object) -> Scenario:
    """The tiny room with every line of its plan changed alike."""
    lines = tuple(line.model_copy(update=changes) for line in TINY.scenario.sowing)
    return TINY.scenario.model_copy(update={"sowing": lines})


def test_plants_long_past_their_days_are_named() -> None:
    """On its typical day a crop is fit to be harvested; two weeks after its last day (the crop's own `typical_days` and
    `overgrown_after_days`) it is not, whatever the day of the week."""
    last = round(HEAD.typical_days + HEAD.overgrown_after_days)

    assert lost_at_once(LEAF, heads(round(HEAD.typical_days))) == ()
    assert lost_at_once(LEAF, heads(last + 14)) == (GivenUp("heads", HEAD.name, "head", 28, False),)


def test_seedlings_that_should_have_moved_are_named_too() -> None:
    """A stage may last so long and `latest_days` longer; after that there is no moving any more."""
    seedling, head = HEAD.stages_in_order()[:2]
    too_late = round(seedling.days + head.latest_days) + 7

    assert lost_at_once(heads(too_late, seedling.name)) == (GivenUp("heads", HEAD.name, seedling.name, 28, True),)


@pytest.mark.parametrize(("newest", "doubt"), [(0, 0), (6, 0), (7, 0), (8, 8), (30, 30)])
def test_more_than_a_week_without_a_sowing_is_doubted(newest: int, doubt: int) -> None:
    """The room sows every week, so the newest sowing of a fresh count is a week old at most."""
    lots = (heads(35), dataclasses.replace(LEAF, days_since_sowing=newest))

    assert days_without_sowing(Today(lots), TINY.scenario, MONDAY) == doubt
    assert days_without_sowing(Today(), TINY.scenario, MONDAY) == 0


@pytest.mark.parametrize(
    ("changes", "doubt"),
    [
        ({"every_weeks": 2}, 0),
        ({"every_weeks": 1}, 12),
        ({"until_date": dt.date(2031, 1, 20)}, 0),
        ({"from_date": dt.date(2031, 2, 10)}, 0),
        ({"months": (7, 8)}, 0),
        ({"months": (2,)}, 12),
    ],
)
def test_a_plan_that_rests_is_not_doubted(changes: dict[str, object], doubt: int) -> None:
    """Twelve days without a sowing are as they should be where the plan had none to do."""
    today = Today((dataclasses.replace(LEAF, days_since_sowing=12),))

    assert days_without_sowing(today, with_plan(**changes), MONDAY) == doubt


def test_the_answer_says_both() -> None:
    """First of what to do; a fresh count has no such sentence."""
    last = round(HEAD.typical_days + HEAD.overgrown_after_days)
    old = Today((dataclasses.replace(LEAF, days_since_sowing=20), heads(last + 14)))
    asked = {"date": MONDAY, "seed": 1, "weeks": 2, "replications": 9, "rescue": False}

    told = words.advice(promise(TINY, old, **asked))  # type: ignore[arg-type]
    fresh = words.the_count(promise(TINY, Today((LEAF,)), **asked))  # type: ignore[arg-type]

    assert told[0].startswith("The newest sowing in it is of 21 January, 20 days before 10 February")
    assert "as good as lost: 28 plants of heads (small head)." in told[0]
    assert fresh == ""
