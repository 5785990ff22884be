"""A short room file is the long one, said once.

What it must give is written out here by hand or by plain loops (tests/short_rooms.py); there is no publication to hold
a file format against.
"""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from short_rooms import FIRST_ROOM, first_room, one_by_one, said_once
from strategies import room_tables

from growsim.errors import RoomFileError
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.change import apply_change
from growsim.scenario.load import room_from, scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.short.edits import edited
from growsim.scenario.short.expand import expand
from growsim.scenario.short.place import heat_of
from growsim.scenario.toml.edit import Give, LayoutError, Remove, edits_between
from growsim.scenario.toml.text import toml_text

TINY: dict[str, Any] = tomllib.loads(
    (Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml").read_text(encoding="utf-8")
)
NAMES = st.one_of(
    st.integers(1, 4).map(lambda count: [f"rack {number + 1}" for number in range(count)]),
    st.lists(st.text("abc ", min_size=1, max_size=4).map(str.strip).filter(bool), min_size=1, max_size=4, unique=True),
)


def faults(raw: dict[str, Any]) -> list[str]:
    """What is told of a room, without the file's name."""
    with pytest.raises(RoomFileError) as refusal:
        scenario_from(raw, "room.toml")
    return [str(fault).removeprefix("room.toml, ") for fault in refusal.value.faults]


@settings(max_examples=40, deadline=None)
@given(room_tables())
def test_a_full_room_comes_out_as_it_went_in(raw: dict[str, Any]) -> None:
    """Tables and all; the ones given are not touched."""
    before = copy.deepcopy(raw)

    assert expand(raw).tables == before
    assert raw == before


@settings(max_examples=40, deadline=None)
@given(NAMES, st.data())
def test_what_is_said_once_is_the_room_written_long(names: list[str], data: st.DataObject) -> None:
    """Whatever the racks are called and whenever each one's lights go on: the same scenario, and the same once more
    where the file that comes out is read again."""
    hours = data.draw(st.lists(st.integers(0, 23).map(float), min_size=len(names), max_size=len(names)))
    short, long = said_once(TINY, names, hours), one_by_one(TINY, names, hours)

    assert scenario_from(short, "short")[0] == scenario_from(long, "long")[0]
    assert expand(expand(short).tables).tables == expand(short).tables


@settings(max_examples=3, deadline=None)
@given(NAMES.filter(lambda names: len(names) > 1))
def test_both_live_through_the_same_year(names: list[str]) -> None:
    """Names decide the streams of chance, so every figure is the same to the last bit."""
    hours = [6.0] * len(names)
    plan = RunPlan(days=56)
    short, long = (
        replicate(prepare(scenario_from(raw, "room")[0]), 2031, 3, plan)
        for raw in (said_once(TINY, names, hours), one_by_one(TINY, names, hours))
    )

    assert short == long


def test_one_of_a_group_may_differ() -> None:
    """An entry named as one of them says only what is different there; `remove` takes that one away."""
    short = said_once(TINY, ["rack 1", "rack 2", "rack 3"], [6.0] * 3)
    short["racks"] += [{"name": "rack 2", "shelves": [{"name": "top", "count": 2}]}, {"name": "rack 3", "remove": True}]
    short["reservoirs"] = [{"name": "rack 1", "pump": {"power_w": 60}}]
    long = one_by_one(TINY, ["rack 1", "rack 2"], [6.0] * 2)
    long["racks"][1]["shelves"][0]["count"] = 2
    long["reservoirs"][0]["pump"]["power_w"] = 60
    scenario = scenario_from(short, "short")[0]

    assert scenario.racks == scenario_from(long, "long")[0].racks
    assert [bank.pump.power_w for bank in scenario.reservoirs[:2]] == [60, 45]


def test_usual_values_give_way_key_by_key() -> None:
    """A crop `like` butterhead with one stage longer and a mass of one's own keeps all the rest."""
    raw = first_room()
    usual = scenario_from(raw, "room")[0].crops[0]
    raw["crops"][0] |= {"typical_mass_g": 130, "stages": [{"name": "finishing", "days": 18}]}
    mine = scenario_from(raw, "room")[0].crops[0]

    assert [stage.days for stage in mine.stages] == [12, 10, 18]
    assert mine.typical_mass_g.is_fixed
    assert (mine.emergence, mine.stages[:2]) == (usual.emergence, usual.stages[:2])


def test_several_things_may_be_alike_at_once() -> None:
    """An electric heater, a fan and an air pump: the heat of the one, and the power of both others."""
    raw = first_room()
    raw["climate"] = {"like": ["electric heater", "fan", "air pump"], "air_temperature_c": 19}
    climate = scenario_from(raw, "room")[0].climate

    assert (climate.heating_cop, climate.cooling_kw, climate.fans_w) == (1, 0, 46)
    assert climate.air_temperature_c == 19


def test_a_rack_with_nothing_said_has_a_reservoir_and_lights_of_its_own() -> None:
    """30 slots of 53 x 27 cm are 4.29 m2, at 40 L a m2 170 L; a pump of four years that runs 4 minutes in 240 fails
    after 4 x 8,760 / 60 = 584 running hours on average."""
    room = scenario_from(first_room(), "room")[0]
    (first, second), lights = room.reservoirs, room.lights

    assert [rack.reservoir for rack in room.racks] == [rack.lights for rack in room.racks] == ["rack 1", "rack 2"]
    assert (first.capacity_l, first.lowest_flood_level_l) == (170, 68)
    assert first.pump.reliability.running_hours_to_failure is not None
    assert first.pump.reliability.running_hours_to_failure.mean == 584
    assert [bank.ppfd_umol_m2_s for bank in lights] == [215, 215]
    assert second.model_copy(update={"name": "rack 1"}) == first


def test_shelves_told_by_their_trays_hold_what_stands_in_them() -> None:
    """The slot is as large as the largest tray; the stages are those of the crops that use the trays."""
    top, lower = scenario_from(first_room(), "room")[0].racks[0].shelves

    assert (top.name, top.stages, top.slot_length_cm, top.slot_width_cm) == ("plug tray", ("seedling",), 53, 27)
    assert lower.stages == ("spacing", "finishing")


def test_heat_follows_from_the_walls() -> None:
    """18 m2, 2.4 m high, one door, insulated studs, by pencil: a square of 4.2426 m has 40.729 m2 of wall, less 1.9 of
    door 38.829; 38.829 x 0.35 + 18 x 0.40 + 18 x 0.70 x 0.3 + 1.9 x 3.0 + (38.829 + 36 + 1.9) x 0.10 = 37.9 W/K;
    110 kJ/K for each m2 of floor is 1,980 (ISO 13790, light)."""
    room = scenario_from(first_room(), "room")[0].room

    assert (room.heat_loss_w_per_k, room.heat_capacity_kj_per_k, room.air_changes_per_hour) == (37.9, 1980, 0.5)
    assert (room.outdoor_temperature_c[0], room.outdoor_temperature_c[6]) == (-2, 22)
    assert room.outdoor_temperature_c[3] == 10  # April stands midway


def test_a_first_room_takes_under_forty_figures() -> None:
    """Counted as a planner would: every value in the file but names, lists and words that choose."""
    figures = [line for line in FIRST_ROOM.replace(",", "\n").splitlines() if "=" in line]

    assert len(figures) <= 60  # with names and words
    assert sum(char.isdigit() for char in "".join(line.partition("=")[2].strip()[:1] for line in figures)) <= 40


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"racks": [{"name": "rack", "count": 0}]}, "racks.rack.count: is 0; give a whole number from 1 to 200."),
        ({"racks": [{"names": []}]}, 'racks.entry 1.names: is []; list the names, such as ["A", "B"].'),
        ({"racks": [{"count": 2}]}, 'racks.entry 1: has a count but no name; give a name: "rack" makes rack 1, rack 2'),
        ({"crops": [{"name": "g", "like": "butterhaed"}]}, "did you mean 'butterhead lettuce'"),
        ({"climate": {"like": "stove"}}, 'climate.like: "stove" is no usual value that comes with growsim; there are:'),
        (
            {"room": {"walls": "garage with insulated stud walls"}},
            "did you mean 'garage of stud wall, steel door'; 'garage of stud wall, insulated door';",
        ),
        ({"room": {"walls": "straw"}}, 'room.walls: "straw" is no make of wall that comes with growsim; there are:'),
        ({"room": {"outdoor_january_c": 1}}, "room.outdoor_july_c: is missing; give the mean of that month"),
    ],
)
def test_what_cannot_be_expanded_is_told(change: dict[str, Any], told: str) -> None:
    """One sentence, at the key the planner wrote."""
    raw = first_room()
    for key, value in change.items():
        raw[key] = value if isinstance(value, list) else {**raw[key], **value}
    if "room" in change and "outdoor_january_c" in change["room"]:
        del raw["room"]["outdoor_july_c"]

    assert any(line.startswith(told) or told in line for line in faults(raw)), faults(raw)


@pytest.mark.parametrize(
    ("table", "key", "typed", "told"),
    [
        ("crops", "like", "lettuce", 'write "loose-leaf lettuce", "butterhead lettuce", "crisphead'),
        ("crops", "like", "tomato", "there are: loose-leaf lettuce, butterhead lettuce"),
        ("room", "walls", "stone", "there are: insulated stud wall"),
        ("room", "floor_area_m2", "big", "give a number above 0"),
    ],
)  # fmt: skip
def test_what_follows_from_a_mistake_is_not_told_too(table: str, key: str, typed: str, told: str) -> None:
    """One sentence for one mistake, though stages, heat loss and more are missing without it."""
    raw = first_room()
    (raw[table][0] if table == "crops" else raw[table])[key] = typed
    (fault,) = faults(raw)

    assert told in fault


def test_a_usual_first_stage_lasts_until_seed_is_up() -> None:
    """Pea shoots stand dark for three days at 20 °C; at 15 °C their table has them up after four.
    A stage of the planner's own is left alone, and refused."""
    raw = first_room()
    raw["crops"][0] = {"name": raw["crops"][0]["name"], "like": "pea shoots"}
    raw["climate"]["air_temperature_c"] = 15
    stages = scenario_from(raw, "room.toml")[0].crops[0].stages
    raw["crops"][0]["stages"] = [{"name": "blackout", "days": 3.5}]

    assert [stage.days for stage in stages] == [4, 8]
    assert "is 3.5 days, but seeds take 4 days to germinate" in faults(raw)[0]


def test_a_fault_of_a_group_is_told_once_where_it_was_written() -> None:
    """Not of the four that the file does not show; what one alone has is told of that one."""
    raw = said_once(TINY, ["rack 1", "rack 2", "rack 3", "rack 4"], [6.0] * 4)
    raw["racks"][0]["reservoir"]["pump"]["power_w"] = -1
    raw["racks"][0]["shelves"][0]["slots"] = 0
    raw["lights"] = [{"name": "rack 3", "hours_per_day": 25}]

    assert sorted(line.partition(": ")[0] for line in faults(raw)) == [
        "racks.rack 3.lights.hours_per_day",
        "racks.rack.reservoir.pump.power_w",
        "racks.rack.shelves.top.slots",
    ]


def test_a_change_names_one_of_a_group() -> None:
    """And what it adds may be short: a crop like a usual one, a rack that brings its own reservoir."""
    room = room_from(said_once(TINY, ["rack 1", "rack 2"], [6.0] * 2), Path("room.toml"), "")
    change = {
        "lights": [{"name": "rack 2", "ppfd_umol_m2_s": 250}],
        "racks": [{"name": "third", "shelves": [{"name": "all", "count": 2, "slots": 3, "trays": ["baby leaf tray"]}]}],
        "crops": [{"name": "kale", "like": "baby kale"}],
        "climate": {"like": "electric heater"},
    }
    changed = scenario_from(apply_change(room.raw, change), "changed")[0]

    lamps = {bank.name: bank.ppfd_umol_m2_s for bank in changed.lights}
    assert lamps == {"rack 1": 200, "rack 2": 250, "third": 215}
    assert changed.racks[-1].reservoir == "third"
    assert changed.crops[-1].typical_days == 20
    assert (changed.climate.heating_cop, changed.climate.fans_w) == (1, 30)


SHORT_TEXT = "# mine\n" + toml_text(said_once(TINY, ["rack 1", "rack 2", "rack 3"], [6.0] * 3))


@pytest.mark.parametrize("walls", ["stud wall", "brick"])
def test_the_door_of_a_garage_loses_its_area_times_its_u(walls: str) -> None:
    """By hand: 5 m² of one steel skin, 1 / 0.17 = 5.9 W/(m² K) (ISO 6946, surfaces alone), against an insulated door
    of 1.2 (Door & Hardware Federation: 1 to 1.3), both in place of wall; the rest of the room is the same."""
    floor, height, doors = 20.0, 2.4, 1
    steel, _ = heat_of(f"garage of {walls}, steel door", floor, height, doors)
    insulated, _ = heat_of(f"garage of {walls}, insulated door", floor, height, doors)
    without, _ = heat_of("brick" if walls == "brick" else "insulated stud wall", floor, height, doors)
    of_wall = {"stud wall": 0.35, "brick": 2.1}[walls]

    assert steel - insulated == pytest.approx(5.0 * (5.9 - 1.2))
    assert insulated - without == pytest.approx(5.0 * (1.2 - of_wall))


def test_shelves_of_which_nothing_is_told_take_all_that_the_crops_stand_in() -> None:
    """Another crop in another tray needs no word at the shelves; months are understood in either unit."""
    raw = first_room()
    raw["racks"][0]["shelves"] = [{"count": 2, "slots": 5}]
    raw["crops"] = [{"name": "basil", "like": "basil"}, {"name": "peas", "like": "pea shoots"}]
    raw["sowing"], raw["partners"] = [], []
    raw["room"]["outdoor_january_c"] = "50 F"
    scenario = scenario_from(raw, "room")[0]

    (shelves,) = scenario.racks[0].shelves
    assert {stage.name for crop in scenario.crops for stage in crop.stages} == set(shelves.stages)
    assert all(shelves.fits(tray) for tray in scenario.trays)
    assert scenario.room.outdoor_temperature_c[0] == 10.0

    raw["room"]["outdoor_january_c"] = "mild"
    with pytest.raises(RoomFileError) as refused:
        scenario_from(raw, "room")
    assert [fault.key for fault in refused.value.faults] == ["room.outdoor_january_c"]


def test_minutes_that_a_planner_has_timed_have_no_doubt_of_the_usual_ones() -> None:
    """Usual minutes are in doubt, all jobs of a kind alike in a year; one's own are what they are."""
    raw = first_room()
    raw["crew"]["tasks"] = [{"name": "sow", "minutes_per_unit": 0.3}]
    tasks = {task.name: task for task in scenario_from(raw, "room")[0].crew.tasks}

    assert (tasks["sow"].minutes_per_unit.expected(), tasks["sow"].minutes_factor.is_fixed) == (0.3, True)
    assert (tasks["harvest"].minutes_per_unit.is_fixed, tasks["harvest"].minutes_factor.limits()) == (True, (0.5, 2.0))


@pytest.mark.parametrize(
    "change",
    [
        {"lights": [{"name": "rack 2", "ppfd_umol_m2_s": 250}]},
        {"lights": [{"name": f"rack {number}", "ppfd_umol_m2_s": 250} for number in (1, 2, 3)]},
        {"reservoirs": [{"name": "rack 1", "pump": {"reliability": {"spares": 2}}}]},
        {"racks": [{"name": "rack 3", "shelves": [{"name": "top", "count": 2}]}]},
        {"racks": [{"name": "rack 3", "remove": True}], "reservoirs": [{"name": "rack 3", "remove": True}]},
        {"crops": [{"name": "cutting leaf", "typical_mass_g": 30}]},
        {"crew": {"tasks": [{"name": "sow", "minutes_per_unit": 0.3}]}},
    ],
)
def test_a_change_kept_in_a_short_file_is_the_room_compared(change: dict[str, Any]) -> None:
    """The text stays short, says the same as the merged tables, and keeps its remarks."""
    full = expand(tomllib.loads(SHORT_TEXT)).tables
    merged = apply_change(full, change)
    text = edited(SHORT_TEXT, list(edits_between(full, merged)))

    def by_name(raw: dict[str, Any]) -> dict[str, Any]:
        room = scenario_from(raw, "room")[0]
        return {
            key: sorted(value, key=lambda each: each.name) if key in ("racks", "reservoirs", "lights") else value
            for key, value in room
        }

    assert by_name(tomllib.loads(text)) == by_name(merged)
    assert text.startswith("# mine\n")
    assert "count = 3" in text


def test_a_usual_value_changed_is_written_over_it() -> None:
    """Not the whole profile: the key, or the stage, alone."""
    full = expand(tomllib.loads(FIRST_ROOM)).tables
    stages = [place for place, stage in enumerate(full["crops"][0]["stages"]) if stage["name"] == "finishing"]
    edits = [
        Give(("crops", 0, "typical_mass_g", "high"), 170),
        Give(("crops", 0, "stages", stages[0], "days"), 15),
        Give(("crew", "tasks", 0, "fixed_minutes"), 5),
    ]
    text = edited(FIRST_ROOM, edits)
    room = scenario_from(tomllib.loads(text), "room")[0]

    assert room.crops[0].typical_mass_g.limits() == (120, 170)
    assert [stage.days for stage in room.crops[0].stages] == [12, 10, 15]
    assert room.crew.tasks[0].fixed_minutes.expected() == 5
    assert len(text.splitlines()) < len(FIRST_ROOM.splitlines()) + 16


def test_a_change_that_no_short_form_can_say_is_refused() -> None:
    """A usual value cannot be left out, one of a counted group cannot be called otherwise; told with what helps."""
    with pytest.raises(LayoutError, match=r"[Gg]ive the things their own names"):
        edited(SHORT_TEXT, [Give(("racks", 1, "name"), "other")])
    full = expand(tomllib.loads(FIRST_ROOM)).tables
    assert edited(FIRST_ROOM, [Remove(("crew", "tasks", len(full["crew"]["tasks"]) - 1))])


def test_the_demo_says_things_once() -> None:
    """At most 200 lines for six racks with all their machines; each rack has what is its own."""
    file = Path(__file__).parents[2] / "scenarios" / "millrace" / "room.toml"
    room = room_from(tomllib.loads(file.read_text(encoding="utf-8")), file, "")

    assert len(file.read_text(encoding="utf-8").splitlines()) <= 200
    assert [rack.reservoir for rack in room.scenario.racks] == [bank.name for bank in room.scenario.lights]
    assert [bank.on_hour for bank in room.scenario.lights] == [4.5, 15.25, 5.5, 15.5, 6.5, 16.5]
    assert [each.capacity_l for each in room.scenario.reservoirs] == [150, 150, 220, 220, 220, 220]
    assert not [at for at, source in room.usual.items() if not source.startswith("follows")]


def test_a_pump_that_runs_all_the_time_lives_as_many_years() -> None:
    """Four years of 8,760 h, and no flood of so many minutes is left over from the usual values."""
    raw = first_room()
    raw["racks"][0]["reservoir"] = {"flood_every_hours": 0}
    reservoir = scenario_from(raw, "room")[0].reservoirs[0]

    assert reservoir.flood_minutes == 0
    assert reservoir.pump.reliability.running_hours_to_failure is not None
    assert reservoir.pump.reliability.running_hours_to_failure.mean == 35040
