"""Curves from a few crews, the easiest crew to recruit read off them, and the search that finds it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import crew_fakes
import numpy as np
import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.plan import RunPlan
from growsim.study.crew.curves import Curves, curves_of
from growsim.study.crew.easiest import Ask, easiest
from growsim.study.crew.goals import ON_TIME, ORDERS, Target, whole_year
from growsim.study.crew.search import MANY, Search
from growsim.study.crew.years import Years
from growsim.study.rota import Season

EASY, SUMMER = Season(tuple(range(6)), (0, 1)), Season(tuple(range(6, 12)), (2, 3))
LADDER = [(1, 1), (2, 1), (2, 2), (3, 2), (3, 3), (4, 3), (5, 3), (5, 4), (6, 4), (7, 4)]
YEAR = whole_year(crew_fakes.DAYS)


def year(number: int, easy: float, summer: float, orders: float = 1.0) -> Outcome:
    """Four weeks of ten jobs and ten kilograms each: two easy, two in summer. easy, summer: share in time of both."""
    late = tuple(10.0 * (1.0 - share) for share in (easy, easy, summer, summer))
    filled = tuple(10.0 * orders * share for share in (easy, easy, summer, summer))
    weeks = {"tasks_done": (10.0,) * 4, "tasks_late": late, "kg_ordered": (10.0,) * 4, "kg_to_partners": filled}
    return Outcome(number, {}, weeks, {}, {})


def rising(easy: float, summer: float) -> Curves:
    """Crews of 2 to 12 people; each further one brings so much in the easy months, and in summer, from 0.5 on."""
    shares = {size: (0.5 + easy * (size - 2), 0.5 + summer * (size - 2)) for size in range(2, 13)}
    return curves_of({size: [year(0, *each), year(1, *each)] for size, each in shares.items()}, (EASY, SUMMER))


def asking(
    goal: float,
    *,
    hard: tuple[float, float] = (1.0, 1.0),
    need: tuple[float, float] = (1.0, 1.0),
    orders: float | None = None,
) -> Ask:
    """So much in time over the year, and of the orders if asked for."""
    targets = {ON_TIME: Target(ON_TIME, goal, 1.0, 1.0, None)}
    if orders is not None:
        targets[ORDERS] = Target(ORDERS, orders, 1.0, 1.0, None)
    return Ask(targets, 0.03, 0.0, hard, need)


def test_between_two_crews_it_is_read_off_a_line() -> None:
    """Crews of 2 and 4: three people bring what lies halfway, in a season and over the year."""
    curves = curves_of({2: [year(0, 0.5, 0.3)], 4: [year(0, 0.9, 0.5)]}, (EASY, SUMMER))

    assert curves.season(ON_TIME, 0, 3) == pytest.approx(0.7)
    assert curves.year(ON_TIME, (3, 3)) == pytest.approx((0.7 + 0.4) / 2)
    assert curves.year(ON_TIME, (4, 2)) == pytest.approx((0.9 + 0.3) / 2)
    assert curves.ample(ORDERS, 1) == pytest.approx(0.5)


def test_more_people_never_bring_less() -> None:
    """Luck has five people below three: both stand at their mean. By pencil, isotonic least squares: 1.5 / 2."""
    curves = curves_of({2: [year(0, 0.5, 0.5)], 3: [year(0, 0.8, 0.5)], 5: [year(0, 0.7, 0.5)]}, (EASY, SUMMER))

    assert [curves.season(ON_TIME, 0, size) for size in (2, 3, 4, 5)] == pytest.approx([0.5, 0.75, 0.75, 0.75])


def test_years_drawn_again_are_those_years() -> None:
    """Drawing the second year twice gives what two such years would have given."""
    lived = {2: [year(0, 0.5, 0.5), year(1, 0.6, 0.6)], 4: [year(0, 0.7, 0.7), year(1, 0.9, 0.9)]}

    assert curves_of(lived, (EASY, SUMMER)).drawn(np.array([1, 1])).year(ON_TIME, (4, 4)) == pytest.approx(0.9)


def test_the_hardest_months_come_first() -> None:
    """Every person brings five points of a season's half of the year; 0.75 takes fourteen people in both together.
    By pencil: alike hard, seven each. Summer twice as hard: 10 and 5 are as hard as each other, less would not be
    enough; of those within, nine and five are the fewest."""
    curves = rising(0.05, 0.05)

    assert easiest(curves, asking(0.75)) == (7, 7)
    assert easiest(curves, asking(0.75, hard=(1.0, 2.0))) == (9, 5)


def test_people_follow_the_need_of_a_season() -> None:
    """Summer, four times as hard, keeps the six that its orders ask for; two easy seasons share sixteen more by their
    need: eight each where it is the same, else six (the fewest for its orders) and ten. By pencil: the mean of all four
    weeks must be seven people."""
    seasons = (Season((0,), (0,)), Season((1,), (1,)), SUMMER)
    lived = {size: [year(0, *[0.5 + 0.05 * (size - 2)] * 2)] for size in range(2, 13)}

    def found(need: tuple[float, ...]) -> tuple[int, ...]:
        ask = replace(asking(0.75, orders=0.72), hard=(1.0, 1.0, 4.0), need=need)
        return easiest(curves_of(lived, seasons), ask)

    assert found((1.0, 1.0, 1.0)) == (8, 8, 6)
    assert found((1.0, 2.0, 1.0)) == (6, 10, 6)


def test_a_season_keeps_its_orders_whatever_the_others_bring() -> None:
    """Orders of 0.72 are asked for, so summer must fill 0.69 by itself: six people, however hard they are to find."""
    assert easiest(rising(0.05, 0.05), asking(0.5, hard=(1.0, 9.0), orders=0.72)) == (7, 6)


def test_what_nobody_reaches_takes_all_there_are() -> None:
    """The largest crew brings all it can, and no more is invented."""
    assert easiest(rising(0.01, 0.01), asking(0.9)) == (12, 12)


@pytest.fixture
def years() -> Iterator[Years]:
    """The room whose truth is known; no curve of growth is needed in it."""
    room = Prepared(crew_fakes.tiny().scenario, None)  # type: ignore[arg-type]
    with Rehearsers(work=crew_fakes.lived) as rehearsers:
        yield Years(rehearsers, room, 5, RunPlan(crew_fakes.DAYS), (YEAR,), SharedProgress(None, 0))


def searching(years: Years, goal: float) -> Search:
    """A search for so much in time, aiming a point above."""
    ask = Ask({ON_TIME: Target(ON_TIME, goal, 0.99, 1.0, None)}, 0.03, 0.01, (1.0,), (1.0,))
    return Search(years, [LADDER], 4, ask, YEAR)


def test_the_search_finds_where_the_known_rule_is_enough(years: Years) -> None:
    """A point above 80 % by the rule's own arithmetic; a person fewer would not be."""
    found = searching(years, 0.8).found()
    (sign_up,) = found.rota
    chance = sum(crew_fakes.tiny().scenario.crew.chance_of_coming[:6]) / 6
    fewer = [(sign_up[0] - 1, sign_up[1]), (sign_up[0], sign_up[1] - 1)]

    assert crew_fakes.true_on_time(sign_up, chance) > 0.805
    assert all(crew_fakes.true_on_time(each, chance) < 0.815 for each in fewer)
    assert found.low[0] <= found.sizes[0] <= found.high[0]
    assert len(found.whole) == MANY


def test_who_can_be_spared_is_not_asked_for(years: Years) -> None:
    """Nine and four do far more than 70 %: people are taken away until none can be."""
    search = searching(years, 0.7)
    search.curves = search.crews([2, 6, 11], MANY)
    (spared,) = search.spared(((7, 4),))

    assert sum(spared) < 8
    assert crew_fakes.true_on_time(spared, 0.84) > 0.7


def test_one_more_goes_where_it_is_easiest(years: Years) -> None:
    """And nobody where the room is full."""
    search = searching(years, 0.8)
    search.curves = search.crews([2, 6, 11], MANY)
    found = search._told(search.rota((6,)), (6,))

    assert search.with_more(found).sizes == (7,)
    full = search._told(search.rota((11,)), (11,))
    assert search.with_more(full) == full


def test_no_year_is_lived_through_twice(years: Years) -> None:
    """What is known is remembered; more years of the same rota are added to it."""
    first = years.live([((3, 2),)], range(4))[((3, 2),)]
    again = years.live([((3, 2),)], range(6))[((3, 2),)]

    assert again[:4] == first
    assert years.rehearsed == 6
    assert [outcome.replication for outcome in years.known(((3, 2),))] == [0, 1, 2, 3, 4, 5]
