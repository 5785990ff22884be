"""The answer rehearsed again: proven, given up, or as good as ample hands."""

from __future__ import annotations

from collections.abc import Iterator

import crew_fakes
import pytest

from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.plan import RunPlan
from growsim.study.crew.goals import ON_TIME, Target, above, whole_year
from growsim.study.crew.proof import Attempt, proof_rule
from growsim.study.crew.years import Years
from growsim.study.rota import Rota

AMPLE = ((7, 7),)
YEAR = whole_year(crew_fakes.DAYS)


@pytest.fixture
def years() -> Iterator[Years]:
    """The room whose truth is known."""
    room = Prepared(crew_fakes.tiny().scenario, None)  # type: ignore[arg-type]
    with Rehearsers(work=crew_fakes.lived) as rehearsers:
        yield Years(rehearsers, room, 5, RunPlan(crew_fakes.DAYS), (YEAR,), SharedProgress(None, 0))


def tried(years: Years, rota: Rota, goal: float, below_ample: float | None = None) -> Attempt:
    """Tested for so much in time, to its end."""
    targets = {ON_TIME: Target(ON_TIME, goal, 0.9, 0.91, below_ample)}
    attempt = Attempt(rota, years, YEAR, targets, AMPLE, proof_rule(0.05, 12), 100, 0.03)
    attempt.live()
    return attempt


def test_what_is_enough_is_proven_at_once(years: Years) -> None:
    """Six and two do 83 % on time where 80 is asked for; its years are its own."""
    attempt = tried(years, ((6, 2),), 0.8)

    assert attempt.end == "proven"
    assert [each.replication for each in attempt.outcomes] == list(range(100, 100 + years.rehearsed))


def test_what_falls_short_is_given_up_early(years: Years) -> None:
    """Two and two miss 80 % by far: seen before the first look; to the end it has as many years as were asked for."""
    attempt = tried(years, ((2, 2),), 0.8)
    early = len(attempt.outcomes)
    attempt.live(to_the_end=True)

    assert attempt.end == "short"
    assert early < 12 <= len(attempt.outcomes)


def test_where_ample_hands_do_no_better_it_is_as_good(years: Years) -> None:
    """A goal that no crew reaches, asked for as it stands: the crew is within the margin of ample hands."""
    assert tried(years, ((7, 6),), 0.999).end == "as ample"


def test_a_target_that_hangs_on_ample_hands_is_proven_beside_them(years: Years) -> None:
    """Ample hands live through the same fresh years."""
    attempt = tried(years, ((7, 6),), 0.999, below_ample=0.04)

    assert attempt.end == "proven"
    assert years.rehearsed == 2 * len(attempt.outcomes)


def test_distance_above_a_goal_is_told_year_by_year(years: Years) -> None:
    """Above the goal by the share on time less the goal, under the replication's own number."""
    outcomes = years.live([((3, 2),)], [4, 9])[((3, 2),)]
    found = above(YEAR, {ON_TIME: Target(ON_TIME, 0.7, 0.9, 0.91, None)}, outcomes, {})

    assert list(found) == [4, 9]
    assert found[4][ON_TIME] == pytest.approx(outcomes[0].measures[ON_TIME] - 0.7)


def test_a_short_proof_has_years_enough() -> None:
    """Five looks at a hundred and twenty years or three times as many as were asked for."""
    assert [(rule.first, rule.at_most, rule.looks) for rule in (proof_rule(0.05, 20), proof_rule(0.05, 60))] == [
        (20, 120, 5),
        (60, 180, 5),
    ]
