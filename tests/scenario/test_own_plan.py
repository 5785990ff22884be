"""The sowing plan that follows from the promises, where a room file has none; and the first room of README.md.

How much is sown is held against pencil sums from the crops' own figures. That nothing is warned of is held against
`check`; there is no publication for it.
"""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main
from growsim.report.own_plan import plan_rows
from growsim.run.look_ahead import warnings_with_growth
from growsim.run.prepare import prepare_room
from growsim.scenario.change import change_from, changed_room
from growsim.scenario.load import LoadedRoom, load_scenario, room_from
from growsim.scenario.promised_plan import SOURCE

ROOT = Path(__file__).parents[2]
FIRST = re.search(r"<!-- room -->\n```toml\n(.*?)```", (ROOT / "README.md").read_text(encoding="utf-8"), re.DOTALL)
MOST_FIGURES = 30
FEW = ["--replications", "2", "--days", "56", "--workers", "1"]


def text() -> str:
    """The room file that README.md shows."""
    assert FIRST is not None
    return FIRST[1]


def room(**changed: Any) -> LoadedRoom:
    """That room, with some tables changed."""
    return room_from({**tomllib.loads(text()), **changed}, Path("room.toml"), "")


def values(table: Any) -> int:
    """How many values a planner typed."""
    if isinstance(table, dict):
        return sum(values(each) for each in table.values())
    is_list = isinstance(table, list) and any(isinstance(each, dict) for each in table)
    return sum(values(each) for each in table) if is_list else 1


def test_the_plan_names_pauses_to_come_and_none_that_are_over() -> None:
    """Closed over two winters, the first of them before the room begins: lots for a filled room stood in it, but nobody
    sows last year any more."""
    place = tomllib.loads(text())["room"]
    closed = {
        "start_date": dt.date(2031, 3, 3),
        "closed_days": ["2030-12-20 to 2031-01-05", "2031-12-20 to 2032-01-05"],
    }
    (basil,) = (row for row in plan_rows(room(room={**place, **closed}).scenario) if row[0] == "basil")

    assert "not 20 Dec 2031" in basil[1]
    assert "2030" not in basil[1]


def test_the_first_room_takes_few_figures_and_one_round(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Counted with names, days and choices; `check` has nothing to say against it, `rehearse` an answer."""
    monkeypatch.chdir(tmp_path)
    Path("room.toml").write_text(text(), encoding="utf-8")

    assert values(tomllib.loads(text())) <= MOST_FIGURES
    assert main(["check", "room.toml"]) == 0
    told = capsys.readouterr().out
    assert "surely not meant" not in told
    assert re.search(r"basil +(Mon|Thurs)day +\d+ cells +[\d.]+ kg", told)
    assert "4.0 kg promised" in told
    assert main(["rehearse", "room.toml", *FEW, "--out", "first"]) == 0
    assert "food bank" in Path("first", "report.html").read_text(encoding="utf-8")


def test_as_much_is_sown_as_is_promised_and_a_tenth_to_spare() -> None:
    """Pencil: cells x share with a seedling x shares not lost x kept mass = 1.1 x 2 kg."""
    crop = {"name": "lettuce", "like": "loose-leaf lettuce"}
    order = {"name": "food bank", "weekday": "thu", "orders": [{"crop": "lettuce", "kg": 2}]}
    made = room(crops=[crop], partners=[order]).scenario
    (line,), lettuce = made.sowing, made.crops[0]
    up = lettuce.germination_fraction.expected() * lettuce.emergence.at(made.climate.air_temperature_c)[1]
    left = up if lettuce.seeds_per_cell == 1 else 1 - (1 - up) ** lettuce.seeds_per_cell
    for stage in lettuce.stages_in_order()[1:]:
        left *= 1 - stage.loss_fraction.expected()
    grams = lettuce.typical_mass_g.expected() * (1 - lettuce.trimmed_fraction)

    assert lettuce.harvests == 1
    assert (line.cells - 1) * left * grams < 2200 <= line.cells * left * grams
    assert line.source == SOURCE
    assert room(partners=[{**order, "orders": [{"crop": "basil", "kg": 2}]}]).scenario.sowing[0].crop == "basil"


def test_shifts_tell_when_greens_are_harvested_and_how_many_work_at_once() -> None:
    """Pencil: harvest on days with a lead; four people at most; the food bank comes in the afternoon, and what is left
    goes an hour later, with a week until it comes again. Power: as README says, from the region."""
    made = room().scenario

    assert made.harvest.weekdays == ("mon", "thu")
    assert (made.harvest.surplus_weekday, made.harvest.surplus_hour) == ("thu", 16)
    assert (made.room.people_at_once, made.partners[0].hour) == (4, 15)
    assert (made.prices.currency, made.prices.electricity_per_kwh) == ("GBP", 0.27)
    shifts = [{"name": "a", "weekday": "thu", "start_hour": 14, "hours": 3, "people": 6, "lead": False},
              {"name": "b", "weekday": "tue", "start_hour": 9, "hours": 2, "people": 1}]  # fmt: skip
    other = room(crew={"like": "volunteers", "shifts": shifts}).scenario
    assert (other.harvest.weekdays, other.room.people_at_once, other.partners[0].hour) == (("tue",), 6, 17)


@pytest.mark.parametrize("closed", [[], ["2031-07-01 to 2031-08-15", "2031-10-20 to 2031-10-29"]], ids=["", "closed"])
@pytest.mark.parametrize("slots", [2, 6])
@pytest.mark.parametrize(
    "crops", [["basil", "mint"], ["loose-leaf lettuce", "baby kale", "radish shoots"],
              ["butterhead lettuce", "basil", "pea shoots", "chard"]], ids=["herbs", "leaves", "mixed"]
)  # fmt: skip
def test_growsim_does_not_warn_of_its_own_plan(crops: list[str], slots: int, closed: list[str]) -> None:
    """It finds its slots, meets the harvest days and avoids long closings; what is promised beyond the shelves is said
    as such."""
    told = tomllib.loads(text())
    told["room"]["closed_days"] = closed
    told["racks"][0] |= {"count": 1 if slots == 2 else 3, "shelves": [{"count": 4, "slots": slots}]}
    told["crops"] = [{"name": name, "like": name} for name in crops]
    made = room_from(told, Path("room.toml"), "")
    warned = warnings_with_growth(made, prepare_room(made))

    assert [str(each) for each in warned if each.key.startswith(("sowing", "crops", "harvest", "room"))] == []
    assert {line.crop for line in made.scenario.sowing} == set(crops)
    assert all("sow more" not in each.remedy for each in warned)
    if slots == 2:
        assert any("the shelves hold no more" in each.problem for each in warned)


def test_walls_tell_the_heat_lost_where_no_height_is_told() -> None:
    """The same as with the usual height written; by sides as by their area."""
    told = tomllib.loads(text())["room"]
    one, other = (room(room={**told, **more}).scenario.room for more in ({}, {"height_m": 2.4}))
    sides = room(room={**told, "floor_area_m2": "8 x 2 m"}).scenario.room

    assert one == other
    assert sides == one
    assert one.heat_loss_w_per_k > 20


def test_a_change_moves_the_plan_and_one_of_the_plan_ends_it() -> None:
    """Twice the promise, twice the cells; a changed line makes all lines the planner's."""
    before = room()
    more = change_from({"partners": [{"name": "food bank", "orders": [{"crop": "any", "kg": 8}]}]}, Path("c.toml"), "")
    own = change_from({"sowing": [{"name": "basil", "cells": 31}]}, Path("c.toml"), "")
    cells = {line.crop: line.cells for line in before.scenario.sowing}

    doubled = {line.crop: line.cells for line in changed_room(before, more).scenario.sowing}
    assert doubled == {crop: pytest.approx(2 * many, abs=1) for crop, many in cells.items()}
    changed = changed_room(before, own).scenario.sowing
    assert {line.crop: (line.cells, line.source) for line in changed} == {
        "basil": (31, ""), "lettuce": (cells["lettuce"], ""),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("change", "writes"),
    [('[[partners]]\nname = "food bank"\norders = [{ crop = "any", kg = 8 }]', 0),
     ('[[sowing]]\nname = "basil"\ncells = 31', 2),
     ('[[crew.shifts]]\nname = "Thursday morning"\nweekday = "fri"', 0)],
    ids=["promise", "plan", "shift"],
)  # fmt: skip
def test_a_kept_room_is_the_one_compared(change: str, writes: int, tmp_path: Path) -> None:
    """`keep` writes a plan only once the planner has said something of it."""
    (tmp_path / "room.toml").write_text(text(), encoding="utf-8")
    (tmp_path / "change.toml").write_text(change, encoding="utf-8")
    asked = [str(tmp_path / "room.toml"), str(tmp_path / "change.toml")]

    assert main(["keep", *asked, "--out", str(tmp_path / "kept")]) == 0
    kept = load_scenario(tmp_path / "kept").scenario
    loaded = load_scenario(tmp_path / "room.toml")
    compared = changed_room(loaded, change_from(tomllib.loads(change), Path("c.toml"), "")).scenario
    assert (kept.sowing, kept.harvest) == (compared.sowing, compared.harvest)
    assert (tmp_path / "kept" / "room.toml").read_text(encoding="utf-8").count("[[sowing]]") == writes
