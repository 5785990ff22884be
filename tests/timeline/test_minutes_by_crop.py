"""Work that takes longer on one crop than on another, in the round room (tests/small_rooms.py), by pencil."""

from __future__ import annotations

from typing import Any

import pytest
from small_rooms import lived, scenario_of, tables

from growsim.chance.streams import Luck
from growsim.ledger.events import TaskDue
from growsim.scenario import on_paper
from growsim.scenario.checks.all import faults_of
from growsim.scenario.names import name_faults


def two_crops(by_crop: list[dict[str, Any]], task: str = "harvest") -> dict[str, Any]:
    """Lettuce on Mondays and a twin called chard on Thursdays, with minutes by crop for a task."""
    raw = tables()
    raw["crops"].append({**raw["crops"][0], "name": "chard"})
    raw["sowing"].append({**raw["sowing"][0], "name": "Thursdays", "crop": "chard", "weekday": "thu"})
    raw["racks"][0]["shelves"][0]["slots"] = 4
    next(each for each in raw["crew"]["tasks"] if each["name"] == task)["by_crop"] = by_crop
    return raw


def minutes_of(raw: dict[str, Any], task: str, luck: Luck | None = None) -> dict[str, int]:
    """Crop -> minutes of its first job of a kind."""
    found: dict[str, int] = {}
    for due in lived(raw, 40, luck=luck).records:
        if isinstance(due, TaskDue) and due.task == task:
            found.setdefault(due.about.split("/")[1], due.minutes)
    return found


def test_a_crop_has_its_own_minutes() -> None:
    """Nine plants of each: 4 + 9 × 1 = 13 min for lettuce, 4 + 9 × 2.5 = 26.5, so 27 min, for chard."""
    assert minutes_of(two_crops([{"crop": "chard", "minutes_per_unit": 2.5}]), "harvest") == {
        "lettuce": 13,
        "chard": 27,
    }
    assert minutes_of(two_crops([]), "harvest") == {"lettuce": 13, "chard": 13}


def test_sowing_and_washing_too() -> None:
    """Ten cells: 5 + 10 × 1 and 5 + 10 × 0.5 min. The emptied sheet: 1 + 4 min, and 1 + 10."""
    sow = two_crops([{"crop": "chard", "minutes_per_unit": 0.5}], "sow")
    wash = two_crops([{"crop": "chard", "minutes_per_unit": 10}], "wash")

    assert minutes_of(sow, "sow") == {"lettuce": 15, "chard": 10}
    assert minutes_of(wash, "wash") == {"lettuce": 5, "chard": 11}


def test_what_is_not_known_is_drawn_once_for_all_crops() -> None:
    """A factor of 1 to 3 on all minutes of harvesting: chard, with three times the minutes for each plant and none for
    getting ready, takes three times as long in every replication."""
    raw = two_crops([{"crop": "chard", "minutes_per_unit": 30}])
    task = next(each for each in raw["crew"]["tasks"] if each["name"] == "harvest")
    task |= {"fixed_minutes": 0, "minutes_per_unit": 10, "minutes_factor": {"low": 1, "likely": 2, "high": 3}}
    for crop in raw["crops"]:
        crop |= {"germination_fraction": 1.0, "overgrown_after_days": 60}

    for replication in range(3):
        took = minutes_of(raw, "harvest", Luck(7, replication))
        assert took["chard"] == pytest.approx(3 * took["lettuce"], abs=3)
        assert took["lettuce"] != 100


def test_paper_knows_it() -> None:
    """Chard: 9.375 plants of ten cells are cut once in 52 weeks, 1.5 minutes longer each."""
    plain, longer = (
        on_paper.work_hours_per_week(scenario_of(two_crops(by_crop)))
        for by_crop in ([], [{"crop": "chard", "minutes_per_unit": 2.5}])
    )

    assert (longer - plain) * 52 * 60 == pytest.approx(9.375 * 1.5)


def test_what_cannot_be_meant() -> None:
    """No crop waits for a reservoir; a crop has its minutes once, and is one of the room's."""
    chard = {"crop": "chard", "minutes_per_unit": 2}

    def said(raw: dict[str, Any]) -> list[str]:
        return [f"{key}: {problem}" for key, problem, _ in faults_of(scenario_of(raw)) if key.startswith("crew")]

    assert said(two_crops([chard], "top up")) == [
        "crew.tasks.top up.by_crop.chard: topping up reservoirs is no work on a crop"
    ]
    assert said(two_crops([chard, chard])) == ["crew.tasks.harvest.by_crop.chard: has its minutes twice"]
    assert not said(two_crops([chard]))
    assert [problem for _, problem, _ in name_faults(two_crops([{**chard, "crop": "chart"}]))] == ["'chart' is no crop"]
