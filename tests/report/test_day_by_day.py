"""The room day by day as a file: what was watched can be read back a day at a time."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from growsim.report.rehearse import day_by_day
from growsim.run.prepare import prepare
from growsim.run.replay.watch import watch
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def test_a_day_can_be_read_by_itself(tmp_path: Path) -> None:
    """The first line is the room, then each day has its line: its date, its trays, who came."""
    replay = watch(prepare(load_scenario(TINY).scenario), 5, 2, RunPlan(21, 56)).replay
    day_by_day.write(replay, tmp_path)
    file = tmp_path / day_by_day.FILE

    assert [path.name for path in tmp_path.iterdir()] == [day_by_day.FILE]
    room = day_by_day.read_room(file)
    assert (room["days"], room["first_date"], room["replication"]) == (21, "2031-01-06", 2)
    assert [shelf["label"] for shelf in room["shelves"]] == ["top", "lower 1", "lower 2", "lower 3"]
    for number, seen in enumerate(replay.days):
        day = day_by_day.read_day(file, number)
        assert day["date"] == seen.date.isoformat()
        assert [tuple(trays["slots"]) for trays in day["trays"]] == [trays.slots for trays in seen.trays]
        assert [shift["came"] for shift in day.get("shifts", ())] == [shift.came for shift in seen.shifts]
    with pytest.raises(StopIteration):
        day_by_day.read_day(file, 21)


def test_every_line_is_json_by_itself(tmp_path: Path) -> None:
    """Any tool that reads JSON line by line can read it."""
    replay = watch(prepare(load_scenario(TINY).scenario), 5, 0, RunPlan(3, 56)).replay
    day_by_day.write(replay, tmp_path)
    text = (tmp_path / day_by_day.FILE).read_text(encoding="utf-8")

    assert len([json.loads(line) for line in text.splitlines()]) == 4
