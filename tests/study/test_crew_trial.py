"""Judging one sign-up: decided quickly where it is clear, slowly where it is close, wrong no more often than stated."""

from __future__ import annotations

import math
import random

import pytest

from growsim.run.intervals import proportion_interval
from growsim.study.crew.trial import Rule, Trial

RULE = Rule(zone=0.02, error=0.05, first=12, step=6, at_most=400)


def verdict(mean: float, seed: int, rule: Rule = RULE, sd: float = 0.02) -> tuple[str, int]:
    """The verdict on a sign-up whose years lie `mean` above the goal on average, and the years it took."""
    dice, trial = random.Random(seed), Trial(rule)
    while trial.verdict is None:
        years = range(trial.years, trial.years + (rule.step if trial.years else rule.first))
        trial.add({year: {"on time": dice.gauss(mean, sd)} for year in years})
    return trial.verdict, trial.years


def test_the_limits_are_those_of_kim_and_nelson() -> None:
    """With n0 = 10, 1 - a = 0.95 and k = 2 their constant h² is 2 (n0 - 1) times ((2a)^(-2/9) - 1)/2 = 6.012.

    Source: S.-H. Kim and B. L. Nelson, ACM TOMACS 11(3), 2001, step 1 with c = 1 (from memory). The value is theirs
    worked out by hand: 0.1^(-2/9) = 1.66810, so eta = 0.33405 and h² = 18 eta = 6.0129.
    """
    assert 2 * Rule(0.02, 0.05, 10, 1, 1000).spread == pytest.approx(6.0129, abs=1e-3)


def test_with_many_first_years_the_constant_nears_that_of_a_known_variance() -> None:
    """Wald's test with a known variance has log(1/(2b)) for the spread; more first years come nearer to it."""
    known = math.log(1 / (2 * 0.01))
    few, many = Rule(0.02, 0.01, 10, 1, 100).spread, Rule(0.02, 0.01, 10_000, 1, 20_000).spread

    assert known < many < few
    assert many == pytest.approx(known, rel=1e-3)


@pytest.mark.parametrize(("mean", "wrong"), [(0.0, "accepted"), (0.02, "rejected")])
def test_wrong_verdicts_are_no_more_frequent_than_stated(mean: float, wrong: str) -> None:
    """Exactly at the goal, and exactly the zone above it, the wrong verdict has at most its stated chance."""
    tries = 600
    share = proportion_interval(sum(verdict(mean, seed)[0] == wrong for seed in range(tries)), tries)

    assert share.low <= RULE.error
    assert share.high < 0.09  # sharp: a rule twice as careless would be seen


def test_close_calls_take_more_years_than_clear_ones() -> None:
    """A sign-up far from the goal is decided by the first years, one near it takes more."""
    clear = [verdict(0.15, seed)[1] for seed in range(40)] + [verdict(-0.15, seed)[1] for seed in range(40)]
    close = [verdict(0.01, seed)[1] for seed in range(40)]

    assert max(clear) == RULE.first
    assert sum(close) / len(close) > 1.4 * RULE.first


def test_every_goal_must_be_met() -> None:
    """One goal missed is enough to be rejected; all met, to be accepted."""
    one_missed, both_met = Trial(RULE), Trial(RULE)
    one_missed.add({i: {"on time": 0.1 + i / 1000, "orders": -0.1 - i / 1000} for i in range(12)})
    both_met.add({i: {"on time": 0.1 + i / 1000, "orders": 0.1 + i / 1000} for i in range(12)})

    assert (one_missed.verdict, both_met.verdict) == ("rejected", "accepted")


def test_a_season_without_goals_is_met_by_anybody() -> None:
    """No orders and no tasks: nothing can fall short."""
    trial = Trial(RULE)
    trial.add({i: {} for i in range(12)})

    assert trial.verdict == "accepted"


def test_years_that_are_all_alike_need_no_more() -> None:
    """Without luck the sign of the distance decides at once."""
    above, below = Trial(RULE), Trial(RULE)
    above.add({i: {"on time": 0.011} for i in range(12)})
    below.add({i: {"on time": 0.009} for i in range(12)})

    assert (above.verdict, below.verdict) == ("accepted", "rejected")


@pytest.mark.parametrize(("zone", "error", "first"), [(0.0, 0.05, 12), (0.02, 0.5, 12), (0.02, 0.05, 1)])
def test_an_impossible_rule_is_refused(zone: float, error: float, first: int) -> None:
    """No zone, a coin's chance of error or a single first year make no test."""
    with pytest.raises(ValueError, match="no test can be made"):
        Rule(zone, error, first, 6, 100)
