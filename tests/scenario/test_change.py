"""CHANGE files: what they name differs, everything else stays, and a slip in one is said in a sentence."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import room_tables

from growsim.errors import RoomFileError
from growsim.scenario.change import apply_change, changed_room, load_change
from growsim.scenario.load import load_scenario, scenario_from

TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
RAW: dict[str, Any] = tomllib.loads(TINY.read_text(encoding="utf-8"))

SECOND_RACK = """
[[racks]]
name = "second rack"
reservoir = "reservoir"
lights = "lights"
shelves = [{ name = "all", count = 2, slots = 4, slot_length_cm = 60, slot_width_cm = 40, stages = ["head"] }]
"""


def changed(change: str) -> dict[str, Any]:
    """The tiny room's tables with a change written as TOML."""
    return apply_change(RAW, tomllib.loads(change), file="change.toml")


def faults(change: str) -> list[str]:
    """What is said of a change that cannot be made."""
    with pytest.raises(RoomFileError) as refused:
        changed(change)
    return str(refused.value).splitlines()


def named(entries: list[dict[str, Any]], name: str) -> dict[str, Any]:
    """The entry of a list that has this name."""
    (found,) = [entry for entry in entries if entry["name"] == name]
    return found


def test_a_key_of_a_table_is_replaced_and_its_neighbors_stay() -> None:
    """A warmer room is one line."""
    after = changed("[climate]\nair_temperature_c = 24")

    assert after["climate"] == {**RAW["climate"], "air_temperature_c": 24}
    assert {key: after[key] for key in after if key != "climate"} == {key: RAW[key] for key in RAW if key != "climate"}


def test_an_entry_of_a_list_is_found_by_its_name() -> None:
    """Two more people on Thursday; Monday is as it was."""
    after = changed('[[crew.shifts]]\nname = "Thursday"\npeople = 4')

    assert named(after["crew"]["shifts"], "Thursday") == {**named(RAW["crew"]["shifts"], "Thursday"), "people": 4}
    assert named(after["crew"]["shifts"], "Monday") == named(RAW["crew"]["shifts"], "Monday")


def test_lists_inside_lists_are_found_by_name_too() -> None:
    """A longer stage of one crop, deep inside."""
    after = changed('[[crops]]\nname = "small head"\n[[crops.stages]]\nname = "head"\ndays = 25')

    stages = named(after["crops"], "small head")["stages"]
    assert [stage["days"] for stage in stages] == [14, 25]


def test_a_new_name_adds() -> None:
    """A second rack stands behind the first, and the room is still possible."""
    after = changed(SECOND_RACK)

    assert [rack["name"] for rack in after["racks"]] == ["rack", "second rack"]
    assert scenario_from(after, "change.toml")[0].racks[1].shelves[0].count == 2


def test_remove_takes_an_entry_away() -> None:
    """No heads any more: the crop, its sowing and its order go."""
    after = changed(
        """
        [[crops]]
        name = "small head"
        remove = true
        [[sowing]]
        name = "heads Mondays"
        remove = true
        [[partners]]
        name = "trial pantry"
        orders = [{ crop = "small head", remove = true }]
        [[racks]]
        name = "rack"
        shelves = [{ name = "lower", stages = ["leaf"] }]
        """
    )

    scenario, _ = scenario_from(after, "change.toml")
    assert [crop.name for crop in scenario.crops] == ["cutting leaf"]
    assert [order.crop for order in scenario.partners[0].orders] == ["cutting leaf"]


def test_remove_takes_a_table_or_a_key_away() -> None:
    """A pump that never fails; a table left to its defaults."""
    after = apply_change(
        RAW,
        {
            "reservoirs": [{"name": "reservoir", "pump": {"reliability": {"remove": True}}}],
            "rehearsal": {"remove": True},
        },
    )

    assert "reliability" not in after["reservoirs"][0]["pump"]
    assert "rehearsal" not in after


def test_remove_false_removes_nothing() -> None:
    """And leaves no trace of itself."""
    assert changed('[[reservoirs]]\nname = "reservoir"\nremove = false') == RAW


def test_orders_are_found_by_crop() -> None:
    """A partner asks for more of one crop."""
    after = changed('[[partners]]\nname = "trial pantry"\norders = [{ crop = "cutting leaf", kg = 1.2 }]')

    assert [order["kg"] for order in after["partners"][0]["orders"]] == [1.2, 1.8]


def test_orders_of_one_crop_in_two_seasons_are_told_apart_by_their_months() -> None:
    """Which of the two is meant must be said."""
    base = copy.deepcopy(RAW)
    base["partners"][0]["orders"] = [
        {"crop": "small head", "kg": 2, "months": [1, 2]},
        {"crop": "small head", "kg": 1, "months": [7]},
    ]
    summer = {"partners": [{"name": "trial pantry", "orders": [{"crop": "small head", "kg": 3, "months": [7]}]}]}
    unclear = {"partners": [{"name": "trial pantry", "orders": [{"crop": "small head", "kg": 3}]}]}

    assert [order["kg"] for order in apply_change(base, summer)["partners"][0]["orders"]] == [2, 3]
    with pytest.raises(RoomFileError, match="give its months too"):
        apply_change(base, unclear)


@pytest.mark.parametrize(
    ("before", "change", "after"),
    [
        (0.85, {"low": 0.8, "likely": 0.9, "high": 0.95}, {"low": 0.8, "likely": 0.9, "high": 0.95}),
        ({"low": 0.8, "likely": 0.9, "high": 0.95, "source": "mine"}, 0.9, 0.9),
        ({"low": 0.8, "likely": 0.9, "high": 0.95}, {"high": 0.99}, {"low": 0.8, "likely": 0.9, "high": 0.99}),
        (
            {"low": 0.8, "likely": 0.9, "high": 0.95},
            {"distribution": "beta", "mean": 0.9, "sd": 0.02},
            {"distribution": "beta", "mean": 0.9, "sd": 0.02},
        ),
        (
            {"low": 0.8, "likely": 0.9, "high": 0.95, "source": "old trial"},
            {"low": 0.7, "source": "new trial"},
            {"low": 0.7, "likely": 0.9, "high": 0.95, "source": "new trial"},
        ),
    ],
    ids=["number to range", "range to number", "wider range", "another distribution", "with its own source"],
)
def test_an_uncertain_figure_is_one_value(before: Any, change: Any, after: Any) -> None:
    """Replaced whole, or completed where it stays of its kind; the old source does not vouch for the new figure."""
    base = copy.deepcopy(RAW)
    base["crops"][0]["germination_fraction"] = before

    found = apply_change(base, {"crops": [{"name": "cutting leaf", "germination_fraction": change}]})

    assert found["crops"][0]["germination_fraction"] == after


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            '[[racks]]\nname = "rak"\nreservoir = "reservoir"',
            "change.toml, racks.rak: is new to the room, and a new one needs lights too; did you mean 'rack'.",
        ),
        (
            '[[reservoirs]]\nname = "tob"\nremove = true',
            "change.toml, reservoirs.tob: is to be removed, and the room has no 'tob'; there are: reservoir.",
        ),
        (
            '[[crew.shifts]]\nname = "Sunday"\nremove = true',
            "change.toml, crew.shifts.Sunday: is to be removed, and the room has no 'Sunday'; did you mean 'Monday'.",
        ),
        (
            "[[reservoirs]]\ncapacity_l = 9",
            "change.toml, reservoirs.entry 1: has no name; give the name of the entry it changes, or a",
        ),
        ("remove = true", "change.toml, remove: would take the whole room away; put it into the table that is to go."),
        (
            '[[reservoirs]]\nname = "reservoir"\nremove = "yes"',
            'change.toml, reservoirs.reservoir.remove: is "yes"; write true, or take it out.',
        ),
        (
            '[[reservoirs]]\nname = "reservoir"\ncapacity_l = 200\n'
            '[[reservoirs]]\nname = "reservoir"\ncapacity_l = 300',
            "change.toml, reservoirs.reservoir: is changed twice in this file; put the two together.",
        ),
        ("[co2]\nremove = true", "change.toml, co2: is to be removed, and the room has no 'co2'"),
    ],
    ids=[
        "misspelled",
        "remove misspelled",
        "remove unknown",
        "no name",
        "remove all",
        "remove yes",
        "twice",
        "not there",
    ],
)
def test_a_slip_in_a_change_is_said(change: str, said: str) -> None:
    """One sentence that names the CHANGE file and the key."""
    (line,) = faults(change)

    assert line.startswith(said)


def test_what_a_change_breaks_is_said_of_the_change_file(tmp_path: Path) -> None:
    """The room was sound; the fault is the change's."""
    file = tmp_path / "warmer.toml"
    file.write_text("[climate]\nair_temperature_c = 50\n")

    with pytest.raises(RoomFileError) as refused:
        changed_room(load_scenario(TINY), load_change(file))

    assert str(refused.value).startswith(f"{file}, climate.air_temperature_c: is 50, which is not possible")


def test_a_changed_room_is_a_room(tmp_path: Path) -> None:
    """Loaded, checked, with the change's own name and fingerprint; the room itself is as it was."""
    file = tmp_path / "second rack.toml"
    file.write_text(SECOND_RACK)
    room = load_scenario(TINY)

    change = load_change(file)
    after = changed_room(room, change)

    assert (change.name, after.sha256, len(after.scenario.racks)) == ("second rack", change.sha256, 2)
    assert room == load_scenario(TINY)


def test_a_change_that_changes_nothing_is_refused(tmp_path: Path) -> None:
    """Most likely the wrong file."""
    file = tmp_path / "nothing.toml"
    file.write_text("# still to be written\n")

    with pytest.raises(RoomFileError, match="changes nothing; name at least one key that differs"):
        load_change(file)


@settings(max_examples=40, deadline=None)
@given(room_tables(), st.integers(1, 4))
def test_adding_and_taking_away_again_changes_nothing(raw: dict[str, Any], count: int) -> None:
    """A rack added and removed leaves the room as it was; no table handed in is touched."""
    before = copy.deepcopy(raw)
    rack = {**copy.deepcopy(raw["racks"][0]), "name": "another"}
    rack["shelves"] = [{**group, "count": count} for group in rack["shelves"]]

    more = apply_change(raw, {"racks": [rack]})
    back = apply_change(more, {"racks": [{"name": "another", "remove": True}]})

    assert (len(more["racks"]), back, raw) == (len(raw["racks"]) + 1, before, before)


@settings(max_examples=40, deadline=None)
@given(room_tables())
def test_a_room_changed_into_itself_is_itself(raw: dict[str, Any]) -> None:
    """Naming everything as it is differs from nothing."""
    assert apply_change(raw, raw) == raw
