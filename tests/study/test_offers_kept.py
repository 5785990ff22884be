"""Every change that growsim offers can be kept, in rooms as planners write them; and nothing else of theirs is changed.

Held against the room that `compare` rehearses; there is no publication to hold a file format against.
"""

from __future__ import annotations

import dataclasses
import tomllib
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from growsim.run.prepare import prepare
from growsim.scenario.begin import starter_text
from growsim.scenario.change import change_from, changed_room
from growsim.scenario.load import LoadedRoom, room_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.toml.text import toml_text
from growsim.study import to_try
from growsim.study.causes import Cause, Share
from growsim.study.keep.edits import RoomWithChange, keep_change
from growsim.study.sow.answer import change_tables
from growsim.study.sow.plan import frame_for
from growsim.study.sow.timing import fed_orders, lines_for
from growsim.vocabulary.losses import COLD, HEAT

CLOSED = (
    "[]",
    "[2031-12-25]",
    '["20 Dec to 2 Jan"]',
    '["20 Dec to 2 Jan", "3 Aug to 21 Aug"]',
    '["25 Dec 2031", "2032-03-29 to 2032-04-12"]',
)
SHELVES = ('[{ name = "shelves", count = 5, slots = 6 }]', "[{ count = 4, slots = 6 }]")
RACKS = ('name = "rack"\ncount = 2', 'names = ["left", "right"]', 'name = "rack"')


def closed_on(days: str) -> str:
    """The starter, closed on these days."""
    was = next(line for line in starter_text().splitlines() if line.startswith("closed_days"))
    return starter_text().replace(was, f"closed_days = {days}")


@st.composite
def texts(draw: st.DrawFn) -> str:
    """The starter as planners make it theirs: no sowing plan, racks told at once, closed days in their own words."""
    text = starter_text().replace(
        "closed_days = [2031-07-04, 2031-12-25]", f"closed_days = {draw(st.sampled_from(CLOSED))}"
    )
    text = text.replace('name = "rack"\ncount = 2', draw(st.sampled_from(RACKS)))
    text = text.replace(SHELVES[0], draw(st.sampled_from(SHELVES)))
    text = text.replace("kg = 4", f"kg = {draw(st.sampled_from((1, 4, 40)))}")
    return text.replace('"butterhead lettuce"', draw(st.sampled_from(('"butterhead lettuce"', '"basil"'))))


def offered(room: LoadedRoom) -> list[dict[str, Any]]:
    """The tables of all that answers of `rehearse` and `compare` try, and of a plan as `sow` writes it."""
    scenario = room.scenario
    shares = tuple(
        Share(crop.name, what, 1.0, 1.0) for crop in scenario.crops for what in (to_try.SKIPPED, HEAT.key, COLD.key)
    )
    cause = Cause("", 1.0, shares, 0.0)
    of_air = dataclasses.replace(cause, shares=shares[1:])
    trials: Iterator[to_try.Trial] = chain(
        to_try.harvest_days(scenario, without_lead=True),
        to_try.leads(scenario),
        to_try.more_people(scenario),
        to_try.slots(scenario, cause),
        to_try.float_valves(scenario, cause),
        to_try.machines(scenario, cause),
        to_try.air(scenario, of_air),
        to_try.other_seed(scenario),
        *(to_try.sown_on_other_days(scenario, crop.name) for crop in scenario.crops),
        to_try.kept_longer(scenario),
        to_try.giving_away(scenario),
        [to_try.OPEN],
    )
    prepared, fed = prepare(scenario), fed_orders(scenario)
    lines = [line for crop in scenario.crops for line in lines_for(prepared, crop, fed)]
    frame = frame_for(scenario, RunPlan(182, 56), lines, {})
    return [*(trial.tables for trial in trials), change_tables(room, frame, tuple(2 * n for n in frame.steps))]


def kept(text: str, tables: dict[str, Any]) -> RoomWithChange:
    """The room with the change made, held against the one compared."""
    room, change = room_from(tomllib.loads(text), Path("room.toml"), ""), change_from(tables, Path("c.toml"), "")
    made = keep_change(room, text, change)
    before, after = tomllib.loads(text), tomllib.loads(made.text)
    for crop in after["crops"]:
        if crop["name"] in made.paces:
            del crop["growth_rate"]
    racks = ["racks"] if tables.keys() & {"reservoirs", "lights"} else []  # said of the rack that brings them along
    said = {*tables, *racks, "sowing"}

    assert _without_paces(made.room, made) == _without_paces(changed_room(room, change), made)
    assert {key: after[key] for key in after if key not in said} == {
        key: before[key] for key in before if key not in said
    }
    return made


def _without_paces(room: LoadedRoom, made: RoomWithChange) -> Any:
    crops = [
        crop.model_copy(update={"growth_rate": None}) if crop.name in made.paces else crop
        for crop in room.scenario.crops
    ]
    return room.scenario.model_copy(update={"crops": tuple(crops)})


@settings(max_examples=5, deadline=None, phases=[Phase.explicit, Phase.generate])  # a smaller room takes as long
@given(texts(), st.data())
def test_whatever_is_offered_can_be_kept(text: str, data: st.DataObject) -> None:
    """Not all of each room's, so that the test stays quick."""
    changes = offered(room_from(tomllib.loads(text), Path("room.toml"), ""))
    for tables in data.draw(st.lists(st.sampled_from(changes), min_size=4, max_size=4, unique_by=id)):
        kept(text, tables)


@pytest.mark.parametrize("closed", CLOSED)
def test_one_line_of_a_plan_that_closings_cut_up(closed: str) -> None:
    """All lines become the planner's, one of them with other cells. Days without a year are told in their own words."""
    text = closed_on(closed)
    made = kept(text, {"sowing": [{"name": "pak choi", "cells": 30}]})
    lines = tomllib.loads(made.text)["sowing"]

    assert [line["cells"] for line in lines if line["name"] == "pak choi"] == [30]
    assert len(lines) == len(made.room.scenario.sowing) >= len({"butterhead", "pak choi"})
    assert f"closed_days = {closed}" in made.text


def test_a_room_written_in_full_without_a_plan() -> None:
    """Its plan follows as well, and a change of one line is kept as in a short room."""
    full = dict(room_from(tomllib.loads(starter_text()), Path("room.toml"), "").raw)
    assert "sowing" not in full
    kept(toml_text(full), {"sowing": [{"name": "pak choi", "cells": 30}]})
