"""What the page wrote down, entry by entry, and tables beside it: one happening is told once.

No published source: what must come out is plain counting.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from growsim.run.writing import csv_text
from growsim.scenario.load import load_scenario
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import Records
from growsim.scenario.record.tables import BY_NAME
from growsim.scenario.scenario import Scenario

ROOM = Path(__file__).parents[2] / "scenarios" / "millrace"
ON_PAGE = "from-the-page"


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """The demo room."""
    return load_scenario(ROOM).scenario


def table(folder: Path, name: str, rows: list[dict[str, str]], where: str = ON_PAGE) -> None:
    """Write a table, as the page does or as somebody's own."""
    columns = BY_NAME[name].known if where == ON_PAGE else [column.name for column in BY_NAME[name].columns]
    ending = f"-{where}" if where else ""
    text = csv_text(columns, [[row.get(column, "") for column in columns] for row in rows])
    (folder / f"{name}{ending}.csv").write_text(text)


SOWN = {"sown": "2032-03-01", "crop": "butterhead"}
PARTS = [
    SOWN | {"cells": "72", "seeds_per_cell": "1", "entry": "2032-03-01 a"},
    SOWN | {"emerged": "66", "entry": "2032-03-08 b"},
    SOWN | {"transplanted": "2032-03-15", "lost": "2", "why": "transplanting", "entry": "2032-03-15 c"},
    SOWN | {"transplanted_again": "2032-03-22", "entry": "2032-03-22 d"},
    SOWN | {"harvested": "2032-04-06", "plants_harvested": "40", "grams": "5200", "lost": "1", "why": "too small",
            "entry": "2032-04-06 e"},
    SOWN | {"harvested": "2032-04-08", "plants_harvested": "23", "grams": "3100", "lost": "0",
            "entry": "2032-04-08 f"},
]  # fmt: skip


def read(folder: Path, scenario: Scenario) -> Records:
    """The record in a folder."""
    return read_records(folder, scenario)


def test_a_planting_told_bit_by_bit_is_one(scenario: Scenario, tmp_path: Path) -> None:
    """Sown, counted, moved twice, harvested on two days."""
    table(tmp_path, "plantings", PARTS)
    records = read(tmp_path, scenario)
    first, second = records.plantings
    assert (first.cells, first.emerged, first.lost, first.plants_harvested, first.grams) == (72, 66, 3, 40, 5200.0)
    assert dict(first.lost_to or ()) == {"transplanting": 2, "too small": 1}
    assert (first.transplanted, first.transplanted_again) == (dt.date(2032, 3, 15), dt.date(2032, 3, 22))
    assert (second.cells, second.emerged, second.plants_harvested, second.harvested) == (
        None, None, 23, dt.date(2032, 4, 8)
    )  # fmt: skip
    assert records.set_aside == ()


def test_a_correction_takes_the_place_of_its_line_and_leaves_it_there(scenario: Scenario, tmp_path: Path) -> None:
    """The old line is named with the new one."""
    wrong = PARTS[4] | {"plants_harvested": "400", "entry": "2032-04-06 x"}
    right = PARTS[4] | {"entry": "2032-04-06 x #2", "replaces": "2032-04-06 x"}
    table(tmp_path, "plantings", [*PARTS[:4], wrong, right, PARTS[5]])
    records = read(tmp_path, scenario)
    assert [row.plants_harvested for row in records.plantings] == [40, 23]
    assert [str(row) for row in records.set_aside] == ["plantings-from-the-page.csv line 6: was corrected in line 7"]


def test_what_is_taken_back_is_gone(scenario: Scenario, tmp_path: Path) -> None:
    """A row that only names another takes it back."""
    back = {"entry": "2032-04-06 e #2", "replaces": "2032-04-06 e"}
    table(tmp_path, "plantings", [*PARTS[:5], back])
    (only,) = read(tmp_path, scenario).plantings
    assert only.harvested is None
    assert only.lost == 2


def test_what_cannot_be_with_what_was_written_before_is_set_aside(scenario: Scenario, tmp_path: Path) -> None:
    """With the reason; what was there before stays."""
    table(tmp_path, "plantings", [*PARTS, SOWN | {"lost": "30", "entry": "2032-04-09 g"}])
    records = read(tmp_path, scenario)
    assert [row.lost for row in records.plantings] == [3, None]
    assert "with what was written before" in records.set_aside[0].reason


def test_a_spreadsheet_beside_the_page_is_not_counted_twice(scenario: Scenario, tmp_path: Path) -> None:
    """What is told in both is there once; the table fills in what the page left out."""
    table(tmp_path, "plantings", PARTS[:1])
    sheet = {key: value for key, value in (PARTS[4] | {"cells": "72", "emerged": "65"}).items() if key != "entry"}
    table(tmp_path, "plantings", [sheet, {"sown": "2032-03-08", "crop": "basil", "cells": "48"}], "")
    work = {"date": "2032-03-01", "task": "wash", "units": "8", "minutes": "30"}
    came = {"date": "2032-03-01", "shift": "Monday morning", "signed_up": "4", "came": "3"}
    took = {"date": "2032-04-12", "partner": scenario.partners[0].name, "crop": "butterhead", "kg": "4.5"}
    for name, row in (("work", work), ("attendance", came), ("deliveries", took)):
        table(tmp_path, name, [row | {"entry": f"2032-03-01 {name}"}])
        table(tmp_path, name, [row, row] if name == "work" else [row], "")
    records = read(tmp_path, scenario)
    butterhead = [row for row in records.plantings if row.crop == "butterhead"]
    assert [(row.cells, row.emerged, row.grams) for row in butterhead] == [(72, 65, 5200.0)]
    assert len(records.plantings) == 2
    assert len(records.work) == 2  # two like jobs stand in the table, one of them on the page too
    assert len(records.attendance) == len(records.deliveries) == 1
    assert len(records.set_aside) == 4


def test_two_like_trays_of_a_spreadsheet_are_still_two(scenario: Scenario, tmp_path: Path) -> None:
    """Only what the page tells of too is told twice."""
    row = {"sown": "2032-03-08", "crop": "basil", "cells": "48"}
    table(tmp_path, "plantings", [row, row], "")
    assert len(read(tmp_path, scenario).plantings) == 2
