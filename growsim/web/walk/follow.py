"""What follows from an answer: days of harvest from shifts, what is sown from promises. And the room that the steps
begin with.
"""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from collections.abc import Mapping
from typing import Any

from growsim.errors import InputError
from growsim.scenario import on_paper, usual
from growsim.scenario.begin import begun, of_region
from growsim.scenario.load import scenario_from
from growsim.scenario.names import ANY_CROP
from growsim.scenario.origin import is_invented
from growsim.scenario.toml.edit import Add, Edit, Give, Remove, edited
from growsim.vocabulary.days import WEEKDAYS
from growsim.web.walk.reading import Tables, listed
from growsim.web.walk.steps import Path

BEGUN_SHIFTS = 2
HARVEST_SOURCE = "invented: weekdays, surplus_weekday, surplus_hour"


def begin_with(name: str, region: str, today: dt.date | None = None) -> str:
    """The text of a new room: one begun from the starter, with two shifts and one promise; its name and region are the
    planner's own. today: as in growsim.scenario.begin."""
    text = begun(name, today, region)
    tables = tomllib.loads(text)
    shifts, partner = tables["crew"]["shifts"], tables["partners"][0]
    edits: list[Edit] = [Remove(("crew", "shifts", n)) for n in reversed(range(BEGUN_SHIFTS, len(shifts)))]
    edits += [Remove(("partners", 0, "orders", n)) for n in reversed(range(1, len(partner["orders"])))]
    edits += [Remove(("sowing", 0))]
    text = edited(text, edits)
    tables = tomllib.loads(text)
    lines = [new_sowing(tables, crop["name"], shifts[0]["weekday"]) for crop in tables["crops"]]
    cells = sown_for_promises({**tables, "sowing": lines})
    edits = [Add(("sowing",), {**line, "cells": cells.get(line["crop"], line["cells"])}) for line in lines]
    own = ", ".join(key for key in tables["room"] if key not in ("name", "source", "units", "region"))
    edits += [Give(("room", "source"), f"invented: {own}"), Give(("harvest", "source"), HARVEST_SOURCE)]
    marked: list[Path] = [("racks", 0), ("racks", 0, "shelves", 0), ("partners", 0), ("partners", 0, "orders", 0)]
    marked += [("climate",), ("crew",), ("prices",), ("rehearsal",)]
    marked += [("crops", n) for n in range(len(tables["crops"]))]
    marked += [("crew", "shifts", n) for n in range(BEGUN_SHIFTS)]
    edits += [Give((*at, "source"), "invented") for at in marked]
    edits += [Give(("crew", "shifts", n, "lead"), True) for n in range(BEGUN_SHIFTS)]
    edits += [Give(("harvest", "weekdays"), [each["weekday"] for each in shifts[:BEGUN_SHIFTS]])]
    return edited(text, edits)


def follow(step: str, written: Mapping[str, Any], tables: Tables, given: set[str]) -> None:
    """Change what follows from the answers given on a step. written: the room before them."""
    if step in ("shifts", "promises") and given:
        _cut_when_somebody_is_there(tables)
    if step == "shifts" and given:
        _let_all_in(tables)
    if "begins" in given:
        _close_in_that_year(tables)
    if given:
        _sow_what_is_promised(written, tables)


def sown_for_promises(tables: Mapping[str, Any]) -> dict[str, int]:
    """Cells a week of each crop that its promises take, on paper, as far as they fit; an order of any crop is shared by
    all. {} for a room with a fault."""
    try:
        scenario, _ = scenario_from(dict(tables), "")
    except InputError:
        return {}
    found: dict[str, int] = {}
    for crop in scenario.crops:
        orders = [(partner, order) for partner in scenario.partners for order in partner.orders]
        kg = math.fsum(order.kg for _, order in orders if order.crop == crop.name)
        kg += math.fsum(order.kg for _, order in orders if order.crop == ANY_CROP) / len(scenario.crops)
        first = crop.stages_in_order()[0]
        most = on_paper.slots_for(scenario, first) * on_paper.trays_by_name(scenario)[first.tray].places
        if kg > 0:
            found[crop.name] = min(on_paper.cells_for(crop, kg, scenario.climate.air_temperature_c), most)
    return found


def _sow_what_is_promised(written: Mapping[str, Any], tables: Tables) -> None:
    """A line of the plan is as large as its promises ask, on the first shift of the week, while nobody says else."""
    before, now = sown_for_promises(written), sown_for_promises(tables)
    days = sorted((each.get("weekday") for each in listed(tables, ("crew", "shifts"))), key=_place_in_week)
    for line in listed(tables, ("sowing",)):
        source, crop = str(line.get("source", "")), str(line.get("crop"))
        if is_invented(source, "cells") and crop in now and line.get("cells") == before.get(crop, line.get("cells")):
            line["cells"] = now[crop]
        if is_invented(source, "weekday") and days:
            line["weekday"] = days[0]


def _place_in_week(day: Any) -> int:
    return WEEKDAYS.index(day) if day in WEEKDAYS else len(WEEKDAYS)


def _stages(crop: Tables) -> list[Tables]:
    like = crop.get("like")
    own = crop.get("stages") or (usual.profile("crops", like).tables["stages"] if like in usual.names("crops") else [])
    return [each for each in own if isinstance(each, dict)]


def new_sowing(tables: Tables, crop: str, weekday: str) -> Tables:
    """A line of the plan: each week cells for one shelf of the crop's last trays, or one tray of seedlings if fewer."""
    table = next(each for each in tables["crops"] if each["name"] == crop)
    stages, trays = _stages(table), usual.names("trays")
    slots = ((tables.get("racks") or [{}])[0].get("shelves") or [{}])[-1].get("slots")
    places = [usual.profile("trays", each["tray"]).tables["places"] for each in stages if each["tray"] in trays] or [4]
    cells = (slots if isinstance(slots, int) else 6) * places[-1]
    cells = min(cells, max(places[0], 6)) if len(stages) > 1 or places[0] > 1 else cells
    return {
        "name": crop,
        "crop": crop,
        "cells": math.floor(cells),
        "weekday": weekday,
        "source": "invented: cells, weekday",
    }


def _cut_when_somebody_is_there(tables: Tables) -> None:
    """Greens are cut on the days with a lead, and what is left over goes at the end of the last shift of the week, once
    partners have been there."""
    harvest = tables.get("harvest")
    shifts = [each for each in tables.get("crew", {}).get("shifts", []) if each.get("weekday") in WEEKDAYS]
    if not isinstance(harvest, dict) or not shifts:
        return
    source = str(harvest.get("source", ""))
    shifts.sort(key=lambda each: WEEKDAYS.index(each["weekday"]))
    led = [each["weekday"] for each in shifts if each.get("lead", True)] or [each["weekday"] for each in shifts]
    last, ends = shifts[-1], []
    for key in ("start_hour", "hours"):
        ends += [last[key]] if isinstance(last.get(key), (int, float)) else []
    if is_invented(source, "weekdays"):  # else the planner has said when
        harvest["weekdays"] = list(dict.fromkeys(led))
    if is_invented(source, "surplus_weekday"):
        harvest["surplus_weekday"] = last["weekday"]
    if is_invented(source, "surplus_hour"):
        day = harvest.get("surplus_weekday")
        after = [each.get("hour") for each in listed(tables, ("partners",)) if each.get("weekday") == day]
        hours = [
            math.fsum(ends) if len(ends) == 2 else 16.0,
            *(hour for hour in after if isinstance(hour, (int, float))),
        ]
        harvest["surplus_hour"] = min(math.ceil(max(hours) + 1), 23)


def _close_in_that_year(tables: Tables) -> None:
    """The region's holidays are those of the year that begins then, until the planner says when it is closed."""
    room = tables.get("room")
    if isinstance(room, dict) and is_invented(str(room.get("source", "")), "closed_days"):
        begins = room.get("start_date")
        if isinstance(begins, dt.date):
            room["closed_days"] = of_region(str(room.get("region", "")), begins)["room", "closed_days"]


def _let_all_in(tables: Tables) -> None:
    """A shift's people, and who leads it, have room to work until the planner says how many do."""
    room = tables.get("room")
    people = [each.get("people") for each in tables.get("crew", {}).get("shifts", [])]
    largest = max((each for each in people if isinstance(each, int)), default=0) + 1
    if isinstance(room, dict) and is_invented(str(room.get("source", "")), "people_at_once"):
        there = room.get("people_at_once")
        room["people_at_once"] = max(largest, there if isinstance(there, int) else 1)
