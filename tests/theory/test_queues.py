"""People and slots against textbook queues: the room's crew, board and shelves, set up as the textbook's case.

Each test: 30 replications, the textbook's value inside their 99 % range, and that range sharp enough to fail. The
formulas are held to printed values in `test_formulas.py`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from checks_table import PublishedChecks
from theory import formulas
from theory.textbook_rooms import line_throughput, machines_down, mean_wait, share_blocked

from growsim.room.crew import Crew
from growsim.room.shelves import ShelfBook

REPLICATIONS = 30
WARMING_UP = 300  # jobs not counted while the queue fills


def replicated(measure: Callable[[np.random.Generator], float]) -> list[float]:
    """The measure under 30 different lucks."""
    return [measure(np.random.default_rng([2031, i])) for i in range(REPLICATIONS)]


@pytest.mark.parametrize(
    ("people", "arrival_rate", "jobs", "sharp", "source"),
    [
        (1, 0.75, 3000, 0.12, "Erlang C, load of Bronson 1982, prob. 23.16"),
        (2, 0.75, 1500, 0.12, "Erlang C, load of Georgia Tech ISyE 3044, homework 3"),
        (3, 300 / 182.5, 2500, 0.12, "Erlang C, load of Bronson 1982, prob. 24.6"),
    ],
)
def test_waits_for_a_free_person(
    published_check: PublishedChecks, people: int, arrival_rate: float, jobs: int, sharp: float, source: str
) -> None:
    """M/M/c: jobs of exponential length, posted at random, done by so many people first come first served."""

    def wait(luck: np.random.Generator) -> float:
        return mean_wait(people, luck.exponential(1 / arrival_rate, jobs), luck.exponential(1.0, jobs), WARMING_UP)

    published_check.simulated(
        f"wait for a free person, {people} there (M/M/{people})", source,
        formulas.mmc(arrival_rate, 1.0, people).wq, replicated(wait), "job lengths", checks=Crew, sharp=sharp,
    )  # fmt: skip


@pytest.mark.parametrize(("sd", "name"), [(0.75, "M/G/1"), (0.0, "M/D/1")])
def test_waits_where_jobs_are_more_regular(published_check: PublishedChecks, sd: float, name: str) -> None:
    """Pollaczek-Khinchine: one person, job lengths of mean 1 and sd 0.75 (gamma) or all the same."""
    jobs = 2500

    def wait(luck: np.random.Generator) -> float:
        work = luck.gamma(1 / sd**2, sd**2, jobs) if sd else np.ones(jobs)
        return mean_wait(1, luck.exponential(1 / 0.75, jobs), work, WARMING_UP)

    published_check.simulated(
        f"wait for a free person, {'even' if sd == 0 else 'uneven'} jobs ({name})",
        "Pollaczek-Khinchine, case of Anderson et al., prob. 29",
        formulas.mg1(0.75, 1.0, sd).wq, replicated(wait), "job lengths", checks=Crew, sharp=0.12,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("machines", "up", "repairers", "units", "source"),
    [
        (6, 10.0, 1, 1000, "finite-source formula, inputs of Anderson et al. p. 497"),
        (10, 86 / 14, 2, 600, "finite-source formula, inputs of a Stevenson exercise"),
    ],
)
def test_machines_that_wait_for_a_repairer(
    published_check: PublishedChecks, machines: int, up: float, repairers: int, units: float, source: str
) -> None:
    """Machine repair: so many machines run, break down and post a repair; so many people repair them."""
    published_check.simulated(
        f"machines down of {machines}, {repairers} repairing", source,
        formulas.machine_repair(machines, up, 1.0, repairers).l,
        replicated(lambda luck: machines_down(machines, up, 1.0, repairers, units, luck)), "machines",
        checks=Crew, sharp=0.05,
    )  # fmt: skip


@pytest.mark.parametrize(("stations", "pieces"), [(2, 400), (3, 400), (5, 200)])
def test_a_line_of_single_slots(published_check: PublishedChecks, stations: int, pieces: int) -> None:
    """Trays that must find the next slot before they leave the last: 2/3, 22/39, 0.4858 a job length.

    Blocking after service without buffers; Hunt 1956, *Operations Research* 4 (from memory), solved exactly as a chain.
    """
    published_check.simulated(
        f"trays a job length through {stations} single slots in a row",
        "exact Markov chain (Hunt's saturated line)",
        formulas.saturated_line(stations),
        replicated(lambda luck: line_throughput(stations, pieces, 50, luck)),
        checks=ShelfBook, sharp=0.03,
    )  # fmt: skip


@pytest.mark.parametrize("stay", ["exponential", "fixed"])
def test_requests_that_cannot_wait(published_check: PublishedChecks, stay: str) -> None:
    """Erlang B: five slots at 2.218 erlangs turn one request in twenty away, however the stays are spread."""

    def blocked(luck: np.random.Generator) -> float:
        stays = (lambda n: luck.exponential(1.0, n)) if stay == "exponential" else np.ones
        return share_blocked(5, 2.218, 5000, stays, luck)

    published_check.simulated(
        f"requests turned away by 5 full slots, {stay} stays", "Erlang B (table: 5 % at 2.2 erlangs)",
        formulas.erlang_b(2.218, 5), replicated(blocked), checks=ShelfBook, sharp=0.08,
    )  # fmt: skip
