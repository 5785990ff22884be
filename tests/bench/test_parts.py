"""How long the parts take: draws, lots, floods, crew. See conftest.py for how to run these."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from small_rooms import lived, tables
from theory.textbook_rooms import mean_wait

from growsim.chance.streams import Luck
from growsim.ledger.events import Sown
from growsim.run.prepare import Prepared
from growsim.run.replicate import trace
from growsim.scenario.plan import RunPlan

pytestmark = [pytest.mark.slow, pytest.mark.bench]
CPU = time.process_time  # what others do on this machine meanwhile does not count


@pytest.mark.benchmark(group="draws", timer=CPU)
def test_open_a_stream(timed: Callable[..., Any]) -> None:
    """A named stream and its first four uniforms."""
    luck = Luck(7, 3)

    def draw() -> float:
        stream = luck.stream("lot.2031-01-06/basil")
        return stream.random() + stream.random() + stream.random() + stream.random()

    assert 0 < timed("open a stream, 4 uniforms", draw, rounds=20, iterations=2000) < 4


@pytest.mark.benchmark(group="draws", timer=CPU)
def test_open_a_numpy_generator(timed: Callable[..., Any]) -> None:
    """What the same would cost with numpy."""

    def draw() -> float:
        dice = np.random.default_rng(20310106)
        return dice.random() + dice.random() + dice.random() + dice.random()

    assert 0 < timed("open a numpy generator, 4 uniforms", draw, rounds=20, iterations=200) < 4


@pytest.mark.benchmark(group="draws", timer=CPU)
def test_open_a_generator_of_the_library(timed: Callable[..., Any]) -> None:
    """What the same would cost with Python's own generator."""

    def draw() -> float:
        dice = random.Random("7/3/lot.2031-01-06/basil")
        return dice.random() + dice.random() + dice.random() + dice.random()

    assert 0 < timed("open a random.Random, 4 uniforms", draw, rounds=20, iterations=500) < 4


@pytest.mark.benchmark(group="draws", timer=CPU)
def test_draw_a_binomial(timed: Callable[..., Any]) -> None:
    """Seedlings of a tray: a binomial by inversion."""
    stream = Luck(7, 3).stream("seedlings")

    assert 0 <= timed("a binomial of 72 seeds", lambda: stream.binomial(72, 0.86), rounds=20, iterations=500) <= 72


@pytest.mark.benchmark(group="lots", timer=CPU)
@pytest.mark.parametrize("lots", [1, 8])
def test_lots(timed: Callable[..., Any], lots: int) -> None:
    """Half a year of a room with no luck in it and so many lots a week."""
    raw = tables()
    line = raw["sowing"][0]
    raw["sowing"] = [{**line, "name": f"line {number}"} for number in range(lots)]
    book = timed(f"half a year, {lots} lots a week", lambda: lived(raw, 182), rounds=3)

    assert len({sown.lot for sown in book.of(Sown)}) > 0


@pytest.mark.benchmark(group="floods", timer=CPU)
@pytest.mark.parametrize("every", [False, True])
def test_floods(timed: Callable[..., Any], twelve_racks: Prepared, every: bool) -> None:
    """A year of twelve racks, floods on demand or each an event: the same log book."""
    plan = RunPlan(364, every_flood_an_event=every)
    name = "a year, every flood an event" if every else "a year, floods on demand"
    book = timed(name, lambda: trace(twelve_racks, 1, 0, plan), rounds=5)

    assert len(list(book.of(Sown))) > 100


@pytest.mark.benchmark(group="crew", timer=CPU)
def test_crew(timed: Callable[..., Any]) -> None:
    """Two thousand jobs for three pairs of hands, ninety per cent busy."""
    dice = np.random.default_rng(1)
    between, work = dice.exponential(1 / 2.7, 2000), dice.exponential(1.0, 2000)

    assert timed("2,000 jobs, three people", lambda: mean_wait(3, between, work, 100), rounds=5) > 0
