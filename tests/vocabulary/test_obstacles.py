"""Obstacles: one table, and several of them that stand in the way together."""

from __future__ import annotations

import pytest

from growsim.vocabulary.obstacles import OBSTACLES, because, is_of_closing, joined, parts_of


def test_joined_in_one_order() -> None:
    """However they are named, and however often: the same pair is one cause."""
    assert joined("no lead", "no harvest day") == joined("no harvest day", "no lead") == "no harvest day + no lead"
    assert [part.key for part in parts_of("no harvest day + no lead")] == ["no harvest day", "no lead"]


def test_a_closing_is_told_apart_alone_and_with_others() -> None:
    """No trial lifts a holiday."""
    assert [is_of_closing(key) for key in ("closed", "closed + people busy", "people busy")] == [True, True, False]


def test_every_obstacle_goes_on_from_because() -> None:
    """In plain words, a clause of its own; several are told with "and"."""
    assert because("no slot + people busy") == "no place on the shelves is free and trays there wait for people"
    assert (
        because("no slot + no harvest day")
        == "no place on the shelves is free and ripe plants there wait for a harvest day"
    )
    assert because("closed + people busy") == "the room is closed and everybody has other work"
    assert len({row.key for row in OBSTACLES}) == len({row.because for row in OBSTACLES}) == len(OBSTACLES)


def test_an_unknown_obstacle_is_refused() -> None:
    """With where to add it."""
    with pytest.raises(LookupError, match="no obstacle 'mice': give it a row"):
        because("no slot + mice")
