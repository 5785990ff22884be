"""A batch is a map over keys: who does the work, and how many they are, changes nothing."""

from __future__ import annotations

import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from types import ModuleType

import pytest
from batches import run_batch, run_many

from growsim.errors import InputError, Interrupted
from growsim.run.rehearsers import Rehearsers, workers_kept


def test_two_workers_give_what_one_gives_byte_for_byte(fakes: ModuleType) -> None:
    """The number of workers cannot be seen in the results."""
    alone = run_batch(fakes.prepared(), 20, range(23), fakes.PLAN, work=fakes.lucky)
    together = run_batch(fakes.prepared(), 20, range(23), fakes.PLAN, workers=2, work=fakes.lucky)

    assert repr(together).encode() == repr(alone).encode()
    assert len(alone) == 23


def test_two_workers_are_other_processes_than_this(fakes: ModuleType) -> None:
    """With two workers, nothing is rehearsed in the calling process; with one, everything is."""
    together = run_batch(fakes.prepared(), 20, range(4), fakes.PLAN, workers=2, work=fakes.where)
    alone = run_batch(fakes.prepared(), 20, range(4), fakes.PLAN, work=fakes.where)

    assert os.getpid() not in {outcome.measures["process"] for outcome in together}
    assert {os.getpid()} == {outcome.measures["process"] for outcome in alone}


def test_a_worker_loads_nothing_heavy(fakes: ModuleType) -> None:
    """Worker processes start without pandas, matplotlib and scipy."""
    together = run_batch(fakes.prepared(), 20, range(4), fakes.PLAN, workers=2, work=fakes.where)

    assert {(0.0,)} == {outcome.weeks["heavy"] for outcome in together}


@pytest.mark.parametrize("order", [[5, 0, 3, 11, 2], [2, 11, 3, 0, 5]])
def test_order_asked_for_does_not_matter(fakes: ModuleType, order: list[int]) -> None:
    """Outcomes come sorted by replication and each is what it would be alone."""
    found = run_batch(fakes.prepared(), 20, order, fakes.PLAN, work=fakes.lucky)

    assert [outcome.replication for outcome in found] == [0, 2, 3, 5, 11]
    assert fakes.lucky(fakes.prepared(), 20, 11, fakes.PLAN) == found[-1]


def test_any_executor_can_be_lent_and_stays_open(fakes: ModuleType) -> None:
    """Threads, or a cluster's scheduler, do as well as our own processes; they are not shut down."""
    alone = run_batch(fakes.prepared(), 20, range(30), fakes.PLAN, work=fakes.lucky)
    with ThreadPoolExecutor(3) as lent:
        found = run_batch(fakes.prepared(), 20, range(30), fakes.PLAN, executor=lent, work=fakes.lucky)

        assert alone == found
        assert lent.submit(lambda: "still open").result() == "still open"


def test_alternatives_share_one_pool_over_several_calls(fakes: ModuleType) -> None:
    """A study keeps its workers: the second call runs in the same two processes."""
    rooms = {"today": fakes.prepared("today"), "one more rack": fakes.prepared("one more rack")}
    with Rehearsers(2, work=fakes.where) as rehearsers:
        first = rehearsers.run(rooms, 20, range(8), fakes.PLAN)
        second = rehearsers.run({"a third": fakes.prepared("a third")}, 20, range(8), fakes.PLAN)

    processes = {outcome.measures["process"] for found in (*first.values(), *second.values()) for outcome in found}
    assert len(processes) <= 2


def test_workers_go_on_from_study_to_study(fakes: ModuleType) -> None:
    """Within the block two studies have the same two processes; once it has ended, they are gone."""
    found: set[float] = set()
    with workers_kept():
        for _ in range(2):
            with Rehearsers(2, work=fakes.where) as rehearsers:
                years = rehearsers.run({"": fakes.prepared()}, 20, range(8), fakes.PLAN)[""]
            found |= {year.measures["process"] for year in years}
            assert multiprocessing.active_children()

    assert len(found) <= 2
    assert not multiprocessing.active_children()


def test_each_alternative_gets_its_own_room(fakes: ModuleType) -> None:
    """Rooms are not mixed up on their way to the workers."""
    rooms = {"a": fakes.prepared("x"), "b": fakes.prepared("xxxx")}
    found = run_many(rooms, 20, range(6), fakes.PLAN, workers=2, work=fakes.lucky)

    assert {name: run_batch(room, 20, range(6), fakes.PLAN, work=fakes.lucky) for name, room in rooms.items()} == found


@pytest.mark.parametrize("workers", [1, 2])
def test_progress_counts_up_to_all(fakes: ModuleType, workers: int) -> None:
    """Progress is told in the caller's thread, never backwards, and ends at the total of all alternatives."""
    told: list[tuple[int, int]] = []
    rooms = {"a": fakes.prepared("a"), "b": fakes.prepared("b")}
    run_many(
        rooms,
        20,
        range(12),
        fakes.PLAN,
        workers=workers,
        progress=lambda done, total: told.append((done, total)),
        work=fakes.lucky,
    )

    assert sorted(told) == told
    assert told[-1] == (24, 24)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_failure_names_its_replication(fakes: ModuleType, workers: int) -> None:
    """What went wrong comes through, with the seed and replication that replay it."""
    with pytest.raises(RuntimeError, match="the pump fell over") as caught:
        run_batch(fakes.prepared(), 20, range(12), fakes.PLAN, workers=workers, work=fakes.broken)

    assert caught.value.__notes__ == ["This happened in replication 7 with seed 20."]


def test_a_worker_that_dies_is_done_without(fakes: ModuleType, tmp_path: Path) -> None:
    """A process ended by the system while years are on their way: others live them, and no number differs."""
    once = fakes.prepared(str(tmp_path))
    with Rehearsers(2, work=fakes.dies_once) as rehearsers:
        lived = rehearsers.run({"": once}, 20, range(40), fakes.PLAN)[""]

    assert (tmp_path / "died").exists()
    assert lived == [fakes.lucky(once, 20, i, fakes.PLAN) for i in range(40)]


def test_workers_that_all_die_are_told_in_a_sentence(fakes: ModuleType) -> None:
    """No endless trying: the years themselves are too much for this computer; nobody's fault is said."""
    with (
        Rehearsers(2, work=fakes.deadly) as rehearsers,
        pytest.raises(InputError, match=r"lack of memory\. Close other"),
    ):
        rehearsers.run({"": fakes.prepared()}, 20, range(4), fakes.PLAN)


def test_a_lent_pool_that_dies_is_its_owners(fakes: ModuleType) -> None:
    """Who lent it hears of it."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=context) as pool, pytest.raises(BrokenProcessPool):
        Rehearsers(executor=pool, work=fakes.deadly).run({"": fakes.prepared()}, 20, range(4), fakes.PLAN)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_callback_can_stop_the_batch(fakes: ModuleType, workers: int) -> None:
    """The page's stop button: an exception of the progress callback ends the batch and comes through."""

    def stop(done: int, total: int) -> None:
        raise Interrupted("stop was pressed")

    with pytest.raises(Interrupted, match="stop was pressed"):
        run_batch(fakes.prepared(), 20, range(50), fakes.PLAN, workers=workers, progress=stop, work=fakes.lucky)


def test_ctrl_c_in_this_process_is_told_as_interrupted(fakes: ModuleType) -> None:
    """With one worker too, Ctrl-C arrives as our own exception."""

    def ctrl_c(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(Interrupted, match="nothing was kept"):
        run_batch(fakes.prepared(), 20, range(50), fakes.PLAN, progress=ctrl_c, work=fakes.lucky)


@pytest.mark.parametrize("replications", [[1, 1], [-1, 0]])
def test_impossible_replications_are_refused(fakes: ModuleType, replications: list[int]) -> None:
    """Numbers given twice or below 0 are a mistake of the program."""
    with pytest.raises(ValueError, match="different whole numbers from 0"):
        run_batch(fakes.prepared(), 20, replications, fakes.PLAN, work=fakes.lucky)


def test_no_workers_is_refused_in_a_sentence() -> None:
    """What the user typed is said back, with what would be right."""
    with pytest.raises(InputError, match=r"workers: 0 is not possible; give 1 or more\."):
        Rehearsers(0)


def test_nothing_to_rehearse_is_nothing(fakes: ModuleType) -> None:
    """No replications, no outcomes, no waiting."""
    assert run_batch(fakes.prepared(), 20, [], fakes.PLAN, workers=2, work=fakes.lucky) == []
