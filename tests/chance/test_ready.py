"""A figure made ready to be drawn often gives what `draw` gives, bit for bit."""

from __future__ import annotations

from typing import Any

import pytest

from growsim.chance.draws import draw, ready
from growsim.chance.streams import Luck
from growsim.scenario.uncertain import Uncertain

FIGURES: list[dict[str, Any]] = [
    {"value": 3.5},
    {"low": 0.3, "likely": 0.45, "high": 0.7},
    {"low": 1, "likely": 1, "high": 4},
    {"low": 1, "likely": 4, "high": 4},
    {"low": 2, "likely": 2, "high": 2},
    {"low": 0, "likely": 5, "high": 6, "at_least": 2, "at_most": 5},
    {"distribution": "uniform", "low": 1, "high": 2},
    {"distribution": "normal", "mean": 4, "sd": 1, "at_least": 3},
    {"distribution": "lognormal", "mean": 4, "sd": 3},
    {"distribution": "exponential", "mean": 4},
    {"distribution": "weibull", "mean": 700, "shape": 1.3},
    {"distribution": "beta", "mean": 0.8, "sd": 0.1},
]


@pytest.mark.parametrize("said", FIGURES, ids=str)
def test_ready_draws_the_same(said: dict[str, Any]) -> None:
    """From the same stream, two hundred values one after the other, with as many uniforms used."""
    figure = Uncertain.model_validate(said)
    one, other = Luck(3, 1).stream("minutes"), Luck(3, 1).stream("minutes")
    drawn = ready(figure)

    assert [drawn(one) for _ in range(200)] == [draw(figure, other) for _ in range(200)]
    assert one.random() == other.random()
