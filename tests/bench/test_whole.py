"""How long the whole takes: a room-year, a batch, starting up. See conftest.py for how to run these."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import simpy
from reference.plain_room.room import live_through

from growsim.ledger.measures import measure
from growsim.run.drawer import Drawer, packed
from growsim.run.intervals import summarize
from growsim.run.known_luck import known_luck
from growsim.run.prepare import Prepared
from growsim.run.rehearsers import Gathered, Rehearsers, unseen
from growsim.run.replicate import replicate, trace
from growsim.scenario.plan import RunPlan

ROOT = Path(__file__).parents[2]
YEAR = RunPlan(364)
BATCH = range(40)

pytestmark = [pytest.mark.slow, pytest.mark.bench]
CPU = time.process_time  # what others do on this machine meanwhile does not count
A_YEAR_ALONE = """
import sys, time, tomllib
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
room, plan, took = prepare(scenario_from(tomllib.load(open(sys.argv[1], "rb")), sys.argv[1])[0]), RunPlan(364), []
for _ in range(6):
    began = time.process_time()
    replicate(room, 1, 0, plan)
    took.append(time.process_time() - began)
print(min(took))
"""


@pytest.mark.benchmark(group="room-year", timer=CPU)
def test_a_year(timed: Callable[..., Any], twelve_racks: Prepared) -> None:
    """A year of twelve racks, and not measured."""
    assert len(timed("a year", lambda: trace(twelve_racks, 1, 0, YEAR), rounds=8).records) > 1000


@pytest.mark.benchmark(group="room-year", timer=CPU)
def test_measure_a_year(timed: Callable[..., Any], twelve_racks: Prepared) -> None:
    """Its figures from its log book."""
    book = trace(twelve_racks, 1, 0, YEAR)
    outcome = timed("measure a year", lambda: measure(book, twelve_racks.scenario, YEAR, replication=0), rounds=8)

    assert outcome.measures["plants_harvested_per_week"] > 0


@pytest.mark.benchmark(group="room-year", timer=CPU)
def test_take_in_a_year(timed: Callable[..., Any], twelve_racks: Prepared, tmp_path: Path) -> None:
    """What whoever asks does with a finished year from a worker: unpack it, tell how far it is, keep it in a drawer."""
    year = packed(replicate(twelve_racks, 1, 0, YEAR))
    drawer = Drawer(tmp_path)

    def take_in() -> int:
        lived = Gathered({"": [0]}, lambda done, total: None, unseen)
        lived.take_from(drawer, {"": "mark"})
        lived.receive_packed("", [0], [year])
        return len(lived.in_order()[""])

    assert timed("take in a year", take_in, rounds=5, iterations=20) == 1
    drawer.lay_in()


@pytest.mark.benchmark(group="room-year", timer=CPU)
def test_bare_timeouts(timed: Callable[..., Any], twelve_racks: Prepared) -> None:
    """SimPy by itself: as many timeouts, in one process, as that year has records in its book."""
    events = len(trace(twelve_racks, 1, 0, YEAR).records)

    def run() -> float:
        environment = simpy.Environment()

        def tick() -> Iterator[simpy.Event]:
            for _ in range(events):
                yield environment.timeout(1)

        environment.process(tick())
        environment.run()
        return float(environment.now)

    assert timed("bare timeouts of a year", run, rounds=8) == events


@pytest.mark.benchmark(group="room-year", timer=CPU)
@pytest.mark.parametrize("model", ["ours", "a process a plant"])
def test_two_models(timed: Callable[..., Any], cut_once: Prepared, model: str) -> None:
    """A year of both models of one room (crops harvested once); the second has a process for every plant and flood."""
    room = cut_once
    if model == "ours":
        assert len(timed("a year, crops harvested once", lambda: trace(room, 1, 0, YEAR), rounds=8).records) > 100
    else:
        counts = timed("a year, a process a plant", lambda: live_through(room.scenario, room.curves, YEAR, 1), rounds=2)
        assert counts["seeds_sown"] > 0


def test_machine_code(note: Callable[[str], None]) -> None:
    """A year in Python against one in machine code: GROWSIM_COMPILED names a folder that holds growsim compiled."""
    compiled = os.environ.get("GROWSIM_COMPILED")
    if not compiled:
        pytest.skip("GROWSIM_COMPILED names no folder")
    seconds: dict[str, list[float]] = {str(ROOT): [], compiled: []}
    for _ in range(4):  # in turns, so that both meet the same weather
        for growsim, took in seconds.items():
            environment = {**os.environ, "PYTHONPATH": os.pathsep.join([growsim, *sys.path])}
            words = [sys.executable, "-P", "-c", A_YEAR_ALONE, str(ROOT / "tests" / "bench" / "twelve_racks.toml")]
            done = subprocess.run(words, env=environment, capture_output=True, text=True, check=True)
            took.append(float(done.stdout))
    python, machine_code = (min(took) for took in seconds.values())
    note(f"{python / machine_code:8.2f}  a year, lived through and measured, in Python against machine code")

    assert python > machine_code


@pytest.mark.benchmark(group="batch")
@pytest.mark.parametrize("workers", [1, 2])
def test_a_batch(timed: Callable[..., Any], twelve_racks: Prepared, workers: int) -> None:
    """Forty years of twelve racks by workers that are at work already."""
    rooms = {"": twelve_racks}
    with Rehearsers(workers) as rehearsers:
        rehearsers.run(rooms, 1, range(8), YEAR)
        name = f"batch, {workers} worker{'s' if workers > 1 else ''}"
        found = timed(name, lambda: rehearsers.run(rooms, 1, BATCH, YEAR)[""], rounds=2)

    assert len(found) == len(BATCH)


@pytest.mark.benchmark(group="batch")
def test_known_luck_saves_years(timed: Callable[..., Any], millrace: Prepared, note: Callable[[str], None]) -> None:
    """Sixty years of the demo room: how many plain years each is worth, and what finding that out costs."""
    plan = RunPlan(millrace.scenario.rehearsal.days, millrace.scenario.rehearsal.warm_up_days)
    with Rehearsers(2) as rehearsers:
        outcomes = rehearsers.run({"": millrace}, 1, range(60), plan)[""]

    def estimate() -> Any:
        return summarize(outcomes, known_luck(millrace.scenario, 1, plan, outcomes))

    found = timed("60 years of the demo room summed up", estimate, rounds=3)
    for key in ("kg_handed_out_per_week", "orders_filled_fraction", "tasks_on_time_fraction", "cost_per_kg"):
        note(f"{found[key].worth:8.2f}  plain years a year is worth, known luck taken out: {key}")
    assert found["kg_handed_out_per_week"].worth > 1.5


@pytest.mark.benchmark(group="start-up")
@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("growsim --help", ["-m", "growsim", "--help"]),
        ("growsim check, the demo room", ["-m", "growsim", "check", str(ROOT / "scenarios" / "millrace")]),
        ("a worker's imports", ["-c", "import growsim.run.worker, growsim.run.replicate"]),
        ("Python alone", ["-c", "pass"]),
    ],
    ids=["help", "check", "worker", "python"],
)
def test_start_up(timed: Callable[..., Any], name: str, words: list[str]) -> None:
    """From the shell to the prompt again."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}

    def run() -> int:
        return subprocess.run([sys.executable, *words], env=environment, capture_output=True, check=True).returncode

    assert timed(name, run, rounds=5) == 0
