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
from growsim.study.crew.search import MANY
from growsim.study.crew.years import Years
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
    options: dict[str, object] = {"goals": GOALS, "replications": 20, "seed": 3, **other}
    return crew(room, plan=RunPlan(crew_fakes.DAYS), work=crew_fakes.lived, workers=workers, **options)  # type: ignore[arg-type]


def true_year(study: CrewStudy, less: tuple[int, ...] = (0, 0)) -> float:
    """Share on time over the year by the known rule, with so many people less on each shift (never below one)."""
    weeks = sum(len(each.season.weeks) for each in study.seasons)
    return sum(
        crew_fakes.true_on_time(tuple(max(1, n - m) for n, m in zip(each.sign_up, less, strict=True)), each.chance)
        * len(each.season.weeks) / weeks
        for each in study.seasons
    )  # fmt: skip


def test_the_answer_is_enough_and_nobody_could_be_spared(study: CrewStudy) -> None:
    """By the known rule: above the goal, and with one person less on any shift no longer above what is aimed at."""
    assert study.end == "proven"
    assert true_year(study) > GOALS[ON_TIME]
    assert true_year(study, (1, 0)) < GOALS[ON_TIME] + study.aim + 0.005
    assert true_year(study, (0, 1)) < GOALS[ON_TIME] + study.aim + 0.005


def test_another_seed_finds_as_many_people(study: CrewStudy, room: LoadedRoom) -> None:
    """Month by month to within two people."""
    for seed in (4, 5):
        other = asked(room, seed=seed)
        for month in range(12):
            here, there = (sum(each.people(shift)[month] for shift in range(2)) for each in (study, other))
            assert abs(here - there) <= 2


def test_months_that_are_hard_to_fill_ask_for_fewer(study: CrewStudy, room: LoadedRoom) -> None:
    """Where June costs four times the trouble, fewer are asked for then, and more elsewhere."""
    effort = tuple(4.0 if month == 5 else 1.0 for month in range(12))
    crew_of_it = room.scenario.crew.model_copy(update={"recruiting_effort": effort})
    spared = asked(replace(room, scenario=room.scenario.model_copy(update={"crew": crew_of_it})))

    def june(found: CrewStudy) -> int:
        return sum(found.people(shift)[5] for shift in range(2))

    assert june(spared) < june(study)
    assert max(sum(each.sign_up) for each in spared.seasons) >= max(sum(each.sign_up) for each in study.seasons)


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
    assert numbers[0] >= MANY
    assert len(numbers) >= 20


def test_one_person_less_costs_what_the_rule_says(study: CrewStudy) -> None:
    """The known loss, season by season in proportion to its weeks, lies within the range found."""
    for number, less in enumerate(study.one_less):
        loss = true_year(study, (int(number == 0), int(number == 1))) - true_year(study)
        found = less.differences[ON_TIME]

        assert found.mean == pytest.approx(loss, abs=0.004)  # chance differs a little between the months of a season


def test_crews_are_shown_from_the_fewest_to_ample_hands(study: CrewStudy) -> None:
    """Larger crews do more on time in this room, and the ladder ends with as many people as fit."""
    shares = [rung.on_time for rung in study.rungs]

    assert len(shares) >= 4
    assert shares == sorted(shares)  # type: ignore[type-var]
    assert [name for name, _ in study.named_rungs()][-3:] == ["as many as fit", "today", "the answer"]


def test_two_workers_find_the_same_to_the_last_bit(study: CrewStudy, room: LoadedRoom) -> None:
    """Workers change the time it takes, never the numbers."""
    assert asked(room, workers=2) == study


def test_higher_goals_take_no_fewer_people(study: CrewStudy, room: LoadedRoom) -> None:
    """Asking for more never yields a smaller sign-up."""
    more = asked(room, goals={ON_TIME: 0.84, ORDERS: 0.6})
    places = sum(sum(each.sign_up) for each in study.seasons)

    assert sum(sum(each.sign_up) for each in more.seasons) > places


def test_a_goal_no_crew_reaches_is_said_to_be_so(room: LoadedRoom) -> None:
    """No crew that fits does everything on time: what an ample crew reaches is asked for, less the margin."""
    found = asked(room, goals={ON_TIME: 0.999, ORDERS: 0.6})

    assert found.targets[ON_TIME].out_of_reach
    assert found.targets[ON_TIME].below_ample == found.margin
    assert found.end == "proven"


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
        ({"aim": 0.0}, "aim: 0 is not possible"),
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
