"""Sign-ups, seasons and the first guess on paper."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import pytest

from growsim.scenario import on_paper
from growsim.scenario.load import load_scenario
from growsim.scenario.scenario import Scenario
from growsim.study.crew.need import hours_by_shift, ladder, pace_expected
from growsim.study.rota import (
    Season,
    by_month,
    chance_of_at_least,
    held_in,
    months_of_weeks,
    most_of_use,
    people_today,
    recruiting_effort,
    seasons_of,
    signed_up,
)

ROOMS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def tiny() -> Scenario:
    """The tiny room."""
    return load_scenario(ROOMS / "tiny").scenario


@pytest.fixture(scope="module")
def millrace() -> Scenario:
    """The demonstration room."""
    return load_scenario(ROOMS / "millrace").scenario


def test_a_week_counts_for_the_month_of_its_fourth_day(tiny: Scenario) -> None:
    """Counting starts on Monday 6 January 2031; the week of 27 January has its Thursday on the 30th."""
    months = months_of_weeks(tiny, 35)

    assert months == (0, 0, 0, 0, 1)


def test_months_of_about_the_same_need_are_one_season(millrace: Scenario) -> None:
    """Of 100 who sign up 58 or 60 come in July and August, 72 to 78 in three other months, 82 to 90 in the rest."""
    months = months_of_weeks(millrace, 364)
    chance = millrace.crew.chance_of_coming
    seasons = seasons_of({month: 1 / chance[month] for month in range(12)}, months, chance)

    assert [each.months for each in seasons] == [(0, 1, 2, 3, 4, 9, 10), (5, 8, 11), (6, 7)]
    assert sorted(week for each in seasons for week in each.weeks) == list(range(52))


def test_months_that_are_harder_to_fill_stand_apart(millrace: Scenario) -> None:
    """The usual effort: the three warmest months half as hard again; June is no longer one with December."""
    months, chance = months_of_weeks(millrace, 364), millrace.crew.chance_of_coming
    effort = recruiting_effort(millrace)
    seasons = seasons_of({month: 1 / chance[month] for month in range(12)}, months, chance, effort)

    assert effort == (1.0,) * 5 + (1.5,) * 3 + (1.0,) * 4
    assert [each.months for each in seasons] == [(0, 1, 2, 3, 4, 9, 10), (8, 11), (5,), (6, 7)]
    own = millrace.crew.model_copy(update={"recruiting_effort": (2.0,) * 12})
    assert recruiting_effort(millrace.model_copy(update={"crew": own})) == (2.0,) * 12


def test_no_season_spans_a_fifth_where_four_are_enough() -> None:
    """Needs that rise step by step are harvested where the steps are largest."""
    needs = {0: 1.0, 1: 1.02, 2: 1.3, 3: 1.32, 4: 2.0, 5: 2.1}
    seasons = seasons_of(needs, [month for month in needs for _ in range(4)], [0.8] * 12)
    spans = [[needs[m] for m in each.months if m in needs] for each in seasons]

    assert [(min(span), max(span)) for span in spans] == [(1.0, 1.02), (1.3, 1.32), (2.0, 2.1)]


def test_a_month_hardly_counted_goes_with_its_like() -> None:
    """A month with a single counted week, or none, joins the months in which about as many come."""
    needs = {0: 1.0, 1: 1.5, 2: 1.49}
    chance = [0.9, 0.6, 0.6, *[0.88] * 9]
    seasons = seasons_of(needs, [0] * 4 + [1] * 4 + [2], chance)

    assert [each.months for each in seasons] == [(0, 3, 4, 5, 6, 7, 8, 9, 10, 11), (1, 2)]


def test_sign_ups_reach_the_room_month_by_month(tiny: Scenario) -> None:
    """Each month gets the people of its season, and nothing else of the room changes."""
    from growsim.run.prepare import Prepared

    winter, summer = Season((0, 1, 2, 3, 4, 8, 9, 10, 11), ()), Season((5, 6, 7), ())
    room = Prepared(tiny, None)  # type: ignore[arg-type]  # no curve is needed to sign people up
    changed = signed_up(room, (winter, summer), ((2, 0), (4, 3))).scenario
    monday, thursday = changed.crew.shifts

    assert monday.people_by_month == (2, 2, 2, 2, 2, 4, 4, 4, 2, 2, 2, 2)
    assert (thursday.people, thursday.people_by_month[:6]) == (3, (0, 0, 0, 0, 0, 3))
    assert by_month((winter, summer), ((2, 0), (4, 3)), 1) == thursday.people_by_month
    assert changed.model_copy(update={"crew": tiny.crew}) == tiny
    assert changed.crew.model_copy(update={"shifts": tiny.crew.shifts}) == tiny.crew


@pytest.mark.parametrize(("wanted", "people", "chance"), [(3, 5, 0.8), (1, 1, 0.3), (5, 9, 0.58), (0, 4, 0.5)])
def test_the_chance_that_enough_come_is_binomial(wanted: int, people: int, chance: float) -> None:
    """Against scipy.stats.binom."""
    from scipy.stats import binom

    assert chance_of_at_least(wanted, people, chance) == pytest.approx(float(binom.sf(wanted - 1, people, chance)))


def test_no_more_people_than_fill_the_room_are_of_use(tiny: Scenario) -> None:
    """Four fit in with the lead: with a chance of 0.65 seven signed up bring three or more nine times in ten."""
    shift = tiny.crew.shifts[0]
    most = most_of_use(tiny, shift, 0.65, 1)

    assert chance_of_at_least(3, most, 0.65) >= 0.9 > chance_of_at_least(3, most - 1, 0.65)
    assert most_of_use(tiny, shift, 0.65, 12) == 12
    assert most_of_use(tiny, shift, 0.0, 1) == 1


def test_hours_on_paper_of_the_tiny_room(tiny: Scenario) -> None:
    """By hand: sowings on Monday, harvested and pack on Thursday, topping up on both, the reservoir renewed every
    fourth Monday.

    Monday: sow 60 + 30 cells (2 x 5 + 90 x 0.1 min), top up 8, renew 40 / 4, heads moved after 14 days (3 + 27 x 0.2,
    a sheet washed 2 + 3). Saturday: leaf moved after 12 days; it falls to Monday's shift.
    """
    by_day = on_paper.hours_by_weekday(tiny)
    heads, leaf = 30 * 0.9, 60 * (1 - 0.15**2)
    monday = 10 + 9 + 8 + 10 + (3 + 0.2 * heads) + 5
    saturday = 3 + 0.2 * leaf + 5

    assert by_day[0] * 60 == pytest.approx(monday, abs=0.2)
    assert by_day[5] * 60 == pytest.approx(saturday, abs=0.2)
    assert hours_by_shift(tiny)[0] == pytest.approx(by_day[0] + by_day[4] + by_day[5] + by_day[6])
    assert math.fsum(hours_by_shift(tiny)) == pytest.approx(math.fsum(by_day))


def test_pace_of_a_place_in_the_long_run(tiny: Scenario) -> None:
    """Whoever never leaves is practiced; a fresh face every week works at a beginner's pace, or little above."""

    def crew_staying(weeks: float) -> Scenario:
        return tiny.model_copy(update={"crew": tiny.crew.model_copy(update={"stay_weeks": weeks})})

    assert pace_expected(crew_staying(5000)) == pytest.approx(1.0, abs=0.001)
    assert tiny.crew.beginner_pace < pace_expected(crew_staying(1)) < tiny.crew.beginner_pace + 0.1


def test_the_ladder_adds_one_person_at_a_time_where_hours_are_scarcest(millrace: Scenario) -> None:
    """From the fewest to as many as are of use; the guess covers every shift's hours, the rung before does not."""
    hours = hours_by_shift(millrace)
    rungs, guess = ladder(millrace, hours, 0.85, (1,) * 5, (8,) * 5)
    pace = pace_expected(millrace)

    def covered(rung: tuple[int, ...]) -> bool:
        shifts = millrace.crew.shifts
        return all(
            shift.hours * (people * 0.85 * pace + shift.lead) >= need
            for shift, people, need in zip(shifts, rung, hours, strict=True)
        )

    assert (rungs[0], rungs[-1], len(rungs)) == ((1,) * 5, (8,) * 5, 36)
    assert all(sum(after) - sum(before) == 1 for before, after in pairwise(rungs))
    assert covered(rungs[guess])
    assert not covered(rungs[guess - 1])


def test_nobody_is_asked_for_where_a_shift_is_not_held(tiny: Scenario) -> None:
    """Thursdays from September to May: in a season of summer months alone nobody; in one with a month of theirs as
    many as said."""
    monday, thursday = tiny.crew.shifts
    rare = thursday.model_copy(update={"months": (1, 2, 3, 4, 5, 9, 10, 11, 12), "people_by_month": (3,) * 12})

    assert held_in(Season((5, 6, 7), ()), (monday, rare), (2, 4)) == (2, 0)
    assert held_in(Season((4, 5), ()), (monday, rare), (2, 4)) == (2, 4)
    assert people_today(rare) == (3, 3, 3, 3, 3, 0, 0, 0, 3, 3, 3, 3)
