"""The answer rehearsed again: proven, topped up where it falls short, or as good as ample hands."""

from __future__ import annotations

from collections.abc import Iterator

import crew_fakes
import pytest

from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.plan import RunPlan
from growsim.study.crew.goals import ON_TIME, Target
from growsim.study.crew.proof import ATTEMPTS, MOST_ADDED, Proof, months_before, prove, topped_up, tried_whole
from growsim.study.crew.rounds import Ample, Years, above, search_together
from growsim.study.crew.search import Trials, exactly
from growsim.study.crew.surface import Shape, Surfaces
from growsim.study.crew.trial import Rule
from growsim.study.rota import Rota, Season

AMPLE = (7, 7)
YEAR = (Season(tuple(range(12)), tuple(range(26))),)
RULE = Rule(0.02, 0.01, 16, 8, 40)


@pytest.fixture
def years() -> Iterator[Years]:
    """The room whose truth is known; no curve is needed in it."""
    room = Prepared(crew_fakes.tiny().scenario, None)  # type: ignore[arg-type]
    with Rehearsers(work=crew_fakes.lived) as rehearsers:
        yield Years(rehearsers, room, 5, RunPlan(crew_fakes.DAYS), YEAR, SharedProgress(None, 0))


def wanting(goal: float, below_ample: float | None = None) -> list[dict[str, Target]]:
    """A single season that wants so much on time."""
    return [{ON_TIME: Target(ON_TIME, goal, 0.9, 0.91, below_ample)}]


def proven(years: Years, rota: Rota, targets: list[dict[str, Target]]) -> Proof:
    """Prove it, with what a search would hand on."""
    trials = [Trials(RULE, AMPLE)]
    surfaces = Surfaces([Shape((3, 3), 0.84, {ON_TIME: 0.95 - targets[0][ON_TIME].asked})], [trials[0].known])
    return prove(
        rota, years, Ample(years, (AMPLE,)), targets, trials, surfaces, replications=12, zone=0.02, margin=0.03,
        doubt=0.05,
    )  # fmt: skip


def test_what_is_enough_is_proven_at_once(years: Years) -> None:
    """Six and two do 83 % on time where 80 is asked for."""
    proof = proven(years, ((6, 2),), wanting(0.8))

    assert (proof.rota, proof.ends) == (((6, 2),), ("proven",))
    assert len(proof.outcomes) == years.rehearsed


def test_what_falls_short_is_topped_up(years: Years) -> None:
    """Four and two fall short by two points; people are added until it is enough, and each attempt has fresh years."""
    proof = proven(years, ((4, 2),), wanting(0.8))

    assert proof.ends == ("proven",)
    assert sum(proof.rota[0]) > 6
    assert crew_fakes.true_on_time(proof.rota[0], 0.84) > 0.8
    assert proof.outcomes[0].replication > 0


def test_what_is_far_too_small_is_not_proven(years: Years, monkeypatch: pytest.MonkeyPatch) -> None:
    """With one person more at each attempt, after the last one the answer says so."""
    monkeypatch.setattr("growsim.study.crew.proof.MOST_ADDED", 1)
    proof = proven(years, ((1, 1),), wanting(0.9))

    assert proof.ends == ("short",)
    assert sum(proof.rota[0]) == 2 + ATTEMPTS - 1


def test_where_ample_hands_do_no_better_nobody_is_added(years: Years) -> None:
    """A goal that no crew reaches, asked for as it stands: the crew is within the margin of ample hands."""
    proof = proven(years, ((7, 6),), wanting(0.999))

    assert (proof.rota, proof.ends) == (((7, 6),), ("as ample",))


def test_a_target_that_hangs_on_ample_hands_is_proven_beside_them(years: Years) -> None:
    """Ample hands live through the same fresh years."""
    proof = proven(years, ((7, 6),), wanting(0.999, below_ample=0.04))

    assert proof.ends == ("proven",)
    assert years.rehearsed == 2 * len(proof.outcomes)


def test_people_are_added_where_they_help_until_it_should_be_enough() -> None:
    """A curve that rises by two points a person on the second shift and one on the first."""

    def curve(sign_up: tuple[int, ...]) -> float:
        return 0.01 * sign_up[0] + 0.02 * sign_up[1]

    assert topped_up((2, 2), AMPLE, curve, 0.03) == (2, 4)
    assert topped_up((2, 6), AMPLE, curve, 0.03) == (3, 7)
    assert topped_up((2, 2), AMPLE, curve, -1.0) == (2, 3)
    assert sum(topped_up((2, 2), AMPLE, curve, 1.0)) == 4 + MOST_ADDED
    assert topped_up(AMPLE, AMPLE, curve, 0.1) == AMPLE


def test_seasons_are_searched_in_the_same_years(years: Years) -> None:
    """Two seasons under trial at once cost hardly more years than the longer of the two alone."""
    halves = (Season((0, 1, 2), tuple(range(12))), Season(tuple(range(3, 12)), tuple(range(12, 26))))
    rungs = [(1, 1), (2, 1), (2, 2), (3, 2), (3, 3), (4, 3), (5, 3), (6, 3), (7, 3), AMPLE]
    targets = [wanting(0.8)[0], wanting(0.7)[0]]

    def spent(seasons: tuple[Season, ...], wanted: list[dict[str, Target]]) -> tuple[int, tuple[tuple[int, ...], ...]]:
        years.seasons, years.rehearsed = seasons, 0
        trials = [Trials(RULE, AMPLE) for _ in seasons]
        ample = Ample(years, (AMPLE,) * len(seasons))
        found = search_together(years, ample, wanted, trials, [exactly(each, rungs, 3) for each in trials])
        return years.rehearsed, tuple(each.sign_up for each in found)

    together, both = spent(halves, targets)
    first, alone = spent(halves[:1], targets[:1])
    second, _ = spent(halves[1:], targets[1:])

    assert both[0] == alone[0]
    assert max(first, second) <= together < 0.8 * (first + second)


def test_distance_above_a_goal_is_told_year_by_year(years: Years) -> None:
    """Above the goal by the share on time less the goal, under the replication's own number."""
    ample = Ample(years, (AMPLE,))
    outcomes = years.live([((3, 2),)], [4, 9])[((3, 2),)]
    found = above(0, years, ample, wanting(0.7)[0], outcomes)

    assert list(found) == [4, 9]
    assert found[4][ON_TIME] == pytest.approx(outcomes[0].measures[ON_TIME] - 0.7)


def test_what_falls_short_is_topped_up_before_any_fresh_year(years: Years) -> None:
    """Three and two miss 80 % by far: tried whole, people are added, within the years of the search."""
    trials = [Trials(RULE, AMPLE)]
    surfaces = Surfaces([Shape((3, 3), 0.84, {ON_TIME: 0.15})], [trials[0].known])
    whole = tried_whole(((3, 2),), years, Ample(years, (AMPLE,)), wanting(0.8), trials, surfaces, zone=0.02)

    assert crew_fakes.true_on_time(whole[0], 0.84) > crew_fakes.true_on_time((3, 2), 0.84)
    assert max(year for trial in trials[0].known.values() for year in trial.seen) < RULE.first


def test_months_before_are_those_of_other_seasons() -> None:
    """June and January follow May and December; a season never comes before itself."""
    seasons = (Season((1, 2, 3, 4), ()), Season((0, 5), ()), Season((6, 7), ()), Season((11,), ()))

    assert months_before(seasons, [1]) == [0, 3]
    assert months_before(seasons, [2]) == [1]
