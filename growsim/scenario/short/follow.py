"""What a planner need not say, because it follows from what they do say: days of harvest and how many work at once from
the shifts, the hour of a pick-up, the price of power from the region, and what is sown from what is promised.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from functools import lru_cache
from json import dumps
from typing import Any

from pydantic import ValidationError

from growsim.scenario import promised_plan
from growsim.scenario.checks import crops as check_crops
from growsim.scenario.demand import Sowing
from growsim.scenario.names import name_faults
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.laying import is_tables
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.regions import BY_NAME

Path = tuple[str | int, ...]
SHIFTS_SOURCE = "follows the shifts"
REGION_SOURCE = "what households pay in the region, from memory"
USUAL_CURRENCY = "USD"
USUAL_HOUR = 15.0
_SOUND = (check_crops.stage_lines, check_crops.stage_places, check_crops.emergence_tables)
"""What must hold of the crops before a plan is thinkable."""


def followed(told: Mapping[str, Any]) -> tuple[dict[str, Any], dict[Path, str]]:
    """A room in full with all that follows, where it says nothing itself; and path -> source of what that is.

    What is not right is told by others. `told` is not touched.
    """
    tables, origins = copy.deepcopy(dict(told)), dict[Path, str]()
    shifts = _shifts(tables)
    if shifts:
        _people_at_once(tables, shifts, origins)
        _pick_ups(tables, shifts, origins)
        _harvest(tables, shifts, origins)
    _prices(tables, origins)
    if "sowing" not in tables:
        _plan(tables, origins)
    return tables, origins


def with_plan(told: Mapping[str, Any]) -> dict[str, Any]:
    """A room in full with its plan written out, as the planner's from now on."""
    if "sowing" in told:
        return dict(told)
    lines = followed(told)[0].get("sowing", [])
    return {**told, "sowing": [{key: value for key, value in line.items() if key != "source"} for line in lines]}


def _shifts(tables: dict[str, Any]) -> list[dict[str, Any]]:
    """The shifts whose day and hours can be read."""
    crew = tables.get("crew")
    listed = crew.get("shifts") if isinstance(crew, dict) else None
    return [
        each
        for each in (listed if isinstance(listed, list) and is_tables(listed) else [])
        if each.get("weekday") in WEEKDAYS and all(_is_number(each.get(key)) for key in ("start_hour", "hours"))
    ]


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _people_at_once(tables: dict[str, Any], shifts: list[dict[str, Any]], origins: dict[Path, str]) -> None:
    """All who are signed up together have room."""
    room = tables.get("room")
    if not isinstance(room, dict) or "people_at_once" in room:
        return
    heads = [
        math.fsum(_heads(other) for other in shifts if other["weekday"] == one["weekday"] and _meet(one, other))
        for one in shifts
    ]
    room["people_at_once"] = max(1, round(max(heads)))
    origins["room", "people_at_once"] = SHIFTS_SOURCE


def _heads(shift: dict[str, Any]) -> int:
    months = shift.get("people_by_month")
    people = [shift.get("people"), *(months if isinstance(months, (list, tuple)) else ())]
    return max((each for each in people if isinstance(each, int)), default=0) + (shift.get("lead") is not False)


def _meet(one: dict[str, Any], other: dict[str, Any]) -> bool:
    return bool(
        one["start_hour"] < other["start_hour"] + other["hours"]
        and other["start_hour"] < one["start_hour"] + one["hours"]
    )


def _ends(shift: dict[str, Any]) -> float:
    return float(shift["start_hour"] + shift["hours"])


def _pick_ups(tables: dict[str, Any], shifts: list[dict[str, Any]], origins: dict[Path, str]) -> None:
    """Partners come in the afternoon, and once that day's last shift has ended."""
    for place, partner in enumerate(tables["partners"] if is_tables(tables.get("partners")) else []):
        if "hour" not in partner:
            ends = [_ends(each) for each in shifts if each["weekday"] == partner.get("weekday")]
            partner["hour"] = min(23.0, max(USUAL_HOUR, *(math.ceil(end) for end in ends)) if ends else USUAL_HOUR)
            origins["partners", place, "hour"] = "the afternoon, after that day's shifts (common practice, no source)"


def _harvest(tables: dict[str, Any], shifts: list[dict[str, Any]], origins: dict[Path, str]) -> None:
    """Harvest on the days with a lead. What is left over goes once the longest time lies ahead without a pick-up."""
    harvest = tables.setdefault("harvest", {})
    if not isinstance(harvest, dict):
        return
    led = [each for each in shifts if each.get("lead", True)] or shifts
    if "weekdays" not in harvest:
        harvest["weekdays"] = [day for day in WEEKDAYS if any(each["weekday"] == day for each in led)]
        origins["harvest", "weekdays"] = SHIFTS_SOURCE
    if "surplus_weekday" in harvest:
        return
    partners = tables["partners"] if is_tables(tables.get("partners")) else []
    visits = [
        (each["weekday"], float(each["hour"]))
        for each in partners
        if each.get("weekday") in WEEKDAYS and _is_number(each.get("hour"))
    ]
    ends = [(each["weekday"], _ends(each)) for each in led]
    day, hour = max((*visits, *ends), key=lambda at: _hours_without(at, visits or ends))
    harvest["surplus_weekday"] = day
    origins["harvest", "surplus_weekday"] = f"{SHIFTS_SOURCE} and pick-ups"
    if "surplus_hour" not in harvest:
        harvest["surplus_hour"] = min(math.ceil(hour) + 1, 23)
        origins["harvest", "surplus_hour"] = f"{SHIFTS_SOURCE} and pick-ups"


def _hours_without(at: tuple[str, float], visits: list[tuple[str, float]]) -> float:
    """Hours from then to the next visit; a week where there is no other."""
    hours = [_of_week(each) - _of_week(at) for each in visits]
    return min((each % 168.0 or 168.0 for each in hours), default=168.0)


def _of_week(at: tuple[str, float]) -> float:
    return 24.0 * WEEKDAYS.index(at[0]) + at[1]


def _prices(tables: dict[str, Any], origins: dict[Path, str]) -> None:
    """What power costs there, where the currency is that of the region."""
    room, prices = tables.get("room"), tables.setdefault("prices", {})
    row = BY_NAME.get(str(room.get("region", "elsewhere"))) if isinstance(room, dict) else None
    if row is None or not isinstance(prices, dict) or "electricity_per_kwh" in prices:
        return
    currency = row.currency or USUAL_CURRENCY
    if prices.setdefault("currency", currency) == currency:
        prices["electricity_per_kwh"] = row.electricity_per_kwh
        origins["prices", "electricity_per_kwh"] = REGION_SOURCE


def _plan(tables: dict[str, Any], origins: dict[Path, str]) -> None:
    plain = dumps(tables, default=str, sort_keys=True)
    lines = [line.model_dump(exclude_defaults=True) for line in _plan_of(_Held(plain, tables))]
    if not lines:
        return
    tables["sowing"] = lines
    for place in range(len(lines)):
        origins["sowing", place, "cells"] = promised_plan.SOURCE


class _Held:
    """Tables that are the same where their text is, so that a plan found once is not looked for again."""

    def __init__(self, text: str, tables: Mapping[str, Any]) -> None:
        self.text, self.tables = text, tables

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and self.text == other.text

    def __hash__(self) -> int:
        return hash(self.text)


@lru_cache(maxsize=64)
def _plan_of(held: _Held) -> tuple[Sowing, ...]:
    """The lines; none for a room with a fault, of which others tell."""
    if name_faults(dict(held.tables)):
        return ()
    try:
        scenario = Scenario.model_validate(held.tables)
    except ValidationError:
        return ()
    if any(True for check in _SOUND for _ in check(scenario)):
        return ()
    return promised_plan.plan_of(scenario)
