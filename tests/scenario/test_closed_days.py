"""Days when nobody comes: one by one, or many in a row in one text."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import jsonschema
import pytest
from wrong_rooms import edited

from growsim.errors import RoomFileError
from growsim.scenario.load import load_scenario
from growsim.scenario.schema import json_schema

HERE = "[2031-05-26]"


def closed(tmp_path: Path, given: str) -> tuple[dt.date, ...]:
    """The closed days of the tiny room with these in their place."""
    (tmp_path / "room.toml").write_text(edited([(HERE, given)]), encoding="utf-8")
    return load_scenario(tmp_path).scenario.room.closed_days


@pytest.mark.parametrize(
    "given",
    [
        '["2031-01-30 to 2031-02-02"]',
        '["2031-01-30 – 2031-02-02"]',
        '["2031-01-30 until 2031-02-02"]',
        "['\"2031-01-30 to 2031-02-02\"']",  # as one may type it into a box of the page
        '[2031-01-30, "2031-01-31 to 2031-02-01", "2031-02-02"]',
    ],
)
def test_days_in_a_row_are_every_day_from_the_first_to_the_last(tmp_path: Path, given: str) -> None:
    """Four days over the end of a month, both ends with them."""
    assert [day.isoformat() for day in closed(tmp_path, given)] == [
        "2031-01-30", "2031-01-31", "2031-02-01", "2031-02-02",
    ]  # fmt: skip


def test_one_day_in_a_row_is_that_day(tmp_path: Path) -> None:
    """From a day to itself."""
    assert closed(tmp_path, '["2031-02-02 to 2031-02-02"]') == (dt.date(2031, 2, 2),)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ('["2031-02-02 to 2031-01-30"]', "ends before it begins"),
        ('["2031-02-02 to 2041-01-30"]', "is more than a year"),
        ('["2031-02-30 to 2031-03-02"]', "a date is no date of the calendar"),
        ('["all of August"]', "no date of the calendar"),
        ('"2031-02-02 to 2031-02-03"', "a list of dates"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_an_example(tmp_path: Path, given: str, says: str) -> None:
    """In one sentence that names the key."""
    with pytest.raises(RoomFileError, match=says) as refused:
        closed(tmp_path, given)

    assert "room.closed_days" in str(refused.value)


@pytest.mark.parametrize(("given", "fits"), [("2031-01-30 to 2031-02-02", True), ("all of August to May", False)])
def test_an_editor_with_the_schema_knows_days_in_a_row(given: str, fits: bool) -> None:
    """Reference: JSON Schema draft 2020-12, as the jsonschema library implements it."""
    schema = json_schema()["$defs"]["Room"]["properties"]["closed_days"]
    formats = jsonschema.Draft202012Validator.FORMAT_CHECKER

    assert jsonschema.Draft202012Validator(schema, format_checker=formats).is_valid(["2031-05-26", given]) == fits
