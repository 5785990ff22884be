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


@pytest.mark.parametrize(
    ("given", "first", "last", "days"),
    [
        ('["30 Jan - 2 Feb"]', "2031-01-30", "2031-02-02", 4),
        ('"30 Jan to 2 Feb"', "2031-01-30", "2031-02-02", 4),
        ('["Feb 2nd"]', "2031-02-02", "2031-02-02", 1),
        ('["30.1.", "2.2."]', "2031-01-30", "2031-02-02", 2),
        ('["30 Dec 2030 – 2 Jan 2031"]', "2030-12-30", "2031-01-02", 4),
        ('["30 Dec to 2 Jan 2031"]', "2030-12-30", "2031-01-02", 4),
        ('["2 to 4 Feb 2031"]', "2031-02-02", "2031-02-04", 3),
        ('["3/4/2031", "25/12/2031"]', "2031-04-03", "2031-12-25", 2),  # the second says how the first is meant
    ],
)
def test_closings_as_people_write_them(tmp_path: Path, given: str, first: str, last: str, days: int) -> None:
    """Without a year: those of the time that is rehearsed (the tiny room starts on 6 January 2031)."""
    found = closed(tmp_path, given)

    assert (len(found), f"{min(found)}", f"{max(found)}") == (days, first, last)


def test_every_year_that_is_rehearsed_has_a_day_without_a_year(tmp_path: Path) -> None:
    """Two years from 6 January 2031, eight weeks of warm-up before them: three first weeks of January, one 29th."""
    longer = ("days = 182", "days = 730"), (HERE, '["1 Jan to 3 Jan", "29 Feb"]')
    (tmp_path / "room.toml").write_text(edited(list(longer)), encoding="utf-8")

    assert [day.isoformat() for day in load_scenario(tmp_path).scenario.room.closed_days] == [
        f"{year}-01-0{day}" for year in (2031, 2032, 2033) for day in (1, 2, 3)
    ] + ["2032-02-29"]  # fmt: skip


def test_two_single_days_are_asked_about(tmp_path: Path) -> None:
    """Once, with how days in a row are written; two public holidays are two single days, and so are days that are far
    apart."""
    (tmp_path / "room.toml").write_text(edited([(HERE, "[2031-02-01, 2031-02-15]")]), encoding="utf-8")
    asked = [each for each in load_scenario(tmp_path).warnings if each.key == "room.closed_days"]
    unasked = []
    for given in ("[2031-01-01, 2031-01-06]", "[2031-01-01, 2031-12-25]", "[2031-12-25, 2031-01-06]"):
        (tmp_path / "room.toml").write_text(edited([(HERE, given)]), encoding="utf-8")
        unasked += [each for each in load_scenario(tmp_path).warnings if "between" in each.problem]

    assert [(each.problem, each.remedy) for each in asked] == [
        (
            "closed on 2031-02-01 and on 2031-02-15, and open on all 13 days between",
            'if they are meant too, write "2031-02-01 to 2031-02-15"',
        )
    ]
    assert unasked == []


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
        ('"Christmas"', "no date of the calendar"),
        ('["24 Foo"]', "no date of the calendar"),
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
