"""A whole rehearsal of a real (tiny, invented) room: pure, repeatable, the same on any number of workers."""

from __future__ import annotations

import pickle
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from batches import run_batch

from growsim.errors import InputError
from growsim.ledger.measures import measure
from growsim.ledger.outcome import Outcome
from growsim.run import warmup
from growsim.run.precision import HEADLINE
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearse import Rehearsal, rehearse
from growsim.run.replicate import ON_PAPER, replicate, replicate_on_paper, trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.losses import FATES

PLAN = RunPlan(days=56, warm_up_days=56)


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """The tiny room that comes with the tool."""
    return load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario


@pytest.fixture(scope="module")
def room(scenario: Scenario) -> Prepared:
    """The tiny room, prepared."""
    return prepare(scenario)


@pytest.fixture(scope="module")
def rehearsal(scenario: Scenario) -> Rehearsal:
    """A rehearsal of twelve possible spells of eight weeks."""
    return rehearse(scenario, seed=20, replications=12, plan=PLAN)


def test_a_replication_is_the_same_whenever_it_is_lived(room: Prepared) -> None:
    """Alone, again, and in the middle of a batch: seed and number are the whole key."""
    alone = replicate(room, 20, 3, PLAN)

    assert replicate(room, 20, 3, PLAN) == alone
    assert run_batch(room, 20, range(5), PLAN)[3] == alone


def test_replications_differ_and_so_do_seeds(room: Prepared) -> None:
    """Luck is not the same luck over again."""
    years = [replicate(room, seed, i, PLAN).weeks for seed, i in ((20, 0), (20, 1), (21, 0))]

    assert years[0] != years[1]
    assert years[0] != years[2]
    assert years[1] != years[2]


def test_workers_cannot_be_seen_in_the_results(room: Prepared) -> None:
    """Here, in two processes and in threads: byte for byte the same."""
    here = run_batch(room, 20, range(6), PLAN)
    with ThreadPoolExecutor(2) as lent:
        threads = run_batch(room, 20, range(6), PLAN, executor=lent)

    assert repr(run_batch(room, 20, range(6), PLAN, workers=2)).encode() == repr(here).encode()
    assert repr(threads).encode() == repr(here).encode()


def test_a_run_changes_nothing_it_was_given(scenario: Scenario) -> None:
    """The prepared room is the same value after a replication as before."""
    room = prepare(scenario)
    before = pickle.dumps(room)
    replicate(room, 20, 0, PLAN)

    assert pickle.dumps(room) == before


def test_a_prepared_room_travels_whole(room: Prepared) -> None:
    """Packed and unpacked, it gives the same year."""
    assert replicate(pickle.loads(pickle.dumps(room)), 20, 1, PLAN) == replicate(room, 20, 1, PLAN)


def test_the_log_book_is_of_the_year_that_was_measured(room: Prepared) -> None:
    """The replayed book gives the figures of the batch, so a surprising year can be looked into."""
    assert measure(trace(room, 20, 2, PLAN), room.scenario, PLAN, replication=2) == replicate(room, 20, 2, PLAN)


def test_the_plan_on_paper_has_no_luck(room: Prepared) -> None:
    """It is always the same, and marked by a number that no rehearsed year has."""
    assert replicate_on_paper(room, PLAN) == replicate_on_paper(room, PLAN)
    assert replicate_on_paper(room, PLAN).replication == ON_PAPER


def test_a_negative_replication_is_refused(room: Prepared) -> None:
    """Numbers below 0 are not years."""
    with pytest.raises(ValueError, match="numbered from 0, not -1"):
        replicate(room, 20, -1, PLAN)


def test_a_rehearsal_is_complete(rehearsal: Rehearsal) -> None:
    """Every year in order, every figure that exists, the paper plan, and a word on the warm-up."""
    assert [outcome.replication for outcome in rehearsal.outcomes] == list(range(12))
    assert rehearsal.estimates[HEADLINE].n == 12
    assert rehearsal.estimates[HEADLINE].of == "one week"
    assert rehearsal.on_paper.replication == ON_PAPER
    assert rehearsal.warm_up.sentence
    assert rehearsal.precision is None
    assert rehearsal.seconds > 0


def test_every_seed_has_one_fate(rehearsal: Rehearsal) -> None:
    """Seeds sown = the sum of every fate and of what still grows, exactly, in every replication."""
    known = {fate.key for fate in FATES}

    assert {fate for outcome in rehearsal.outcomes for _, fate in outcome.fates} <= known
    assert [sum(outcome.fates.values()) for outcome in rehearsal.outcomes] == [
        outcome.measures["seeds_sown"] for outcome in rehearsal.outcomes
    ]


def test_a_rehearsal_repeats(scenario: Scenario, rehearsal: Rehearsal) -> None:
    """The same seed and room give the same rehearsal with two workers; only the stopwatch differs."""
    again = rehearse(scenario, seed=20, replications=12, plan=PLAN, workers=2)

    assert repr(replace(again, seconds=0.0)) == repr(replace(rehearsal, seconds=0.0))


def test_more_years_keep_the_first_ones(scenario: Scenario, rehearsal: Rehearsal) -> None:
    """Going on adds years; it does not change those already lived."""
    fewer = rehearse(scenario, seed=20, replications=3, plan=PLAN)

    assert fewer.outcomes == rehearsal.outcomes[:3]


def test_precision_goes_on_until_it_is_reached(scenario: Scenario) -> None:
    """Asked for 12 percent, the headline's range ends within that, or the most years allowed are done."""
    found = rehearse(scenario, seed=20, precision_percent=12.0, replications=60, plan=replace(PLAN, start="empty"))

    assert found.precision is not None
    assert found.precision.reached
    assert found.precision.replications == len(found.outcomes) >= 10


def test_progress_counts_the_warm_up_check_too(scenario: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bar does not stand at its end while there is work left: nine years and eight lives from the bare room."""
    monkeypatch.setattr(warmup, "more_would_tell", lambda plan, outcomes: False)
    told: list[tuple[int, int]] = []
    rehearse(scenario, seed=21, replications=9, plan=PLAN, progress=lambda done, total: told.append((done, total)))

    assert told == [(done, 17) for done in range(1, 18)]


def test_more_lives_are_lived_where_eight_cannot_tell(scenario: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight, then sixteen, then 32, but no more than the years asked for; the bar goes on with them."""
    seen: list[int] = []

    def always(plan: RunPlan, outcomes: Sequence[Outcome]) -> bool:
        seen.append(len(outcomes))
        return True

    monkeypatch.setattr(warmup, "more_would_tell", always)
    told: list[tuple[int, int]] = []
    rehearse(scenario, seed=21, replications=17, plan=PLAN, progress=lambda done, total: told.append((done, total)))

    assert seen == [8]
    assert told[-1] == (17 + 16, 17 + 16)


def test_the_room_files_own_number_of_years_is_used(scenario: Scenario) -> None:
    """Without a number on the command line, the room file's stands."""
    few = scenario.model_copy(update={"rehearsal": scenario.rehearsal.model_copy(update={"replications": 2})})

    assert len(rehearse(few, seed=20, plan=RunPlan(days=28, start="empty")).outcomes) == 2


def test_no_years_are_refused(scenario: Scenario) -> None:
    """What was asked is said back, with what would be right."""
    with pytest.raises(InputError, match="replications: 0 is not possible; give 1 or more"):
        rehearse(scenario, seed=20, replications=0, plan=PLAN)


def test_a_crop_that_cannot_be_is_the_users_to_mend(scenario: Scenario) -> None:
    """A typical mass no growth can reach is refused in a sentence that names the crop, not with a traceback."""
    crop = scenario.crops[0]
    giant = crop.model_copy(update={"typical_mass_g": type(crop.typical_mass_g)(distribution="fixed", value=5000.0)})

    with pytest.raises(InputError, match=crop.name):
        prepare(scenario.model_copy(update={"crops": (giant, *scenario.crops[1:])}))


def test_closed_days_do_not_look_like_a_room_that_has_not_settled(scenario: Scenario) -> None:
    """They come on their dates and not a year later: the warm-up is judged in a room that is always open."""
    start = scenario.room.start_date
    fortnight = tuple(start + timedelta(days=day) for day in range(70, 84))
    shut = scenario.model_copy(update={"room": scenario.room.model_copy(update={"closed_days": fortnight})})
    always = scenario.model_copy(update={"room": scenario.room.model_copy(update={"closed_days": ()})})
    plan = RunPlan(days=84, warm_up_days=56)

    one, other = (rehearse(room, seed=5, replications=1, plan=plan) for room in (shut, always))

    assert one.warm_up == other.warm_up
    assert one.outcomes != other.outcomes
