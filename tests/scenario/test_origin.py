"""Whose each figure of a room is: told, and without any say in what comes of it.

Read off the files by hand; there is no publication to hold it against.
"""

from __future__ import annotations

import dataclasses
import json
import re
import tomllib
from collections import Counter
from pathlib import Path

import pytest
from short_rooms import FIRST_ROOM, first_room

from growsim.cli import main
from growsim.report.tables import whose_table
from growsim.scenario.asked import in_short
from growsim.scenario.change import apply_change, change_from, changed_room
from growsim.scenario.load import LoadedRoom, load_scenario, room_from
from growsim.scenario.origin import DEFAULT_SOURCE, RoomFigure, figures_of, with_own
from growsim.scenario.starter import starter_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


def told(room: LoadedRoom) -> dict[str, RoomFigure]:
    """Every figure of a room by its key."""
    return {each.key: each for each in figures_of(room.scenario, room.full, room.usual)}


def test_each_figure_is_yours_usual_or_invented() -> None:
    """One of each: given in the file, from a profile with its source, left out, said to be invented."""
    raw = first_room()
    raw["crops"][0]["shelf_life_days"] = 5
    raw["prices"]["source"] = "invented; a guess"
    found = told(room_from(raw, Path("room.toml"), ""))

    assert [
        (found[key].whose, found[key].source) for key in ("room.floor_area_m2", "crops.greens.shelf_life_days")
    ] == [
        ("yours", ""),
        ("yours", ""),
    ]
    head = found["crops.greens.typical_mass_g"]
    assert (head.value, head.unit, head.whose) == ("120 / 142 / 160", "g", "usual")
    assert head.source.startswith("142 g (5 oz) a head: Cornell CEA")
    assert found["lights.rack 2.efficacy_umol_j"].source.startswith("2.30 umol/J")
    assert (found["crops.greens.trimmed_fraction"].whose, found["crops.greens.trimmed_fraction"].source) == (
        "usual",
        DEFAULT_SOURCE,
    )
    assert (found["prices.electricity_per_kwh"].whose, found["prices.water_per_m3"].whose) == ("invented", "usual")


def test_some_figures_of_a_table_may_be_invented() -> None:
    """A source that names keys speaks of those alone; one in words speaks of all."""
    raw = first_room()
    raw["prices"] |= {"water_per_m3": 2.0, "source": "invented: water_per_m3"}
    found = told(room_from(raw, Path("room.toml"), ""))
    assert [found[f"prices.{key}"].whose for key in ("electricity_per_kwh", "water_per_m3")] == ["yours", "invented"]

    raw["prices"]["source"] = "invented: until we have a bill"
    found = told(room_from(raw, Path("room.toml"), ""))
    assert found["prices.electricity_per_kwh"].whose == "invented"

    left = with_own("invented", "doors", ["doors", "height_m", "walls", "source"])
    assert (left, with_own(left, "walls", ["height_m", "walls"])) == ("invented: height_m, walls", "invented: height_m")
    assert with_own("invented: height_m", "height_m", ["height_m", "walls"]) == "ours"


def test_one_word_put_in_place_of_another_makes_no_figure_the_planners_own() -> None:
    """Whatever every table of the starter says of its source, what nobody changed or named is still not theirs."""
    for word in ("ours", "measured", "mine: by tape", ""):
        raw = tomllib.loads(starter_text().replace("m2 = 14", "m2 = 18"))
        lists = (raw["racks"], raw["crew"]["shifts"], raw["partners"])
        for table in (
            raw["room"],
            raw["climate"],
            raw["crew"],
            raw["prices"],
            *(each for one in lists for each in one),
        ):
            table["source"] = word
        found = told(room_from(raw, Path("room.toml"), ""))
        assert [key for key, each in found.items() if each.whose == "yours"] == ["room.floor_area_m2"], word

    raw["climate"]["source"] = "air_temperature_c: ours"
    raw["partners"][0]["orders"][0]["kg"] = 3
    found = told(room_from(raw, Path("room.toml"), ""))
    assert {key for key, each in found.items() if each.whose == "yours"} == {
        "room.floor_area_m2", "climate.air_temperature_c", "partners.food pantry.orders.butterhead.kg",
    }  # fmt: skip
    keys = ["height_m", "walls"]
    named = with_own("invented: height_m", "height_m", keys, the_starters=["height_m"])
    assert named == "height_m: ours"
    assert with_own(named, "walls", keys, the_starters=keys) == "height_m, walls: ours"


def test_a_long_room_of_invented_figures_says_so() -> None:
    """Every figure is told once, and the sentence adds up to them."""
    room = load_scenario(TINY)
    listed = figures_of(room.scenario, room.full, room.usual)
    counts = Counter(each.whose for each in listed)

    assert len({each.path for each in listed}) == len(listed) == counts.total()
    assert in_short(listed, None) == (
        f"The {len(listed)} others: {counts['yours']} yours, {counts['usual']} usual values and {counts['invented']} "
        "invented or still the starter's."
    )
    assert whose_table(listed).rows[0][2] in ("yours", "usual", "invented")


def test_a_figure_that_a_change_states_is_no_usual_value_any_more() -> None:
    """The others stay what they were."""
    room = room_from(first_room(), Path("room.toml"), "")
    change = change_from({"crops": [{"name": "greens", "typical_mass_g": 150}]}, Path("change.toml"), "")
    found = told(changed_room(room, change))

    assert found["crops.greens.typical_mass_g"].whose == "yours"
    assert found["crops.greens.dry_matter_fraction"].whose == "usual"


def test_whose_a_figure_is_changes_no_bit_of_the_room() -> None:
    """The side table is no part of the scenario."""
    room = room_from(first_room(), Path("room.toml"), "")

    assert dataclasses.replace(room, usual={}).scenario == room.scenario
    assert apply_change(room.raw, {"room": {"name": "x"}})["crops"] == room.raw["crops"]


def test_check_tells_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sentence always, each figure on request, all of them in --json."""
    (tmp_path / "room.toml").write_text(FIRST_ROOM, encoding="utf-8")

    assert main(["check", str(tmp_path)]) == 0
    plain = capsys.readouterr().out
    assert main(["check", str(tmp_path), "--figures"]) == 0
    long = capsys.readouterr().out
    assert main(["check", str(tmp_path), "--json"]) == 0
    summary = json.loads(capsys.readouterr().out)

    sentence = next(
        line for line in plain.splitlines() if line.startswith("Of the figures that a first answer asks for")
    )
    asked = re.search(r"(\d+) of (\d+) are yours. The (\d+) others: .* usual values", sentence)
    assert asked is not None
    numbers = 2 * 4 + 2 * 3 + 4  # racks: shelves and slots of two kinds; shifts; floor, air, order, power
    assert "crops.greens.shelf_life_days: 7 days; usual; 7 days (nevegetable.org, Table 16)" in long
    assert "shelf_life_days" not in plain
    assert len(summary["figures"]) == int(asked[3]) + numbers
    assert {"key", "value", "unit", "whose", "source"} <= summary["figures"][0].keys()
