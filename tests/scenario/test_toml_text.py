"""TOML that growsim writes is read back as it was meant."""

from __future__ import annotations

import datetime as dt
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.scenario.toml.text import toml_text

PLAIN = st.one_of(
    st.booleans(),
    st.integers(-(2**63), 2**63 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(st.characters(codec="utf-8"), max_size=12),
    st.dates(),
)
KEYS = st.text(st.characters(codec="utf-8"), max_size=6)
VALUES = st.recursive(
    PLAIN | st.lists(PLAIN, max_size=3),
    lambda inner: (
        st.dictionaries(KEYS, inner, max_size=3) | st.lists(st.dictionaries(KEYS, inner, max_size=3), max_size=3)
    ),
    max_leaves=8,
)


@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_what_is_written_is_read_back(tables: dict[str, Any]) -> None:
    """Reference: Python's own reader of TOML 1.0."""
    assert tomllib.loads(toml_text(tables)) == tables


def test_a_change_reads_as_one_would_write_it() -> None:
    """Headings for tables, one heading for each line of the plan."""
    tables = {
        "change": {"name": "more leaf"},
        "sowing": [{"name": "leaf Mondays", "cells": 90, "from_date": dt.date(2031, 3, 3), "months": [1, 2]}],
        "crew": {"shifts": [{"name": "Thursday", "people": 3}]},
    }

    assert toml_text(tables) == (
        '[change]\nname = "more leaf"\n\n[[sowing]]\nname = "leaf Mondays"\ncells = 90\nfrom_date = 2031-03-03\n'
        'months = [1, 2]\n\n[[crew.shifts]]\nname = "Thursday"\npeople = 3\n'
    )


def test_what_has_no_toml_is_refused() -> None:
    """A gap is no value."""
    with pytest.raises(TypeError, match="NoneType"):
        toml_text({"a": None})
