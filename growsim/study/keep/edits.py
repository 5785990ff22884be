"""A CHANGE taken into the room for good: the room file's text with the change made in it, remarks kept.

The room is then the one that `compare` rehearsed. A change to light, air or spacing keeps each crop's pace of growth
(see `alternatives`); a room file read again would find it again from the typical days, and the brighter light would
change nothing. So where the two differ, today's pace is written down as the crop's `growth_rate`.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from growsim.errors import InputError
from growsim.run.prepare import prepare, prepare_room
from growsim.scenario import reading
from growsim.scenario.change import LoadedChange, apply_change
from growsim.scenario.load import LoadedRoom, room_from, scenario_from
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.edits import edited
from growsim.scenario.short.follow import with_plan
from growsim.scenario.toml.edit import Edit, Give, edits_between
from growsim.study.alternatives import keep_pace

SAME_PACE = 1e-9  # relative; a calibration that ends nearer than this has found the same pace


@dataclass(frozen=True)
class RoomWithChange:
    """A room with a change made in it.

    text: its file. paces: of each crop whose pace had to be written down to stay what it was, the growth rate (-, pace
    on the growth model's clock).
    """

    room: LoadedRoom
    text: str
    paces: Mapping[str, float]


def keep_change(room: LoadedRoom, text: str, change: LoadedChange) -> RoomWithChange:
    """The room, whose file's text is given, with the change made in it; nothing is written.

    Raises RoomFileError, naming the CHANGE file, where the change does not fit the room, and LayoutError where the text
    is laid out so that it cannot be changed in place.
    """
    edits, paces = edits_to_keep(room.raw, room.scenario, change.tables, file=str(change.path))
    after = edited(text, edits)
    raw = tomllib.loads(after.removeprefix("\ufeff"))
    made = room_from(raw, change.path, reading.fingerprint(after.encode()))
    prepare_room(made)
    return RoomWithChange(replace(made, path=room.path), after, paces)


def edits_to_keep(
    raw: Mapping[str, Any], scenario: Scenario | None, change: Mapping[str, Any], *, file: str
) -> tuple[list[Edit], dict[str, float]]:
    """The edits that make a change in a room file's text, and the paces among them, by crop.

    raw, scenario: the room as it is; a faulty one (None) has no paces yet that could be kept. file: named in faults.
    Raises RoomFileError where the change cannot be merged.
    """
    merged = apply_change(dict(raw), dict(change), file=file)
    edits = list(edits_between(with_plan(raw) if "sowing" in merged else raw, merged))
    paces = _paces_to_state(scenario, merged, file) if scenario is not None else {}
    for place, crop in enumerate(merged.get("crops", [])):
        if isinstance(crop, dict) and crop.get("name") in paces:
            edits.append(Give(("crops", place, "growth_rate"), paces[crop["name"]]))
    return edits, paces


def _paces_to_state(scenario: Scenario, merged: dict[str, Any], file: str) -> dict[str, float]:
    """Today's pace of each crop for which the changed room, read again, would find another."""
    try:
        changed, _ = scenario_from(merged, file)
        today = prepare(scenario)
    except InputError:  # no possible room: whoever checks it says so, in full
        return {}
    kept, found_anew = keep_pace(today, changed)
    states_none = {crop.name for crop in changed.crops if crop.growth_rate is None} - set(found_anew)
    wanted = {crop.name: crop.growth_rate for crop in kept.crops if crop.name in states_none}
    try:
        anew: Mapping[str, float] = prepare(changed).curves.growth_rate
    except InputError:  # such as light too dim for the typical mass, at any pace: all are stated then
        anew = {}
    return {
        name: pace
        for name, pace in wanted.items()
        if pace is not None and not math.isclose(pace, anew.get(name, math.inf), rel_tol=SAME_PACE)
    }
