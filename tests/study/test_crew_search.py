"""The search for the smallest sign-up, where the truth is known and every option can be tried."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import product
from random import Random

import pytest

from growsim.run.intervals import proportion_interval
from growsim.study.crew.search import Found, Search, Trials, exactly, near_enough, one_away, options
from growsim.study.crew.surface import Shape, Surfaces, smallest_likely
from growsim.study.crew.trial import Rule, Trial
from growsim.study.rota import SignUp

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
        live(trial, sign_up, truth, seed)


def live(trial: Trial, sign_up: SignUp, truth: Truth, seed: int) -> None:
    """One more block of years."""
    years = range(trial.years, trial.years + RULE.step)
    trial.add({i: {"on time": year(sign_up, truth, seed, i)} for i in years})


def driven(search: Search, trials: Trials, truth: Truth, seed: int) -> Found:
    """Rehearse whatever the search asks for, to its end."""
    while True:
        try:
            wish = next(search)
        except StopIteration as end:
            found: Found = end.value
            return found
        for candidate in wish.candidates:
            live(trials.of(candidate), candidate, truth, seed)


def searched(truth: Truth, seed: int) -> tuple[Found, Trials]:
    """Every option weighed."""
    trials = Trials(RULE, RUNGS[-1])
    return driven(exactly(trials, RUNGS, 2), trials, truth, seed), trials


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
    assert {each.refused for each in found} == {"all"}


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
        search = exactly(trials, RUNGS, 3)
        try:
            while True:
                for candidate in next(search).candidates:
                    trials.of(candidate).add({i: {"on time": truth(candidate)} for i in range(RULE.first)})
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


HOURS = (10.0, 2.0, 1.0, 11.0, 2.0)
FIVE = Shape(places=(5,) * 5, chance=0.8, top={"on time": 0.1})
LEAST, MOST = (1,) * 5, (8,) * 5


def rising(sign_up: SignUp) -> float:
    """Above the goal: what is missing shrinks with every helper, on the first and fourth shift most; ample: 0.1."""
    helped = sum(w * n**0.7 for w, n in zip((0.5, 0.2, 0.15, 0.55, 0.25), sign_up, strict=True))
    return float(0.1 - 1.6 * math.exp(-helped))


def five_rungs() -> list[SignUp]:
    """One person more at a time, where there is most work for each."""
    rungs = [LEAST]
    while rungs[-1] != MOST:
        now = rungs[-1]
        open_to = [i for i in range(5) if now[i] < MOST[i]]
        best = max(open_to, key=lambda i: (HOURS[i] / now[i], -i))
        rungs.append(tuple(n + (i == best) for i, n in enumerate(now)))
    return rungs


def best_of_five() -> int:
    """Fewest places of any of the 32,768 options that clears the goal by the zone."""
    return min(sum(option) for option in product(range(1, 9), repeat=5) if rising(option) >= RULE.zone)


def test_with_many_options_the_answer_is_nearly_the_best() -> None:
    """Five shifts with one to eight people, under luck: nearly always within a place or two of the best there is.

    The best is found by going through all options without luck. Compared with the smallest that clears the goal by the
    zone; one that clears it by less may be smaller still.
    """
    best, rungs = best_of_five(), five_rungs()
    gaps = []
    for seed in range(30):
        trials = Trials(RULE, MOST)
        for rung in rungs[:14:3]:
            live(trials.of(rung), rung, rising, seed)
            live(trials.of(rung), rung, rising, seed)
        found = driven(near_enough(trials, rungs, 8, Surfaces([FIVE], [trials.known]), 0), trials, rising, seed)
        gaps.append(sum(found.sign_up) - best)
        assert rising(found.sign_up) > -0.01

    assert abs(sum(gaps) / len(gaps)) <= 1.0
    assert sum(abs(gap) <= 2 for gap in gaps) >= 0.9 * len(gaps)


def test_with_many_options_few_are_rehearsed() -> None:
    """Of 32,768 options a few dozen are looked at, for a few hundred years in all."""
    trials = Trials(RULE, MOST)
    rungs = five_rungs()
    for rung in rungs[:14:3]:
        live(trials.of(rung), rung, rising, 0)
    driven(near_enough(trials, rungs, 8, Surfaces([FIVE], [trials.known]), 0), trials, rising, 0)

    assert options(LEAST, MOST) == 8**5
    assert len(trials.known) < 80
    assert sum(trial.years for trial in trials.known.values()) < 1500


def test_a_rejected_option_is_not_proposed_again() -> None:
    """Once the sign-up that looks enough is rejected by trial, a larger one is looked for."""
    seen: dict[SignUp, float] = {}
    now = smallest_likely((2,) * 5, LEAST, MOST, rising, lambda each: each not in seen, 0.01)
    seen[now] = 0.0
    other = smallest_likely((2,) * 5, LEAST, MOST, rising, lambda each: each not in seen, 0.01)

    assert rising(now) >= 0.01
    assert other != now
    assert sum(other) >= sum(now)


def test_the_curve_learns_which_shift_matters() -> None:
    """With enough years the curve says of unseen sign-ups what is true of them."""
    odd = Shape(places=(9,) * 5, chance=1.0, top={"on time": 0.1})
    trials = Trials(RULE, MOST)
    for option in [
        (3, 3, 3, 3, 3),
        (2, 3, 3, 3, 3),
        (3, 2, 3, 3, 3),
        (3, 3, 2, 3, 3),
        (3, 3, 3, 2, 3),
        (3, 3, 3, 3, 2),
    ]:
        trials.of(option).add({i: {"on time": rising(option) + 0.0001 * (-1) ** i} for i in range(40)})
    above = Surfaces([odd], [trials.known]).of(0, (3, 3, 3, 3, 3))

    assert above((4, 3, 3, 3, 2)) > above((2, 3, 3, 3, 4))
    assert above((4, 2, 3, 3, 3)) == pytest.approx(rising((4, 2, 3, 3, 3)), abs=0.01)
