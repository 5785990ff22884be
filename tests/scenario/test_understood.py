"""What people type instead of a bare number or date is understood where it can mean one thing, and told where two."""

from __future__ import annotations

import copy
import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import pytest
from wrong_rooms import edited

from growsim.errors import RoomFileError
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.scenario import Scenario
from growsim.scenario.understood import understood

TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"


def tables(**room: Any) -> dict[str, Any]:
    """The tiny room, its first table otherwise."""
    raw = tomllib.loads(TINY.read_text(encoding="utf-8"))
    raw["room"] |= room
    return raw


def test_amounts_in_other_units_and_words_of_every_day() -> None:
    """Each as if the file's own unit had been written."""
    raw = tables(height_m="8 ft", floor_area_m2="12,5", people_at_once="4 people", other_heat_w="0.08 kW")
    raw["climate"]["air_temperature_c"] = "68 F"
    raw["crops"][0]["germination_fraction"] = "85 %"
    raw["crops"][0]["typical_mass_g"] = {"distribution": "normal", "mean": "1 oz", "sd": "2 g"}
    raw["crew"]["shifts"][0] |= {"weekday": "Monday", "start_hour": "9 am", "lead": "yes", "people": 2.0}
    raw["prices"]["fixed_per_week"] = "$1,200"
    raw["partners"][0]["orders"][0]["kg"] = "2 lb"
    scenario, _ = scenario_from(raw, "room.toml")

    assert scenario.room.height_m == pytest.approx(2.4384)
    assert scenario.room.floor_area_m2 == 12.5
    assert scenario.room.people_at_once == 4
    assert scenario.room.other_heat_w == pytest.approx(80)
    assert scenario.climate.air_temperature_c == pytest.approx(20)
    assert scenario.crops[0].germination_fraction.value == pytest.approx(0.85)
    assert scenario.crops[0].typical_mass_g.mean == pytest.approx(28.3495, abs=1e-3)
    assert scenario.crops[0].typical_mass_g.sd == 2
    shift = scenario.crew.shifts[0]
    assert (shift.weekday, shift.start_hour, shift.lead, shift.people) == ("mon", 9.0, True, 2)
    assert scenario.prices.fixed_per_week == 1200
    assert scenario.partners[0].orders[0].kg == pytest.approx(0.907185, abs=1e-5)


@pytest.mark.parametrize(
    "typed",
    ["6 Jan 2031", "January 6, 2031", "Jan 6 2031", "2031/01/06", "2031-1-6", "6th January 2031", "Monday 6 Jan 2031"],
)
def test_a_date_that_can_be_one_day_alone(typed: str) -> None:
    """However it is written."""
    assert scenario_from(tables(start_date=typed), "room.toml")[0].room.start_date == dt.date(2031, 1, 6)


def test_days_in_a_row_in_words() -> None:
    """From a day to a day, and single days of which the day is above 12, in either order."""
    scenario, _ = scenario_from(tables(closed_days=["24 Dec 2031 to 26 Dec 2031", "26/05/2031", "05/27/2031"]), "it")

    assert [f"{day:%m-%d}" for day in scenario.room.closed_days] == ["12-24", "12-25", "12-26", "05-26", "05-27"]


@pytest.mark.parametrize(
    ("room", "month"),
    [
        ({"region": "US"}, 3),
        ({"units": "us"}, 3),
        ({"region": "UK"}, 4),
        ({"region": "Norway", "units": "us"}, 4),
    ],
)
def test_a_region_decides_which_day_is_meant(room: dict[str, Any], month: int) -> None:
    """3/4/2031 is 4 March in the US and 3 April in Europe (common practice, no source); 26/5 is no other day there."""
    scenario, _ = scenario_from(tables(closed_days=["3/4/2031", "26/5/2031"], **room), "it")

    assert [(day.month, day.day) for day in scenario.room.closed_days] == [(month, 7 - month), (5, 26)]


@pytest.mark.parametrize(
    ("room", "said"),
    [
        ({"start_date": "3/4/2031"}, 'room.start_date: is "3/4/2031", which could be two dates; write 2031-03-04 or'),
        (
            {"floor_area_m2": "1,200"},
            'room.floor_area_m2: is "1,200", which could be 1.2 or 1200; write it as one of these.',
        ),
        (
            {"closed_days": ["3/4/2031"]},
            'room.closed_days.entry 1: is "3/4/2031", which could be two dates; write 2031-03-04 or 2031-04-03, '
            "or give the room's region.",
        ),
        ({"height_m": "tall"}, 'room.height_m: is the text "tall"; give a number above 1.5 and up to 30 (m).'),
        ({"height_m": "3 kg"}, 'room.height_m: is the text "3 kg"; give a number above 1.5 and up to 30 (m).'),
    ],
)
def test_what_can_mean_two_things_or_nothing_is_told_once(room: dict[str, Any], said: str) -> None:
    """One sentence, with both where there are two."""
    with pytest.raises(RoomFileError) as refused:
        scenario_from(tables(**room), "room.toml")

    (fault,) = refused.value.faults
    assert str(fault).startswith(f"room.toml, {said}")


def test_a_room_that_is_written_as_it_should_be_is_not_touched() -> None:
    """Nothing is turned, nothing told, and the tables given stay as they were."""
    raw = tables()
    before = copy.deepcopy(raw)
    turned, findings = understood(Scenario, raw)

    assert (turned, findings) == (before, [])
    assert raw == before
    assert scenario_from(raw, "room.toml")[0] == load_scenario(TINY).scenario


ALL_LAYERS = [
    ("height_m = 2.5", "height_m = 8 ft"),
    ("floor_area_m2 = 12", "floor_area_m2 = 12,5"),
    ("start_date = 2031-01-06", "start_date = 6 Jan 2031"),
    ("cooling_kw = 2", "cooling_kw ="),
    ("seeds_per_cell = 2", "seeds_per_cell = 200"),
    ("lowest_flood_level_l = 60", "lowest_flood_level_l = 4000"),
]


def test_mistakes_of_every_layer_are_told_in_one_go(tmp_path: Path) -> None:
    """Lines that are no TOML, a figure that cannot be, two tables that cannot be together: six faults, six sentences.

    What lacks quotes alone is read as meant for the others; a line left out is not told again as missing.
    """
    (tmp_path / "room.toml").write_text(edited(ALL_LAYERS), encoding="utf-8")
    with pytest.raises(RoomFileError) as refused:
        load_scenario(tmp_path)

    said = [str(fault).partition("room.toml")[2] for fault in refused.value.faults]
    assert said == [
        ': line 7 (`start_date = 6 Jan 2031`) goes on after its value; put it in quotes: start_date = "6 Jan 2031".',
        ": line 10 (`floor_area_m2 = 12,5`) goes on after its value; decimals take a point: floor_area_m2 = 12.5.",
        ': line 11 (`height_m = 8 ft`) goes on after its value; put it in quotes: height_m = "8 ft".',
        ": line 88 (`cooling_kw =`) has no value that can be read; give a number, "
        '"text in quotes", true, false or a date.',
        ", crops.cutting leaf.seeds_per_cell: is 200, which is not possible; give a whole number from 1 to 20 (seeds).",
        ", reservoirs.reservoir.lowest_flood_level_l: is 4000 L, and the full reservoir holds 120 L: it could never "
        "flood; give a level below the capacity.",
    ]
