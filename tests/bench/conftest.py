"""Benchmarks and the ratios between them, printed at the end of one run.

    python -m pytest -m bench -p no:xdist tests/bench

A ratio compares what was timed in the same run, on the same machine, moments apart: it holds where seconds do not.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from growsim.run.prepare import Prepared, prepare
from growsim.scenario.load import load_scenario, scenario_from

HERE = Path(__file__).parent
SCENARIOS = HERE.parents[1] / "scenarios"
BEST = pytest.StashKey[dict[str, float]]()
NOTES = pytest.StashKey[list[str]]()

RATIOS = (  # what, of which two timings, and what is asked for
    (
        "room-years of the every-plant model in one of ours",
        "a year, a process a plant",
        "a year, crops harvested once",
        "goal: at least 100",
    ),
    (
        "every flood an event against floods on demand",
        "a year, every flood an event",
        "a year, floods on demand",
        "goal: at most 4",
    ),
    ("a year against as many bare SimPy timeouts as it has records", "a year", "bare timeouts of a year", ""),
    ("a batch with 1 worker against 2", "batch, 1 worker", "batch, 2 workers", "goal: at least 1.9"),
    (
        "numpy generator against one of our streams",
        "open a numpy generator, 4 uniforms",
        "open a stream, 4 uniforms",
        "",
    ),
    ("measuring a year against living through it", "measure a year", "a year", ""),
    (
        "taking in and keeping a year against living through it",
        "take in a year",
        "a year",
        "goal: at most 0.004",
    ),
)

Timed = Callable[..., Any]


def pytest_configure(config: pytest.Config) -> None:
    """Nothing timed yet."""
    config.stash[BEST], config.stash[NOTES] = {}, []


@pytest.fixture
def timed(benchmark: Any, request: pytest.FixtureRequest) -> Timed:
    """Time a call under a name: the best of so many rounds. Gives what the call gives."""

    def time_it(name: str, call: Callable[[], Any], rounds: int = 5, iterations: int = 1) -> Any:
        benchmark.name = name
        result = benchmark.pedantic(call, rounds=rounds, iterations=iterations, warmup_rounds=1)
        if benchmark.stats is not None:  # None where benchmarks are switched off
            request.config.stash[BEST][name] = benchmark.stats.stats.min
        return result

    return time_it


@pytest.fixture
def note(request: pytest.FixtureRequest) -> Callable[[str], None]:
    """Add a line to what is printed beside the ratios."""
    return request.config.stash[NOTES].append


@pytest.fixture(scope="session")
def twelve_racks() -> Prepared:
    """Twelve racks of five shelves, some 2,500 plants."""
    return prepare(scenario_from(_tables(), "twelve_racks.toml")[0])


@pytest.fixture(scope="session")
def cut_once() -> Prepared:
    """The same without second harvests, a thermostat and planned outages, which the every-plant model does not know."""
    raw = _tables()
    for crop in raw["crops"]:
        crop.pop("harvests", None)
    raw["climate"].pop("lights_off_above_c", None)
    raw.pop("outages", None)
    return prepare(scenario_from(raw, "twelve_racks.toml")[0])


@pytest.fixture(scope="session")
def tiny() -> Prepared:
    """The tiny room."""
    return prepare(load_scenario(SCENARIOS / "tiny").scenario)


@pytest.fixture(scope="session")
def millrace() -> Prepared:
    """The demo room."""
    return prepare(load_scenario(SCENARIOS / "millrace").scenario)


def _tables() -> dict[str, Any]:
    return tomllib.loads((HERE / "twelve_racks.toml").read_text("utf-8"))


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """The ratios."""
    best = config.stash[BEST]
    lines = [
        f"{best[one] / best[other]:8.2f}  {what}{f' ({asked})' if asked else ''}"
        for what, one, other, asked in RATIOS
        if one in best and other in best
    ]
    if lines or config.stash[NOTES]:
        terminalreporter.section("ratios, each of two timings of this run")
        for line in (*lines, *config.stash[NOTES]):
            terminalreporter.line(line)
