"""The search for the smallest sign-up, where the truth is known and every option can be tried."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from random import Random

import pytest

from growsim.run.intervals import proportion_interval
from growsim.study.crew_rota import SignUp
from growsim.study.crew_search import Found, Trials, likeliest, one_away, smallest
from growsim.study.crew_trial import Rule, Trial

RULE = Rule(zone=0.02, error=0.05 / 8, first=12, step=6, at_most=120)
OPTIONS = [(a, b) for a, b in product(range(1, 5), repeat=2)]
RUNGS = [(1, 1), (2, 1), (2, 2), (3, 2), (3, 3), (4, 3), (4, 4)]
Truth = Callable[[SignUp], float]


def uneven(sign_up: SignUp) -> float:
    """Above the goal on average: the first shift matters far more, so that the ladder is no good guide."""
    first, second = sign_up
    return -0.215 + (0.10, 0.16, 0.21, 0.25)[first - 1] + 0.015 * (second - 1)


def even(sign_up: SignUp) -> float:
    """Above the goal on average: both shifts matter alike, and each further person less."""
    return -0.25 + sum((0.06, 0.11, 0.15, 0.18)[people - 1] for people in sign_up)


def year(sign_up: SignUp, truth: Truth, seed: int, i: int) -> float:
    """One year: the same luck for every option, and a little of its own."""
    shared, own = Random(f"{seed}/{i}"), Random(f"{seed}/{i}/{sign_up}")
    return truth(sign_up) + shared.gauss(0, 0.02) + own.gauss(0, 0.01)


def decide(trial: Trial, sign_up: SignUp, truth: Truth, seed: int) -> None:
    """Rehearse one option until it is decided."""
    while trial.verdict is None:
        trial.add([{"on time": year(sign_up, truth, seed, i)} for i in trial.wanted])


def searched(truth: Truth, seed: int, rungs: list[SignUp] = RUNGS, guess: int = 2) -> tuple[Found, Trials]:
    """Search to the end."""
    trials = Trials(RULE, rungs[-1])
    search = smallest(trials, rungs, guess)
    while True:
        try:
            wish = next(search)
        except StopIteration as end:
            return end.value, trials
        for candidate in wish.candidates:
            trial = trials.of(candidate)
            trial.add([{"on time": year(candidate, truth, seed, i)} for i in trial.wanted])


def best_places(truth: Truth) -> tuple[int, int]:
    """Fewest places of any option that is at the goal, and of any that clears it by the zone."""
    return (
        min(sum(option) for option in OPTIONS if truth(option) > 0),
        min(sum(option) for option in OPTIONS if truth(option) >= RULE.zone),
    )


@pytest.mark.parametrize("truth", [uneven, even])
def test_finds_the_best_where_every_option_can_be_tried(truth: Truth) -> None:
    """Two shifts with one to four people: in 200 rooms of other luck the answer is right as often as stated.

    Right: not below a goal, and no more places than the smallest option that clears the goals by the zone.
    """
    fewest, clear = best_places(truth)
    found = [searched(truth, seed)[0] for seed in range(200)]
    right = [truth(each.sign_up) > 0 and fewest <= sum(each.sign_up) <= clear for each in found]

    assert proportion_interval(sum(right), len(right)).low >= 0.95
    assert all(each.all_tried for each in found)


@pytest.mark.parametrize("truth", [uneven, even])
def test_needs_a_third_of_the_years_that_trying_everything_equally_needs(truth: Truth) -> None:
    """To decide all 16 options equally, each would be rehearsed for as long as the closest call needs."""
    spent = equally = 0
    for seed in range(40):
        everything = {option: Trial(RULE) for option in OPTIONS}
        for option, trial in everything.items():
            decide(trial, option, truth, seed)
        equally += len(OPTIONS) * max(trial.years for trial in everything.values())
        spent += sum(trial.years for trial in searched(truth, seed)[1].known.values())

    assert 3 * spent <= equally


def test_years_go_where_the_choice_is_close() -> None:
    """Of all options looked at, the one nearest the goal is rehearsed longest, on average."""
    near = far = 0.0
    for seed in range(40):
        known = searched(even, seed)[1].known
        by_distance = sorted(known, key=lambda option: abs(even(option) - RULE.zone / 2))
        near += known[by_distance[0]].years
        far += known[by_distance[-1]].years

    assert near > 1.5 * far


def test_without_luck_the_answer_is_that_of_going_through_all() -> None:
    """Rooms of many shapes: the fewest places of all options that clear the goal, found without trying them all."""
    for seed in range(60):
        dice = Random(seed)
        worth = [sorted((dice.uniform(0, 0.1) for _ in range(3)), reverse=True) for _ in range(2)]
        least = dice.uniform(0.02, 0.25)

        def truth(option: SignUp, worth: list[list[float]] = worth, least: float = least) -> float:
            return sum(sum(worth[i][: people - 1]) for i, people in enumerate(option)) - least

        def certain(option: SignUp, truth: Truth = truth) -> bool:
            return truth(option) >= RULE.zone / 2

        trials = Trials(RULE, (4, 4))
        search = smallest(trials, RUNGS, 3)
        try:
            while True:
                for candidate in next(search).candidates:
                    trials.of(candidate).add([{"on time": truth(candidate)}] * RULE.first)
        except StopIteration as end:
            found: Found = end.value
        enough = [option for option in OPTIONS if certain(option)] or [(4, 4)]

        assert sum(found.sign_up) == min(sum(option) for option in enough)


def test_what_lies_below_a_rejected_option_is_rejected_unseen() -> None:
    """More hands are never worse, so a smaller sign-up than a rejected one needs no rehearsal."""
    trials = Trials(RULE, (4, 4))
    decide(trials.of((3, 2)), (3, 2), lambda _: -0.2, 0)
    decide(trials.of((3, 3)), (3, 3), lambda _: 0.2, 0)

    assert trials.verdict((2, 2)) == "rejected"
    assert trials.verdict((4, 3)) == "accepted"
    assert trials.verdict((4, 4)) == "accepted"
    assert trials.verdict((1, 4)) is None


def test_one_away_stops_at_the_fewest() -> None:
    """Nobody is taken from a shift that has the fewest people already."""
    assert one_away((1, 3), (1, 1)) == ((1, 2),)


def test_likeliest_puts_people_where_they_are_worth_most() -> None:
    """Five shifts are too many to try every sign-up: those that move people to the shift that matters come first."""
    worth = (0.05, 0.01, 0.01, 0.01, 0.01)

    def truth(option: SignUp) -> float:
        return 0.01 + sum(people * each for people, each in zip(option, worth, strict=True)) - 0.27

    standing, least, most = (3, 3, 3, 3, 3), (1,) * 5, (6,) * 5
    trials = Trials(RULE, most)
    for option in (standing, *one_away(standing, least)):
        trials.of(option).add([{"on time": truth(option)}] * RULE.first)
    first = likeliest(trials, standing, least, most, 4)

    assert first
    assert all(option[0] == 4 and sum(option) == 14 for option in first)


def test_with_many_shifts_people_are_moved_between_days() -> None:
    """From a ladder that spreads people evenly the search comes to a sign-up that does not."""
    worth = (0.08, 0.012, 0.012, 0.012, 0.012)

    def truth(option: SignUp) -> float:
        return sum(people * each for people, each in zip(option, worth, strict=True)) - 0.30

    rungs: list[SignUp] = [(1,) * 5]
    while rungs[-1] != (5,) * 5:
        lowest = min(range(5), key=lambda i: (rungs[-1][i], -i))
        rungs.append(tuple(people + (i == lowest) for i, people in enumerate(rungs[-1])))
    trials = Trials(RULE, rungs[-1])
    search = smallest(trials, rungs, 8)
    try:
        while True:
            for candidate in next(search).candidates:
                trials.of(candidate).add([{"on time": truth(candidate)}] * RULE.first)
    except StopIteration as end:
        found: Found = end.value

    assert truth(found.sign_up) >= RULE.zone / 2
    assert sum(found.sign_up) <= 8  # four on the first shift and one on each other are enough
    assert not found.all_tried or sum(found.sign_up) <= 6
