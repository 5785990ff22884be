"""The data dictionary, the JSON Schema and the starter room keep up with the models.

Reference: JSON Schema draft 2020-12, as the jsonschema library implements it.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import re
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from short_rooms import FIRST_ROOM
from strategies import room_tables
from wrong_rooms import WRONG_FIGURES, WRONG_KEYS, Edits, edited

from growsim.scenario import dictionary, usual
from growsim.scenario.schema import json_schema
from growsim.scenario.short.keys import KEYS

ROOT = Path(__file__).parents[2]
STARTER = ROOT / "growsim" / "scenario" / "starter" / "room.toml"
VALIDATOR = jsonschema.Draft202012Validator(json_schema())


def as_editors_see_it(value: Any) -> Any:
    """TOML as JSON: dates are texts."""
    if isinstance(value, dict):
        return {key: as_editors_see_it(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [as_editors_see_it(inner) for inner in value]
    return value.isoformat() if isinstance(value, (dt.date, dt.time)) else value


def complaints(text: str) -> list[str]:
    """What the schema has against a room file."""
    return [error.message for error in VALIDATOR.iter_errors(as_editors_see_it(tomllib.loads(text)))]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("data-dictionary.md", dictionary.as_markdown()),
        ("data-dictionary.csv", dictionary.as_csv()),
        ("room.schema.json", json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"),
    ],
)
def test_what_lies_in_scenarios_is_up_to_date(name: str, text: str) -> None:
    """After a change to the models: `python -m growsim.scenario.dictionary scenarios`."""
    assert (ROOT / "scenarios" / name).read_text(encoding="utf-8") == text


def test_it_is_written_where_asked(tmp_path: Path) -> None:
    """Three files, the same as in scenarios/."""
    written = dictionary.write_all(tmp_path)

    assert {file.name: file.read_text("utf-8") for file in written} == {
        name: (ROOT / "scenarios" / name).read_text("utf-8")
        for name in ("data-dictionary.md", "data-dictionary.csv", "room.schema.json")
    }


def test_every_key_has_its_meaning_and_what_it_allows() -> None:
    """No key is left unexplained; keys whose name ends in a unit have one."""
    units = re.compile(r"_(c|kw|w|l|cm|m2|ml|g|mg|kg|hours|minutes|days|weeks|percent|ppm|fraction)$")

    for entry in dictionary.entries():
        assert entry.meaning, entry.key
        assert entry.allowed, entry.key
        assert entry.default, entry.key
        assert entry.unit or not units.search(entry.key), entry.key


def test_the_csv_is_a_table() -> None:
    """Five columns, each key once."""
    rows = list(csv.reader(io.StringIO(dictionary.as_csv())))

    assert rows[0] == ["key", "meaning", "unit", "allowed", "default"]
    assert {len(row) for row in rows} == {5}
    assert len({row[0] for row in rows}) == len(rows) > 150


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("reservoirs[].flood_minutes", ("min", "number from 0 to 600", "0")),
        ("crops[].germination_fraction", ("fraction", "uncertain figure from 0 to 1", "required")),
        ("room.outdoor_temperature_c", ("°C", "numbers from -60 to 60, exactly 12 of them", "required")),
        ("crew.shifts[].lead", ("", "true or false", "true")),
        ("reservoirs[].top_up", ("", "one of by hand, float valve", "by hand")),
        ("racks[].shelves[].stages", ("", "texts", "empty")),
        ("crops[].growth_rate", ("-", "number above 0.01 and up to 100", "left out")),
    ],
)
def test_entries_say_unit_limits_and_default(key: str, expected: tuple[str, str, str]) -> None:
    """One of each kind, read against the models by hand."""
    (entry,) = [entry for entry in dictionary.entries() if entry.key == key]

    assert (entry.unit, entry.allowed, entry.default) == expected


def test_the_schema_is_a_schema() -> None:
    """Draft 2020-12's own schema accepts it."""
    jsonschema.Draft202012Validator.check_schema(json_schema())

    assert json_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize(
    "room", [*sorted((ROOT / "scenarios").glob("*/room.toml")), STARTER], ids=lambda p: p.parent.name
)
def test_rooms_that_come_with_growsim_satisfy_the_schema(room: Path) -> None:
    """Editors find nothing to complain of."""
    assert complaints(room.read_text(encoding="utf-8")) == []


@settings(max_examples=25, deadline=None)
@given(room_tables())
def test_rooms_that_growsim_accepts_satisfy_the_schema(raw: dict[str, Any]) -> None:
    """The schema is never stricter than growsim."""
    assert list(VALIDATOR.iter_errors(as_editors_see_it(raw))) == []


# What a schema cannot see: order of low/likely/high, mean and sd of a beta, names between tables, dates by format,
# numbers that JSON does not have, sizes that only our reader minds.
BEYOND_A_SCHEMA = {
    "range out of order",
    "beta too wide",
    "range that leaves what is possible",
    "day as text that is no date",
    "date with a time",
    "year out of reach",
    "infinite in a list",
    "not a number",
    "infinite",
    "thousands of digits",
    "empty name",
}
SEEN = [case for case in WRONG_FIGURES + WRONG_KEYS if case[0] not in BEYOND_A_SCHEMA]


@pytest.mark.parametrize("edits", [case[1] for case in SEEN], ids=[case[0] for case in SEEN])
def test_wrong_rooms_are_underlined_in_an_editor_too(edits: Edits) -> None:
    """Wrong figures and keys are refused by the schema as by growsim."""
    assert complaints(edited(edits))


def test_the_starter_says_first_that_it_is_invented_and_where_work_can_hurt() -> None:
    """Invented data is called so at once; cautions stand beside water and electricity, CO2, lifting and food."""
    text = STARTER.read_text(encoding="utf-8").replace("\n# ", " ")

    assert "INVENTED DATA" in text[:200]
    for danger in ("electricity beside water", "CO2 in a closed room", "lifting", "nutrient salts", "perishable food"):
        assert danger in text


def test_short_rooms_satisfy_the_schema() -> None:
    """A first room, a group said once, one of it that differs, usual values with keys over them."""
    mine = FIRST_ROOM.replace(
        'like = "butterhead lettuce"',
        'like = "butterhead lettuce"\nstages = [{ name = "finishing", days = 18 }]',
    )
    one_differs = '\n[[lights]]\nname = "rack 2"\nppfd_umol_m2_s = 240\n[[racks]]\nname = "rack 1"\nspare = true\n'

    assert complaints(mine + one_differs) == []
    assert complaints(mine.replace('like = "heat pump"', 'like = "stove"'))
    assert complaints(mine.replace("walls", "wals"))


def test_the_dictionary_names_every_usual_value_and_every_short_key() -> None:
    """So that a planner finds what a room file may be `like`."""
    text = dictionary.as_markdown()

    assert all(
        f"`{name}`" in text for kind in usual.KINDS if kind not in ("walls", "weather") for name in usual.names(kind)
    )
    assert all(row.key in text for row in KEYS)
