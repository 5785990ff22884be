"""A room begun from the starter: under its own name, its year from the Monday to come, in its region."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from growsim.scenario.starter import starter_text
from growsim.scenario.toml.edit import Edit, Give, Remove, edited
from growsim.vocabulary.regions import BY_NAME


def begun(name: str, today: dt.date | None = None, region: str = "") -> str:
    """The text of a room of that name. today: its year begins on the Monday to come, so that closings as people know
    them fall into it; None: as the starter's. region: "" to leave that open."""
    start = tomllib.loads(starter_text())["room"]["start_date"]
    if today is not None:
        start = today + dt.timedelta(days=-today.weekday() % 7)
    edits: list[Edit] = [Give(("room", "name"), name), Give(("room", "start_date"), start)]
    if region:
        edits += [Give(("room", "region"), region)]
    edits += [Give(at, value) for at, value in of_region(region, start).items()]
    edits += [Give(("room", "source"), "invented: start_date, closed_days")]
    return edited(starter_text(), edits)


def begun_by_steps(name: str, region: str, today: dt.date | None = None) -> str:
    """The same with one promise, all marked as invented until somebody touches it; name and region are the planner's
    own."""
    text = begun(name, today, region)
    tables = tomllib.loads(text)
    own = ", ".join(key for key in tables["room"] if key not in ("name", "source", "units", "region"))
    edits: list[Edit] = [Remove(("partners", 0, "orders", 1)), Give(("room", "source"), f"invented: {own}")]
    marked: list[tuple[str | int, ...]] = [("climate",), ("crew",), ("prices",), ("rehearsal",)]
    marked += [("racks", 0), ("racks", 0, "shelves", 0), ("partners", 0), ("partners", 0, "orders", 0)]
    marked += [("crops", n) for n in range(len(tables["crops"]))]
    marked += [("crew", "shifts", n) for n in range(len(tables["crew"]["shifts"]))]
    edits += [Give((*at, "source"), "invented") for at in marked]
    return edited(text, edits)


def of_region(region: str, start: dt.date) -> Mapping[tuple[str, str], Any]:
    """What goes with a region unless the planner says otherwise, by place in the file: units, weather, closed days,
    currency and what electricity costs in it."""
    row = BY_NAME.get(region, BY_NAME["elsewhere"])
    found: dict[tuple[str, str], Any] = {("room", "closed_days"): _in_the_year_from(start, row.holidays)}
    if region:
        found |= {("room", "units"): row.units, ("room", "weather"): row.weather}
    if row.currency:
        found |= {("prices", "currency"): row.currency, ("prices", "electricity_per_kwh"): row.electricity_per_kwh}
    return found


def _in_the_year_from(start: dt.date, days: Sequence[tuple[int, int]]) -> list[dt.date]:
    """(month, day) of each as the first date that is not before `start`."""
    here = (dt.date(start.year, month, day) for month, day in days)
    return sorted(day if day >= start else day.replace(year=start.year + 1) for day in here)
