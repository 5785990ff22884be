"""The whole question, in a room whose truth about people is known and in the tiny room."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import crew_fakes
import pytest

from growsim.errors import InputError
from growsim.report.crew.answer import sign_up_change
from growsim.run.prepare import prepare
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.crew.answer import CrewStudy
from growsim.study.crew.goals import ON_TIME, ORDERS
from growsim.study.crew.question import crew
from growsim.study.crew.rounds import Years
from growsim.study.rota import Season

GOALS = {ON_TIME: 0.8, ORDERS: 0.6}
TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.fixture(scope="module")
def room() -> LoadedRoom:
    """The tiny room."""
    return load_scenario(TINY)


@pytest.fixture(scope="module")
def study(room: LoadedRoom) -> CrewStudy:
    """One study by the known rule."""
    return asked(room)


def asked(room: LoadedRoom, workers: int = 1, **other: object) -> CrewStudy:
    """Ask, with the known rule for work."""
    options: dict[str, object] = {"goals": GOALS, "replications": 20, **other}
    return crew(room, plan=RunPlan(crew_fakes.DAYS), seed=3, work=crew_fakes.lived, workers=workers, **options)  # type: ignore[arg-type]


def test_the_answer_is_the_smallest_that_is_enough(study: CrewStudy) -> None:
    """By the known rule: enough in every season, and no option with a place fewer clears the goal by the zone."""
    for each in study.seasons:
        first, second = each.sign_up
        fewer = [(first - 1 + move, second - move) for move in range(-second, first)]
        smaller = [option for option in fewer if min(option) >= 1]

        assert each.end == "proven"
        assert crew_fakes.true_on_time(each.sign_up, each.chance) > GOALS[ON_TIME]
        assert all(crew_fakes.true_on_time(option, each.chance) < GOALS[ON_TIME] + study.zone for option in smaller)


def test_every_month_has_its_sign_up(study: CrewStudy) -> None:
    """The table has each shift and month once, and today's people beside those needed."""
    frame = study.to_frame()
    june = frame[(frame["shift"] == "Monday") & (frame["month"] == 6)].iloc[0]

    assert len(frame) == 24
    assert june["people_needed"] == study.people(0)[5]
    assert june["people_to_add"] == study.people(0)[5] - 2
    assert june["people_expected_to_come"] == pytest.approx(0.75 * study.people(0)[5])


def test_the_proof_uses_years_the_search_has_not_seen(study: CrewStudy) -> None:
    """Its replications begin after the last of the search, one after the other."""
    numbers = [outcome.replication for outcome in study.outcomes]

    assert numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    assert numbers[0] >= 16
    assert len(numbers) >= 20


def test_one_person_less_costs_what_the_rule_says(study: CrewStudy) -> None:
    """The known loss, season by season in proportion to its weeks, lies within the range found."""
    weeks = sum(len(each.season.weeks) for each in study.seasons)
    for number, less in enumerate(study.one_less):
        loss = 0.0
        for each in study.seasons:
            fewer = tuple(people - (i == number) for i, people in enumerate(each.sign_up))
            change = crew_fakes.true_on_time(fewer, each.chance) - crew_fakes.true_on_time(each.sign_up, each.chance)
            loss += change * len(each.season.weeks) / weeks
        found = less.differences[ON_TIME]

        assert found.mean == pytest.approx(loss, abs=0.003)  # chance differs a little between the months of a season


def test_crews_are_shown_from_the_fewest_to_ample_hands(study: CrewStudy) -> None:
    """Larger crews do more on time in this room, and the ladder ends with ample hands."""
    shares = [rung.on_time for rung in study.rungs]

    assert len(shares) >= 4
    assert shares == sorted(shares)  # type: ignore[type-var]
    assert [name for name, _ in study.named_rungs()][-3:] == ["ample hands", "today", "the answer"]


def test_two_workers_find_the_same_to_the_last_bit(study: CrewStudy, room: LoadedRoom) -> None:
    """Workers change the time it takes, never the numbers."""
    assert asked(room, workers=2) == study


def test_higher_goals_take_no_fewer_people(study: CrewStudy, room: LoadedRoom) -> None:
    """Asking for more never yields a smaller sign-up."""
    more = asked(room, goals={ON_TIME: 0.84, ORDERS: 0.6})
    places = sum(sum(each.sign_up) for each in study.seasons)

    assert sum(sum(each.sign_up) for each in more.seasons) > places


def test_a_goal_no_crew_reaches_is_said_to_be_so(room: LoadedRoom) -> None:
    """By the rule no crew that fits does everything on time: asked for is as good as ample hands, less the margin."""
    found = asked(room, goals={ON_TIME: 0.999, ORDERS: 0.6})

    assert all(each.targets[ON_TIME].out_of_reach for each in found.seasons)
    assert all(each.targets[ON_TIME].below_ample == found.margin for each in found.seasons)
    assert all(each.end == "proven" for each in found.seasons)


def test_nobody_is_taken_below_the_fewest_asked_for(room: LoadedRoom) -> None:
    """With at least three on every shift, three it is where fewer would do."""
    found = asked(room, goals={ON_TIME: 0.6, ORDERS: 0.5}, at_least=3)

    assert [each.sign_up for each in found.seasons] == [(3, 3)] * len(found.seasons)


def test_nobody_is_asked_for_in_months_without_the_shift(room: LoadedRoom) -> None:
    """Thursdays are held in January, February and March alone: the table and the CHANGE file ask for nobody else then,
    and Mondays have to make up for it in months that are as hard."""
    monday, thursday = room.scenario.crew.shifts
    shifts = (monday, thursday.model_copy(update={"months": (1, 2, 3)}))
    crew_of_it = room.scenario.crew.model_copy(update={"shifts": shifts})
    found = asked(replace(room, scenario=room.scenario.model_copy(update={"crew": crew_of_it})))

    assert found.people(1)[3:] == (0,) * 9
    assert min(found.people(1)[:3]) >= 1
    assert tomllib.loads(sign_up_change(found))["crew"]["shifts"][1]["people_by_month"] == list(found.people(1))


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ({"goals": {ON_TIME: 1.2}}, "goals: 1.2 is not possible"),
        ({"zone": 0.0}, "zone: 0 is not possible"),
        ({"margin": 0.7}, "margin: 0.7 is not possible"),
        ({"at_least": -1}, "at least: -1 is not possible"),
        ({"replications": 2}, "replications: 2 is too few"),
    ],
)
def test_what_cannot_be_asked_is_refused(other: dict[str, object], said: str, room: LoadedRoom) -> None:
    """One plain sentence, before anything is rehearsed."""
    with pytest.raises(InputError, match=said):
        asked(room, **other)


def test_too_short_a_time_and_a_room_without_shifts_are_refused(room: LoadedRoom) -> None:
    """Three weeks judge no crew, and nobody can be signed up where no shift is held."""
    with pytest.raises(InputError, match="days: 21 is too short"):
        crew(room, plan=RunPlan(21), seed=3, work=crew_fakes.lived)
    nobody = room.scenario.model_copy(update={"crew": room.scenario.crew.model_copy(update={"shifts": ()})})
    with pytest.raises(InputError, match="nobody ever comes to work"):
        crew(replace(room, scenario=nobody), plan=RunPlan(182), seed=3, work=crew_fakes.lived)


def test_ctrl_c_comes_through(room: LoadedRoom) -> None:
    """Progress is told, and what stops it stops everything."""
    seen: list[tuple[int, int]] = []

    def progress(done: int, total: int) -> None:
        seen.append((done, total))
        if done >= 40:
            raise KeyboardInterrupt

    with pytest.raises(Exception, match="nothing was kept"):
        asked(room, progress=progress)
    assert all(done <= total for done, total in seen)


def test_more_helpers_never_do_less_on_time_on_average(room: LoadedRoom) -> None:
    """In the tiny room with shifts of 45 minutes, under shared luck: paired mean change in tasks on time.

    Allowed is what a range of the mean allows: no clear loss (upper end of the 99 % range not below zero), and over
    all steps together a clear gain.
    """
    from growsim.run.intervals import mean_interval

    year = (Season(tuple(range(12)), ()),)
    shifts = tuple(shift.model_copy(update={"hours": 0.75}) for shift in room.scenario.crew.shifts)
    short = room.scenario.model_copy(update={"crew": room.scenario.crew.model_copy(update={"shifts": shifts})})
    with Rehearsers() as rehearsers:
        years = Years(rehearsers, prepare(short), 11, RunPlan(84, 42), year, SharedProgress(None, 0))
        steps = [((1, 1),), ((2, 1),), ((2, 2),), ((4, 4),)]
        lived = years.live(steps, range(10))
    shares = {step: [outcome.measures[ON_TIME] for outcome in lived[step]] for step in steps}
    for before, after in pairwise(steps):
        gains = [b - a for a, b in zip(shares[before], shares[after], strict=True)]
        mean, _, high = mean_interval(gains, 0.99)

        assert high is not None
        assert high >= 0.0 or mean >= 0.0
    _, low, _ = mean_interval([b - a for a, b in zip(shares[steps[0]], shares[steps[-1]], strict=True)], 0.99)
    assert low is not None
    assert low > 0.0
