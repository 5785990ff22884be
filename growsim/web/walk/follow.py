"""What follows from an answer: days of cutting from shifts, units from the region. And the room that
the steps begin with.
"""

from __future__ import annotations

import datetime as dt
import math
import tomllib

from growsim.scenario import usual
from growsim.scenario.begin import begun, of_region
from growsim.scenario.origin import is_invented
from growsim.scenario.toml.edit import Add, Edit, Give, Remove, edited
from growsim.vocabulary.days import WEEKDAYS
from growsim.web.walk.reading import Tables, listed, value_of
from growsim.web.walk.steps import Path

HARVEST_SOURCE = "invented: weekdays, surplus_weekday, surplus_hour"


def begin_with(name: str, region: str, today: dt.date | None = None) -> str:
    """The text of a new room: one begun from the starter, each crop sown once a week; its name and region are the
    planner's own. today: as in growsim.scenario.begin."""
    text = begun(name, today, region)
    tables = tomllib.loads(text)
    crops = [each["name"] for each in tables["crops"]]
    edits: list[Edit] = [Remove(("sowing", 0))]
    full: Tables = {**tables, "sowing": []}
    edits += [Add(("sowing",), {**new_sowing(full, crop, "thu"), "source": "invented"}) for crop in crops]
    text = edited(text, edits)
    own = ", ".join(key for key in tables["room"] if key not in ("name", "source", "units", "region"))
    more: list[Edit] = [Give(("room", "source"), f"invented: {own}"), Give(("harvest", "source"), HARVEST_SOURCE)]
    shifts, partners = tables["crew"]["shifts"], tables["partners"]
    marked: list[Path] = [("racks", 0), ("racks", 0, "shelves", 0), ("climate",), ("crew",), ("prices",)]
    marked += [("crops", n) for n in range(len(crops))] + [("crew", "shifts", n) for n in range(len(shifts))]
    for n, partner in enumerate(partners):
        marked += [("partners", n), *(("partners", n, "orders", i) for i in range(len(partner["orders"])))]
    more += [Give((*at, "source"), "invented") for at in marked]
    more += [Give(("crew", "shifts", n, "lead"), True) for n in range(len(shifts))]
    more += [Give(("harvest", "weekdays"), [each["weekday"] for each in shifts])]
    return edited(text, more)


def follow(step: str, tables: Tables, given: set[str]) -> None:
    """Change what follows from the answers given on a step."""
    if "region" in given:
        _as_in_the_region(tables)
    if step in ("shifts", "promises") and given:
        _cut_when_somebody_is_there(tables)
    if step == "shifts" and given:
        _let_all_in(tables)


def _as_in_the_region(tables: Tables) -> None:
    """Units at once; currency and closed days as long as they are not the planner's own."""
    start = value_of(tables, ("room", "start_date"))
    if not isinstance(start, dt.date):
        return
    for at, value in of_region(str(value_of(tables, ("room", "region")) or ""), start).items():
        holder = tables.get(at[0])
        if isinstance(holder, dict) and (at[1] == "units" or is_invented(str(holder.get("source", "")), at[1])):
            holder[at[1]] = value


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
    return {"name": crop, "crop": crop, "cells": math.floor(cells), "weekday": weekday, "source": "invented: cells"}


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


def _let_all_in(tables: Tables) -> None:
    """A shift's people, and who leads it, have room to work until the planner says how many do."""
    room = tables.get("room")
    people = [each.get("people") for each in tables.get("crew", {}).get("shifts", [])]
    largest = max((each for each in people if isinstance(each, int)), default=0) + 1
    if isinstance(room, dict) and is_invented(str(room.get("source", "")), "people_at_once"):
        there = room.get("people_at_once")
        room["people_at_once"] = max(largest, there if isinstance(there, int) else 1)
