"""What the steps write into a room file as written. Plain tables in, plain tables out."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from growsim.scenario.asked import as_the_starter_has_it, invented_at, source_at, value_of
from growsim.scenario.begin import of_region
from growsim.scenario.names import ANY_CROP
from growsim.scenario.origin import OURS, is_invented, with_own
from growsim.scenario.toml.edit import Add, Edit, Remove, applied, edits_between
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS
from growsim.web.walk.reading import Tables, listed, most_rows, place_of, promises_of
from growsim.web.walk.steps import Field, Path, Step

CROPS_OURS = f"name, like: {OURS}"
LISTS: tuple[Path, ...] = (("crops",), ("sowing",), ("partners",), ("crew", "shifts"))


def with_answers(
    step: Step,
    written: Mapping[str, Any],
    given: Mapping[str, Any],
    *,
    touched: Collection[str] = (),
    right: bool = False,
) -> Tables:
    """The room's tables with what was answered, and all that follows from it. given: name of a field -> its value,
    for those that changed. touched: fields typed again as they were. right: whether all the others of the page are
    right as they are."""
    tables: Tables = copy.deepcopy(dict(written))
    fields = step.inputs()
    for field in fields:
        if field.row is None and field.name in given:
            _give(step, field, tables, given[field.name])
    rows = {name for name in given if any(field.name == name and field.row is not None for field in fields)}
    if rows and step.rows is not None:
        {"shifts": _shifts, "promises": _promises}[step.rows.of](step, tables, given)
    for field in step.inputs():
        if right or field.name in given or field.name in touched:
            touch(step, field, tables)
    if "electricity" in given or (right and step.name == "closed"):  # which stands in it
        make_own(tables, ("prices", "currency"))
    if "begins" in given:
        _close_in_that_year(tables)
    return tables


def _close_in_that_year(tables: Tables) -> None:
    """The region's holidays are those of the year that begins then, until the planner says when it is closed."""
    room: Any = tables.get("room")
    if isinstance(room, dict) and is_invented(str(room.get("source", "")), "closed_days"):
        begins = room.get("start_date")
        if isinstance(begins, dt.date):
            room["closed_days"] = of_region(str(room.get("region", "")), begins)["room", "closed_days"]


def _give(step: Step, field: Field, tables: Tables, value: Any) -> None:
    if field.kind == "crops":
        _choose(tables, value)
        return
    at = field.at
    holder = value_of(tables, at[:-1])
    if holder is None and len(at) == 2:
        holder = tables[str(at[0])] = {}
    if not isinstance(holder, dict):
        return
    key, there = str(at[-1]), holder.get(str(at[-1]))
    if value is None:
        holder.pop(key, None)
    else:
        holder[key] = [value, *there[1:]] if field.kind == "choice" and isinstance(there, list) else value


def _choose(tables: Tables, wanted: Sequence[str]) -> None:
    """Crops that stay keep what is said of them; no order and no line of a plan names one that went."""
    kept = [each for each in listed(tables, ("crops",)) if each.get("like") in wanted]
    there = {each["like"] for each in kept}
    gone = {each.get("name") for each in listed(tables, ("crops",))} - {each["name"] for each in kept}
    fresh = [{"name": name, "like": name, "source": CROPS_OURS} for name in wanted if name not in there]
    tables["crops"] = [*({**each, "source": CROPS_OURS} for each in kept), *fresh]
    if "sowing" in tables:
        tables["sowing"] = [line for line in listed(tables, ("sowing",)) if line.get("crop") not in gone]
    for partner in listed(tables, ("partners",)):
        orders: list[Tables] = []
        for order in listed(partner, ("orders",)):
            crop = ANY_CROP if order.get("crop") in gone else order.get("crop")
            same = next((each for each in orders if each.get("crop") == crop), None)
            if same is None:
                orders.append({**order, "crop": crop})
            elif all(isinstance(each.get("kg"), (int, float)) for each in (same, order)):
                same["kg"] = round(same["kg"] + order["kg"], 3)
        partner["orders"] = orders


def _row(given: Mapping[str, Any], of: str, row: int, there: Mapping[str, Any]) -> tuple[Tables, bool]:
    """A row with what was answered over what is there; whether anything was."""
    start = f"{of}-{row}-"
    told = {name.removeprefix(start): value for name, value in given.items() if name.startswith(start)}
    return {**there, **told}, bool(told)


def _shifts(step: Step, tables: Tables, given: Mapping[str, Any]) -> None:
    shifts = listed(tables, ("crew", "shifts"))
    keys = {"weekday": "weekday", "start": "start_hour", "hours": "hours", "people": "people", "lead": "lead"}
    kept: list[Tables] = []
    for row in range(most_rows(step)):
        there = shifts[row] if row < len(shifts) else {}
        told, is_told = _row(given, "shifts", row, {name: there.get(key) for name, key in keys.items()})
        if not told["weekday"]:
            continue
        new = {**there, **{keys[name]: value for name, value in told.items()}}
        new = {key: value for key, value in new.items() if value is not None}
        if not there:
            new = {"lead": True, **new, "source": OURS}
        if is_told and (not there or new.get("weekday") != there.get("weekday")):
            new = {"name": _called(new, kept, shifts), **{k: v for k, v in new.items() if k != "name"}}
        kept.append(new)
    tables.setdefault("crew", {})["shifts"] = kept


def _called(shift: Mapping[str, Any], kept: Sequence[Tables], others: Sequence[Tables]) -> str:
    hour = shift.get("start_hour")
    hour = hour if isinstance(hour, (int, float)) else 9
    part = "morning" if hour < 12 else "afternoon" if hour < 17 else "evening"
    name = f"{NAME_OF_WEEKDAY.get(str(shift.get('weekday')), 'a')} {part}"
    taken = {each.get("name") for each in (*kept, *others)}
    return name if name not in taken else next(f"{name} {n}" for n in range(2, 99) if f"{name} {n}" not in taken)


def _promises(step: Step, tables: Tables, given: Mapping[str, Any]) -> None:
    there = promises_of(tables)
    partners: list[Tables] = []
    for row in range(most_rows(step)):
        partner, order = there[row] if row < len(there) else ({}, {})
        before = {
            "who": partner.get("name"), "crop": order.get("crop"), "kg": order.get("kg"),
            "weekday": partner.get("weekday"),
        }  # fmt: skip
        told, is_told = _row(given, "promises", row, before)
        if not told["who"]:
            continue
        new_order = {
            **order,
            "crop": told["crop"] or ANY_CROP,
            **({"kg": told["kg"]} if told["kg"] is not None else {}),
        }
        if told["kg"] is None:
            new_order.pop("kg", None)
        if is_told and not order:
            new_order["source"] = OURS
        day = told["weekday"] or WEEKDAYS[4]
        same = [each for each in partners if each["name"].removesuffix(f" {NAME_OF_WEEKDAY.get(day)}") == told["who"]]
        mine = next((each for each in same if each["weekday"] == day), None)
        if mine is None:
            taken = any(each["name"] == told["who"] for each in partners)
            name = f"{told['who']} {NAME_OF_WEEKDAY.get(day, '')}".strip() if taken else told["who"]
            mine = {**partner, "name": name, "weekday": day, "orders": []}
            partners.append(mine)
        mine["orders"].append(new_order)
    tables["partners"] = partners


def edits_to(written: Mapping[str, Any], tables: Tables) -> list[Edit]:
    """The edits that turn one file's tables into the others, lists in the order asked for."""
    edits = list(edits_between(written, tables))
    if applied(written, edits) == tables:
        return edits
    plain = copy.deepcopy(dict(written))
    edits = []
    for at in LISTS:
        old, new = listed(written, at), listed(tables, at)
        if old != new:
            edits += [Remove((*at, place)) for place in reversed(range(len(old)))] + [Add(at, each) for each in new]
    plain = applied(written, edits)
    return [*edits, *edits_between(plain, tables)]


def touch(step: Step, field: Field, tables: Tables) -> None:
    """From now on it is the planner's own."""
    if field.kind == "crops":
        for each in listed(tables, ("crops",)):
            each["source"] = CROPS_OURS
        return
    at = place_of(step, field, tables)
    if at is not None:
        make_own(tables, at)


def make_own(tables: Tables, at: Path) -> None:
    """A figure of the file is the planner's own from now on."""
    holder, key, source = value_of(tables, at[:-1]), str(at[-1]), source_at(tables, at)
    if isinstance(holder, dict) and invented_at(tables, at):
        inner = [k for k, v in holder.items() if isinstance(v, list) and v and isinstance(v[0], dict)]
        given = [k for k in holder if k not in ("note", *inner)]
        the_starters = [k for k in given if as_the_starter_has_it(tables, (*at[:-1], k))]
        holder["source"] = with_own(source, key, given, the_starters)
