"""Thousands of spoiled room files, from a fixed seed: each is refused in a sentence, warned of, or can be simulated."""

from __future__ import annotations

import random
import time
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hostile import spoiled, spoiled_texts

from growsim.chance.streams import Luck
from growsim.errors import InputError, RoomFileError
from growsim.room.model import simulate
from growsim.run.look_ahead import warnings_with_growth
from growsim.run.prepare import prepare_room
from growsim.scenario.load import room_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.reading import tables_of
from growsim.scenario.short.keys import LEFT_OUT

ROOT = Path(__file__).parents[2]
FILE = Path("room.toml")
LONGEST_SENTENCE = 700
LONGEST_SECONDS = 3.0  # of one room; a hundred times what it takes


def answer(tables: dict[str, Any]) -> str:
    """ "refused", "warned" or "fine"; of what is not refused the first days are lived through."""
    try:
        room = room_from(tables, FILE, "")
        prepared = prepare_room(room)
    except RoomFileError as refusal:
        for fault in refusal.faults:
            assert len(str(fault)) < LONGEST_SENTENCE
            assert str(fault).isprintable()
        return "refused"
    simulate(prepared.scenario, prepared.curves, Luck(1, 0), RunPlan(2, start="empty"))
    return "warned" if warnings_with_growth(room, prepared) else "fine"


def _follows(path: tuple[str | int, ...]) -> bool:
    """Whether what stands at a path follows where it is left out."""
    return any(path[-1] in keys for keys in LEFT_OUT.values())


@pytest.mark.parametrize(
    ("room", "least"), [("scenarios/tiny/room.toml", 2000), ("growsim/scenario/starter/room.toml", 280)]
)
def test_tables_with_one_thing_spoiled(room: str, least: int) -> None:
    """No crash, no hang; a sentence short and printable; and what cannot be meant is never taken in silence."""
    tables = tomllib.loads((ROOT / room).read_text(encoding="utf-8"))
    tried = {"refused": 0, "warned": 0, "fine": 0}
    for case in spoiled(tables, random.Random(21), 10_000):
        began = time.process_time()
        said = answer(case.tables)
        tried[said] += 1

        may_miss = case.how == "missing" and ("starter" in room or _follows(case.path))  # which have usual values
        must_refuse = case.must_refuse and not may_miss
        assert said == "refused" or not must_refuse, str(case)
        assert time.process_time() - began < LONGEST_SECONDS, str(case)
    assert sum(tried.values()) > least
    assert tried["refused"] > least / 2
    assert tried["fine"] > least / 40


def test_texts_cut_nested_and_encoded() -> None:
    """Whatever is left of the file: a sentence with its line, or a room."""
    text = (ROOT / "scenarios" / "tiny" / "room.toml").read_bytes()
    tried = 0
    for how, content in spoiled_texts(text, random.Random(21), 700):
        began = time.process_time()
        try:
            answer(tables_of(FILE, content))
        except InputError as refusal:
            assert str(refusal).startswith("room.toml"), how
            assert all(len(line) < LONGEST_SENTENCE for line in str(refusal).splitlines()), how
        assert time.process_time() - began < LONGEST_SECONDS, how
        tried += 1

    assert tried == 700
