"""Figures with their doubt: what may be written, what they expect, how far they reach."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from growsim.scenario.uncertain import Uncertain, UncertainFraction, UncertainGrams, UncertainHours


class Sample(BaseModel):
    """A table with one of each."""

    share: UncertainFraction = Uncertain(value=0.5)
    grams: UncertainGrams = Uncertain(value=10.0)
    hours: UncertainHours = Uncertain(value=1.0)


@pytest.mark.parametrize(
    ("written", "expected", "limits"),
    [
        (0.9, 0.9, (0.9, 0.9)),
        (3, 3.0, (3.0, 3.0)),
        ({"value": 2}, 2.0, (2.0, 2.0)),
        ({"low": 1, "likely": 2, "high": 6}, 3.0, (1.0, 6.0)),
        ({"distribution": "uniform", "low": 1, "high": 2}, 1.5, (1.0, 2.0)),
        ({"distribution": "beta", "mean": 0.8, "sd": 0.1}, 0.8, (0.0, 1.0)),
        ({"distribution": "exponential", "mean": 7}, 7.0, (0.0, float("inf"))),
        ({"distribution": "normal", "mean": 5, "sd": 1, "at_least": 2}, 5.0, (2.0, float("inf"))),
    ],
)
def test_what_may_be_written(written: Any, expected: float, limits: tuple[float, float]) -> None:
    """Short forms and distributions; the mean of a triangle is a third of its corners' sum."""
    figure = Uncertain.model_validate(written)

    assert figure.expected() == pytest.approx(expected)
    assert figure.limits() == limits


def test_open_ends_are_cut_where_the_key_ends() -> None:
    """A normal share stays a share; a mass never falls to nothing."""
    sample = Sample.model_validate(
        {
            "share": {"distribution": "normal", "mean": 0.9, "sd": 0.2},
            "grams": {"distribution": "normal", "mean": 100, "sd": 60},
            "hours": {"distribution": "lognormal", "mean": 4, "sd": 6, "at_most": 72},
        }
    )

    assert sample.share.limits() == (0.0, 1.0)
    assert sample.grams.limits() == (1.0, 5000.0)
    assert sample.hours.limits() == (0.0, 72.0)


def test_reading_a_figure_again_changes_nothing() -> None:
    """What was harvested once stays as it is."""
    once = Sample.model_validate({"share": {"distribution": "normal", "mean": 0.9, "sd": 0.2}})

    assert Sample.model_validate(once.model_dump()) == once


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_a_range_is_taken_exactly_when_it_is_in_order(low: float, likely: float, high: float) -> None:
    """Low, likely, high: any three shares in order, and no others."""
    written = {"low": low, "likely": likely, "high": high}

    if low <= likely <= high:
        assert low - 1e-12 <= Uncertain.model_validate(written).expected() <= high + 1e-12  # thirds are rounded
    else:
        with pytest.raises(ValidationError):
            Uncertain.model_validate(written)
