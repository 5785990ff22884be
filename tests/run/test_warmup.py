"""Is the warm-up long enough? The judgment on rooms whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.warmup import LIVES, judge, more_would_tell, plan_to_judge, weekly_mean
from growsim.scenario.plan import RunPlan, ShelfLot

PLAN = RunPlan(days=364, warm_up_days=112)


def season(week: int) -> float:
    """A summer in which helpers are scarce: every 52 weeks a quarter of the harvest less."""
    return 40.0 * (1 - 0.25 * max(0.0, math.sin(2 * math.pi * week / 52)))


def years(
    fakes: ModuleType, plan: RunPlan, level: Callable[[int], float], seed: int = 7, spread: float = 4.0, lives: int = 8
) -> list[Outcome]:
    """Possible lives of a room whose harvest of week w is level(w), give or take."""
    luck = np.random.default_rng(seed)
    weeks = plan_to_judge(plan).days // 7
    return [
        fakes.outcome(i, {"kg_packed": tuple(float(max(0.0, level(w) + luck.normal(0, spread))) for w in range(weeks))})
        for i in range(lives)
    ]


def test_the_room_is_watched_from_bare_shelves_through_two_more_years() -> None:
    """A year to count and a year to hold it against, after the warm-up."""
    found = plan_to_judge(RunPlan(days=28, warm_up_days=100, shelves=(ShelfLot("a", "b", "c", 1, 1),)))

    assert (found.start, found.warm_up_days, found.days, found.shelves) == ("empty", 0, 7 * (15 + 104), ())


def test_a_long_warm_up_is_enough(fakes: ModuleType) -> None:
    """Empty for seven weeks, then the same every week: ten weeks (by fives) settle it, sixteen of warm-up
    cover that.
    """
    found = judge(PLAN, years(fakes, PLAN, lambda week: 0.0 if week < 7 else 40.0, spread=0.0))

    assert found.enough
    assert found.truncation_week == 10
    assert found.sentence == (
        "From a bare room the weekly harvest holds its level from week 11 on; "
        "the warm-up of 112 days covers that, and the year after it and the next differ by under 3%."
    )


def test_a_short_warm_up_is_not(fakes: ModuleType) -> None:
    """The same room with two weeks of warm-up counts empty weeks; the sentence says how long would do."""
    plan = RunPlan(days=364, warm_up_days=14)
    found = judge(plan, years(fakes, plan, lambda week: 0.0 if week < 7 else 40.0, spread=0.0))

    assert not found.enough
    assert found.sentence.endswith("the warm-up of 14 days is too short: give 70 days or more.")


def test_a_short_warm_up_is_seen_through_season_and_luck(fakes: ModuleType) -> None:
    """A summer with few helpers and luck in every week do not hide five empty weeks."""
    plan = RunPlan(days=364, warm_up_days=14)
    found = judge(plan, years(fakes, plan, lambda week: 0.0 if week < 7 else season(week)))

    assert not found.enough


def test_a_room_that_keeps_growing_has_not_settled(fakes: ModuleType) -> None:
    """A harvest that creeps up for three years is told as such."""
    found = judge(PLAN, years(fakes, PLAN, lambda week: 20.0 + 40.0 * (1 - math.exp(-week / 60))))

    assert not found.enough
    assert "too short" in found.sentence or "still settling" in found.sentence


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("drift", [-0.05, 0.05])
def test_a_room_that_creeps_is_found_out(fakes: ModuleType, seed: int, drift: float) -> None:
    """A harvest that changes by a twentieth a year has not settled, though every week looks like the one before it and
    MSER-5 may cut nothing off."""
    lives = years(fakes, PLAN, lambda week: 40.0 * (1 + drift * week / 52), seed=seed)
    found = judge(PLAN, lives)

    assert not found.enough
    assert (
        "less than the next" if drift > 0 else "more than the next"
    ) in found.sentence or "too short" in found.sentence
    assert not more_would_tell(PLAN, lives)


def test_how_much_it_creeps_is_said(fakes: ModuleType) -> None:
    """By pencil: 2 kg less from year to year, without luck."""
    found = judge(PLAN, years(fakes, PLAN, lambda week: 40.0 - 2.0 * (week // 52), spread=0.0))

    assert not found.enough
    assert "2.0 kg a week (95% range 2.0 to 2.0) more than the next" in found.sentence


def test_more_lives_are_called_for_where_they_might_tell(fakes: ModuleType) -> None:
    """By pencil, of 40 kg, of which 3% are 1.2: by turns the second year is 2 kg better and worse, so the range of
    eight lives is 1.8 either way, of four times as many 0.9. With 6 kg both are too wide, with 0.2 kg none is."""

    def restless(change: float, number: int = 8) -> list[Outcome]:
        return [
            fakes.outcome(i, {"kg_packed": (0.0,) * 16 + (40.0,) * 52 + (40.0 + (-1) ** i * change,) * 52})
            for i in range(number)
        ]

    assert more_would_tell(PLAN, restless(2.0))
    assert judge(PLAN, restless(2.0)).enough
    assert "differ by no more than chance or 3%" in judge(PLAN, restless(2.0)).sentence
    assert not more_would_tell(PLAN, restless(6.0))
    assert not more_would_tell(PLAN, restless(0.2))
    assert not more_would_tell(PLAN, restless(2.0, 32))
    assert LIVES == (8, 16, 32)


@pytest.mark.parametrize("seed", range(40))
def test_a_settled_room_is_left_in_peace(fakes: ModuleType, seed: int) -> None:
    """Season and luck alone are no reason to ask for a longer warm-up, whatever the seed but for a rare one."""
    found = judge(PLAN, years(fakes, PLAN, lambda week: 0.0 if week < 7 else season(week), seed=seed))

    assert found.enough


@pytest.mark.parametrize("start", ["empty", "shelves"])
def test_other_starts_need_no_warm_up(fakes: ModuleType, start: str) -> None:
    """Who starts empty or from today's shelves wants the first weeks as they are."""
    plan = RunPlan(days=14, start=start)  # type: ignore[arg-type]
    found = judge(plan, [fakes.outcome(0, {"kg_packed": (1.0, 2.0)}), fakes.outcome(1, {"kg_packed": (3.0, 6.0)})])

    assert (found.series, found.truncation_week, found.enough) == ((2.0, 4.0), None, True)


def test_one_life_alone_is_judged_by_the_rule_alone(fakes: ModuleType) -> None:
    """With a single replication there is no range to soften the rule."""
    plan = RunPlan(days=364, warm_up_days=14)
    found = judge(plan, years(fakes, plan, lambda week: 0.0 if week < 7 else season(week))[:1])

    assert not found.enough


def test_no_such_series_no_mean(fakes: ModuleType) -> None:
    """Outcomes without the series give an empty one."""
    assert weekly_mean([fakes.outcome(0)]) == ()
