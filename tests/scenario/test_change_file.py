"""CHANGE files that growsim writes itself are read back as they were meant, whatever things are called."""

from __future__ import annotations

import tempfile
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from growsim.scenario.change import LONGEST_NAME, ChangeAbout, apply_change, change_text, file_name, load_change

ANYTHING = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cf", "Zl", "Zp")), max_size=80)
NAMES = ANYTHING.filter(str.strip)
FIGURE = st.builds(
    lambda low, source: {"low": low, "likely": low + 1.0, "high": low + 2.5, "source": source},
    st.floats(-1e6, 1e6),
    ANYTHING,
)


def read_back(text: str) -> Any:
    """The change as `growsim compare` and `growsim keep` read it."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "made.toml")
        file.write_bytes(text.encode())
        return load_change(file)


@given(
    room=ANYTHING, title=NAMES, note=ANYTHING, names=st.lists(NAMES, min_size=1, max_size=3, unique_by=str.strip),
    figure=FIGURE, people=st.integers(0, 20),
)  # fmt: skip
def test_what_is_written_is_read_back_whatever_things_are_called(
    room: str, title: str, note: str, names: list[str], figure: dict[str, Any], people: int
) -> None:
    """Line breaks, quotes, backslashes and control characters in names of room, crops, shifts and partners.

    A room's name stands in a remark on top, where TOML 1.0 allows no control character (toml.io/en/v1.0.0, Comment).
    """
    tables = {
        "crops": [{"name": name, "typical_mass_g": figure} for name in names],
        "crew": {"shifts": [{"name": name, "people": people, "people_by_month": [people] * 12} for name in names]},
        "partners": [{"name": name, "orders": [{"crop": name, "kg": 1.5}]} for name in names],
    }

    read = read_back(change_text(tables, {"name": title, "note": note}, (f"A plan for {room}.", room)))

    assert read.tables == tables
    assert read.about.note == ChangeAbout(note=note).note
    assert read.about.name == ChangeAbout(name=title).name if len(title) <= LONGEST_NAME else len(read.title) > 1
    apply_change({key: list(table) if isinstance(table, list) else table for key, table in tables.items()}, read.tables)


def test_a_name_too_long_for_a_change_is_cut() -> None:
    """`keep` takes 60 letters; the rest is left out, and is seen to be."""
    long = "two more people on the shift " * 4

    title = read_back(change_text({"crew": {"people_at_once": 1}}, {"name": long})).title

    assert len(title) <= LONGEST_NAME
    assert title.endswith("…")
    assert long.startswith(title[:-1])


def test_what_a_study_counts_with_numpy_is_written_as_a_number() -> None:
    """numpy's numbers name their own type where they are shown; TOML has none of that."""
    text = change_text({"sowing": [{"name": "a", "cells": 12, "x": np.float64(1.5)}]}, {"price": np.float64(2)})

    assert tomllib.loads(text) == {"change": {"price": 2.0}, "sowing": [{"name": "a", "cells": 12, "x": 1.5}]}


def test_an_uncertain_figure_stays_on_its_line() -> None:
    """As one would write it by hand."""
    table = {"name": "a", "typical_mass_g": {"low": 1, "likely": 2, "high": 3}, "emergence": {"days": [3, 2]}}

    assert change_text({"crops": [table]}, {}, ("Found.",)) == (
        '# Found.\n[[crops]]\nname = "a"\ntypical_mass_g = { low = 1, likely = 2, high = 3 }\n\n'
        "[crops.emergence]\ndays = [3, 2]\n"
    )


@pytest.mark.parametrize(
    ("name", "taken", "file"),
    [
        ("One more on Thursday", (), "one-more-on-thursday.toml"),
        ("one more on Thursday!", ("one-more-on-thursday.toml",), "one-more-on-thursday-2.toml"),
        ("кресс", (), "change.toml"),
        ("a" * 300, (), "a" * 60 + ".toml"),
    ],
)
def test_each_change_gets_a_file_of_its_own(name: str, taken: tuple[str, ...], file: str) -> None:
    """No name is too long for a file system, and none writes over another's."""
    assert file_name(name, taken) == file
