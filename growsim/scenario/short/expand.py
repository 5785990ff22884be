"""From a short room file to the full one: one pure step on plain tables, before anything is checked.

What is short: `count` or `names` for things that are alike, `like` for usual values, a rack's own reservoir and lights,
shelves told by their trays, walls told by how they are made. A full file comes out as it went in. Names decide the
streams of chance, so a short room and the same room written long give the same answers, bit for bit.
"""

from __future__ import annotations

import copy
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from pydantic import ValidationError

from growsim.scenario import usual
from growsim.scenario.anatomy import anatomy_of, field_at
from growsim.scenario.crop import Emergence
from growsim.scenario.reading import as_written, dotted
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.laying import Keys, is_tables, kind_at, laid, leaves, name_of, value_at
from growsim.scenario.short.place import room_in_full, shelves_in_full, trays_in_full
from growsim.scenario.wording import Finding, listing, nearest

Path = tuple[str | int, ...]
LIKE, COUNT, NAMES = "like", "count", "names"
MOST = 200
OWN: dict[str, tuple[str, str]] = {"reservoir": ("reservoirs", "rack reservoir"), "lights": ("lights", "light bar")}
"""What a rack brings along: its key, the list it is kept in, the usual values it starts from."""

ADD_UP = ("fans_w",)
PROFILES: dict[Keys, str] = {
    ("crops",): "crops",
    ("trays",): "trays",
    ("reservoirs",): "reservoirs",
    ("reservoirs", "pump"): "pumps",
    ("reservoirs", "timer"): "timers",
    ("lights",): "lights",
    ("climate",): "climate",
    ("crew",): "crew",
}
"""The tables that may be `like` something, and the kind of profile each is like."""


@dataclass
class Expanded:
    """A room written out in full.

    tables: the room. usual: path of each figure that is a usual value -> its source. groups: (list, name as written,
    names of its members). own: what a rack brought along, (list, name) -> the rack and its key. trays: that its usual
    crops stand in.
    """

    tables: dict[str, Any]
    usual: dict[Path, str] = field(default_factory=dict)
    groups: list[tuple[str, str, list[str]]] = field(default_factory=list)
    own: dict[tuple[str, str], tuple[str, str]] = field(default_factory=dict)
    trays: list[str] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def as_written(self, findings: list[Finding]) -> list[Finding]:
        """Findings about the full room, said of what the planner wrote: once of a group if all in it have it."""
        own = {f"{key}.{name}": f"racks.{rack}.{which}" for (key, name), (rack, which) in self.own.items()}
        findings = [(_told_of_the_rack(at, own), problem, remedy) for at, problem, remedy in findings]
        for key, group, members in self.groups:
            found: dict[tuple[str, str, str], list[int]] = {}
            for place, (at, problem, remedy) in enumerate(findings):
                for name in members:
                    if at == f"{key}.{name}" or at.startswith(f"{key}.{name}."):
                        found.setdefault((at[len(key) + 1 + len(name) :], problem, remedy), []).append(place)
            for (rest, problem, remedy), places in found.items():
                if len(places) == len(members):
                    for place in places:
                        findings[place] = (f"{key}.{group}{rest}", problem, remedy)
        return list(dict.fromkeys(findings))


def _told_of_the_rack(at: str, own: dict[str, str]) -> str:
    for full, written in own.items():
        if at.startswith(f"{full}."):
            return written + at[len(full) :]
    return at


def expand(written: dict[str, Any]) -> Expanded:
    """The room in full. `written` is not touched. What cannot be expanded is a finding, and left for the checks."""
    room = Expanded(copy.deepcopy(written))
    tables = room.tables
    for keys, holder, key in _named_lists(tables):
        holder[key] = _laid_over_namesakes(_singled(holder[key], keys, room), keys, room)
    for key, (kept_in, like) in OWN.items():
        _bring_along(tables, key, kept_in, like, room)
    for keys, holder, key in _named_lists(tables):
        holder[key] = _laid_over_namesakes(holder[key], keys, room)
    _fill(tables, (), (), room)
    _up_before_they_move(tables, room.usual)
    trays_in_full(tables, room.trays, room.usual)
    room.findings += shelves_in_full(tables, room.own, room.usual)
    room.findings += room_in_full(tables, room.usual)
    return room


def _named_lists(tables: dict[str, Any]) -> Iterator[tuple[Keys, dict[str, Any], str]]:
    """Every list of named entries that may be told as a group: where it is kept."""
    for at in ((), ("crew",)):
        holder = tables.get(at[0]) if at else tables
        if not isinstance(holder, dict):
            continue
        for key, value in list(holder.items()):
            field_there = field_at(Scenario, (*at, key))
            table = anatomy_of(field_there).table if field_there is not None else None
            if table is not None and is_tables(value) and COUNT not in table.model_fields:
                yield (*at, key), holder, key


def _singled(entries: list[dict[str, Any]], keys: Keys, room: Expanded) -> list[dict[str, Any]]:
    """Each entry with a `count` or `names` as so many entries."""
    full = []
    for place, entry in enumerate(entries):
        if COUNT not in entry and NAMES not in entry:
            full.append(entry)
            continue
        shown = ".".join((*keys, name_of(entry) or f"entry {place + 1}"))
        names = _names(entry, shown, room.findings)
        if entry in entries[:place]:  # one that says something else changes those of its names
            room.findings.append((shown, "is there twice, word by word", "take one of the two out"))
        rest = {key: value for key, value in entry.items() if key not in (COUNT, NAMES, "name")}
        room.groups.append((".".join(keys), name_of(entry) or (names[0] if names else ""), names))
        full += [{"name": name, **_share(rest, keys, number, len(names))} for number, name in enumerate(names)]
    return full


def _names(entry: dict[str, Any], shown: str, findings: list[Finding]) -> list[str]:
    count, names, name = entry.get(COUNT), entry.get(NAMES), name_of(entry)
    if NAMES in entry:
        if not isinstance(names, list) or not names or not all(isinstance(n, str) and n.strip() for n in names):
            findings.append((f"{shown}.{NAMES}", f"is {as_written(names)}", 'list the names, such as ["A", "B"]'))
            return [name or "unnamed"]
        if COUNT in entry and count != len(names):
            findings.append(
                (f"{shown}.{COUNT}", f"is {as_written(count)} for {len(names)} names", "leave the count out")
            )
        return [each.strip() for each in names]
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= MOST:
        findings.append((f"{shown}.{COUNT}", f"is {as_written(count)}", f"give a whole number from 1 to {MOST}"))
        return [name or "unnamed"]
    if not name:
        findings.append((shown, "has a count but no name", 'give a name: "rack" makes rack 1, rack 2, ...'))
        return ["unnamed"]
    return [f"{name} {number}" for number in range(1, count + 1)]


def _share(value: Any, keys: Keys, number: int, of: int) -> Any:
    """What one of a group has: from a list as long as the group where one value belongs, its own."""
    if isinstance(value, dict):
        return {key: _share(inner, (*keys, key), number, of) for key, inner in value.items()}
    if isinstance(value, list) and len(value) == of and not is_tables(value) and _takes_one(kind_at(keys)):
        return copy.deepcopy(value[number])
    return copy.deepcopy(value)


def _takes_one(kind: str) -> bool:
    return kind in ("figure", "number", "whole number", "text", "choice", "yes or no", "date")


def _bring_along(tables: dict[str, Any], key: str, kept_in: str, like: str, room: Expanded) -> None:
    """A rack that names no reservoir (no lights) has its own, called as the rack is."""
    brought = []
    for rack in tables.get("racks", []) if is_tables(tables.get("racks")) else []:
        told = rack.get(key, {})
        if not name_of(rack) or not isinstance(told, dict):
            continue
        usual_first = {} if _is_complete(told, kept_in) else {LIKE: like}
        own = {"name": name_of(rack), **usual_first, **told}
        rack[key] = own["name"]
        brought.append(own)
        room.own[kept_in, own["name"]] = (name_of(rack), key)
    if brought:
        listed = tables.get(kept_in, [])
        tables[kept_in] = [*brought, *listed] if isinstance(listed, list) else listed


def _is_complete(told: dict[str, Any], kept_in: str) -> bool:
    """Whether it says all that its table must have: then it is taken as it stands, without usual values."""
    listed = field_at(Scenario, (kept_in,))
    model = anatomy_of(listed).table if listed is not None else None
    needed = [key for key, each in model.model_fields.items() if each.is_required()] if model is not None else []
    return {"name", *told} >= set(needed)


def _laid_over_namesakes(entries: list[dict[str, Any]], keys: Keys, room: Expanded) -> list[dict[str, Any]]:
    """An entry named as one of a group, or as what a rack brought along, changes that one and no other."""
    made = {name for key, _, names in room.groups if key == ".".join(keys) for name in names}
    made |= {name for key, name in room.own if key == keys[0]}
    full: list[dict[str, Any]] = []
    first: dict[str, int] = {}
    for entry in entries:
        name = name_of(entry)
        if name in made and name in first:
            full[first[name]] = laid(full[first[name]], entry, keys)
        else:
            first.setdefault(name, len(full))
            full.append(entry)
    return [entry for entry in full if not (entry.get("remove") is True and name_of(entry) in made)]


def _fill(table: Any, keys: Keys, path: Path, room: Expanded) -> None:
    """Put usual values under every table that is `like` something, from the outside in."""
    if isinstance(table, list):
        for place, inner in enumerate(table):
            if isinstance(inner, dict):
                _fill(inner, keys, (*path, place), room)
        return
    if LIKE in table and (kind := PROFILES.get(keys)):
        _put_under(table, kind, keys, path, room)
    for key, inner in list(table.items()):
        if isinstance(inner, dict) or is_tables(inner):
            _fill(inner, (*keys, key), (*path, key), room)


def _put_under(table: dict[str, Any], kind: str, keys: Keys, path: Path, room: Expanded) -> None:
    liked = table.pop(LIKE)
    names = liked if isinstance(liked, list) else [liked]
    _add_up(table, kind, [name for name in names if name in usual.names(kind)], path, room)
    for name in reversed(names):
        if not isinstance(name, str) or name not in usual.names(kind):
            room.findings.append((f"{dotted(room.tables, path)}.{LIKE}", *_unknown(name, kind)))
            continue
        found = usual.profile(kind, name)
        given = {each for each, _ in leaves(table, keys)}
        whole = laid(_without_doubt_of(found.tables, table), table, keys)
        for below, source in found.sources.items():
            if below not in given and value_at(whole, below) == value_at(found.tables, below):
                room.usual.setdefault((*path, *below), source)
        room.trays += [stage["tray"] for stage in found.tables.get("stages", [])] if kind == "crops" else []
        table.clear()
        table.update(whole)


def _up_before_they_move(tables: dict[str, Any], origins: dict[Path, str]) -> None:
    """Where the air is cool, seed takes longer to germinate than a usual first stage lasts: then that lasts as long."""
    climate = tables.get("climate")
    air = climate.get("air_temperature_c") if isinstance(climate, dict) else None
    if isinstance(air, bool) or not isinstance(air, (int, float)):
        return
    for place, crop in enumerate(tables["crops"] if is_tables(tables.get("crops")) else []):
        try:
            days = math.ceil(Emergence.model_validate(crop.get("emergence")).at(air)[0])
        except (ValidationError, IndexError):  # told of the table
            continue
        for number, stage in enumerate(crop["stages"] if is_tables(crop.get("stages")) else []):
            at = ("crops", place, "stages", number, "days")
            if "after" not in stage and at in origins and stage["days"] < days:
                stage["days"] = days
                origins[at] = f"as long as seed takes to germinate at {air:g} °C; {origins[at]}"


def _without_doubt_of(usual_ones: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    """Usual values without the doubt of those kinds of work that the planner has timed."""
    timed = [name_of(each) for each in own.get("tasks", []) if isinstance(each, dict) and "minutes_per_unit" in each]
    if "tasks" not in usual_ones or not timed:
        return usual_ones
    kept = [
        {key: value for key, value in each.items() if key != "minutes_factor" or each["name"] not in timed}
        for each in usual_ones["tasks"]
    ]
    return {**usual_ones, "tasks": kept}


def _add_up(table: dict[str, Any], kind: str, names: list[str], path: Path, room: Expanded) -> None:
    """What several profiles each use of the same thing is the sum of it."""
    for key in ADD_UP:
        using = [usual.profile(kind, name) for name in names]
        using = [each for each in using if key in each.tables]
        if len(using) > 1 and key not in table:
            table[key] = math.fsum(each.tables[key] for each in using)
            room.usual[*path, key] = "; ".join(dict.fromkeys(each.sources[key,] for each in using))


def _unknown(name: Any, kind: str) -> tuple[str, str]:
    known = usual.names(kind)
    right = nearest(name, known) if isinstance(name, str) else None
    alike = [each for each in known if isinstance(name, str) and re.search(rf"\b{re.escape(name.lower())}\b", each)]
    remedy = f"did you mean '{right}'" if right else f"there are: {listing(known, 30)}"
    remedy = f'write "{listing(alike)}"'.replace(", ", '", "').replace(" or ", '" or "') if alike else remedy
    return f"{as_written(name)} is no usual value that comes with growsim", remedy


def liked(table: dict[str, Any], over: dict[str, Any], keys: Keys) -> tuple[dict[str, Any], dict[str, Any]]:
    """A table with the profiles that `over` is `like` laid over it, and `over` without that word.

    A profile there is none of is left in `over`, to be told of.
    """
    kind, names = PROFILES.get(keys), over[LIKE] if isinstance(over[LIKE], list) else [over[LIKE]]
    if kind is None or any(name not in usual.names(kind) for name in names):
        return table, over
    for name in names:
        table = laid(table, usual.profile(kind, name).tables, keys)
    return table, {key: value for key, value in over.items() if key != LIKE}
