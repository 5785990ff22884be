"""What a planner knows of the place, and what follows from it: slots from trays, a reservoir from its rack, heat from
how the walls are made, twelve months from the coldest and the warmest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from growsim.scenario import usual
from growsim.scenario.quantities import amount_in
from growsim.scenario.reading import as_written, short
from growsim.scenario.short.laying import is_tables, name_of
from growsim.scenario.wording import Finding, listing, nearest

Path = tuple[str | int, ...]
TRAYS, WALLS, DOORS, WEATHER = "trays", "walls", "doors", "weather"
LITERS_PER_M2 = 40.0
LEAST_LITERS = 20.0
LOWEST_LEVEL = 0.4
RESERVOIR_SOURCE = "common practice, no source: 40 L for each m² of slots, the pump left dry below two fifths"
HEAT_SOURCE = "from the walls: area times U, thermal bridges, doors, ground factor (EN 12831-1)"
STORE_SOURCE = "from the walls: inner heat capacity by floor area, ISO 13790:2008, 12.3.1.2"
TRAYS_SOURCE = "follows the trays that stand there"
MONTHS_SOURCE = "a cosine from the January to the July mean (common practice, no source)"
DOOR_M2 = 1.9
USUAL_HEIGHT_M = 2.4
YEARS, HOURS, HOURS_A_YEAR = "years_to_failure", "running_hours_to_failure", 8760.0


def trays_in_full(tables: dict[str, Any], liked: list[str], origins: dict[Path, str]) -> None:
    """Usual trays that a usual crop stands in, or shelves are told by, and the room does not describe."""
    listed = tables.get(TRAYS, [])
    if not isinstance(listed, list):
        return
    used = [stage.get("tray") for crop in _of(tables, "crops") for stage in _of(crop, "stages")]
    wanted = dict.fromkeys(name for name in liked if name in used)
    wanted |= dict.fromkeys(tray for shelves in _shelves(tables) for tray in _names_in(shelves.get(TRAYS)))
    there = {name_of(tray) for tray in listed}
    missing = [name for name in wanted if name not in there and name in usual.names(TRAYS)]
    for name in missing:
        profile = usual.profile(TRAYS, name)
        origins |= {(TRAYS, len(listed), *below): source for below, source in profile.sources.items()}
        listed = [*listed, {"name": name, **profile.tables}]
    if missing:
        tables[TRAYS] = listed


def shelves_in_full(
    tables: dict[str, Any], own: dict[tuple[str, str], tuple[str, str]], origins: dict[Path, str]
) -> list[Finding]:
    """Shelves told by their `trays` get the slots of the largest, and every stage that stands in one of them; of which
    nothing is told, all trays of the room's crops. A rack's own reservoir holds what is usual for so many slots."""
    trays = {name_of(tray): tray for tray in _of(tables, TRAYS)}
    stages = [stage for crop in _of(tables, "crops") for stage in _of(crop, "stages")]
    findings: list[Finding] = []
    for number, rack in enumerate(_of(tables, "racks")):
        for place, shelves in enumerate(_of(rack, "shelves")):
            names = _names_in(shelves.get(TRAYS))
            if not shelves.keys() & {TRAYS, "slot_length_cm", "slot_width_cm", "stages"}:
                shelves.setdefault("name", "shelves")
                names = list(dict.fromkeys(str(each.get("tray")) for each in stages))
                shelves[TRAYS] = names
            if names and all(name in trays for name in names):
                del shelves[TRAYS]
                for key in _fitted(shelves, names, trays, stages):
                    origins["racks", number, "shelves", place, key] = TRAYS_SOURCE
            elif TRAYS in shelves:
                key = ".".join(["racks", name_of(rack), "shelves", name_of(shelves), TRAYS])
                findings.append((key, *_no_tray(shelves.pop(TRAYS), [*trays, *usual.names(TRAYS)])))
    racks = {name_of(rack): rack for rack in _of(tables, "racks")}
    for place, reservoir in enumerate(_of(tables, "reservoirs")):
        _lived(reservoir, ("reservoirs", place), origins)
        name, _ = own.get(("reservoirs", name_of(reservoir)), ("", ""))
        if name in racks:
            _sized(reservoir, racks[name], ("reservoirs", place), origins)
    return findings


def _no_tray(given: Any, known: list[str]) -> tuple[str, str]:
    wrong = next((name for name in _names_in(given) if name not in known), "")
    if not wrong:
        return f"is {as_written(given)}", 'name the trays that stand there, such as ["plug tray"]'
    right = nearest(wrong, known)
    return f"'{short(wrong, 60)}' is no tray", f"did you mean '{right}'" if right else f"known: {listing(known)}"


def _fitted(
    shelves: dict[str, Any], names: list[str], trays: dict[str, dict[str, Any]], stages: list[dict[str, Any]]
) -> list[str]:
    """Say what the shelves do not say themselves; which keys those are."""
    sizes = [sorted(_size(trays[name]), reverse=True) for name in names]
    fitting = {
        "name": " and ".join(names)[:60],
        "slot_length_cm": max(size[0] for size in sizes),
        "slot_width_cm": max(size[1] for size in sizes),
        "stages": list(dict.fromkeys(name_of(s) for s in stages if s.get("tray") in names and name_of(s))),
    }
    left_out = [key for key in fitting if key not in shelves]
    shelves |= {key: fitting[key] for key in left_out}
    return left_out


def _sized(reservoir: dict[str, Any], rack: dict[str, Any], path: Path, origins: dict[Path, str]) -> None:
    try:
        area = math.fsum(
            s["count"] * s["slots"] * s["slot_length_cm"] * s["slot_width_cm"] / 1e4 for s in _of(rack, "shelves")
        )
    except (KeyError, TypeError):
        return
    if "capacity_l" not in reservoir:
        reservoir["capacity_l"] = max(LEAST_LITERS, round(LITERS_PER_M2 * area / 10.0) * 10.0)
        origins[*path, "capacity_l"] = RESERVOIR_SOURCE
    if "lowest_flood_level_l" not in reservoir and isinstance(reservoir["capacity_l"], (int, float)):
        reservoir["lowest_flood_level_l"] = round(LOWEST_LEVEL * reservoir["capacity_l"])
        origins[*path, "lowest_flood_level_l"] = RESERVOIR_SOURCE


def _lived(reservoir: dict[str, Any], path: Path, origins: dict[Path, str]) -> None:
    """A usual pump's years of life as running hours: it runs while it floods, and wears out by the calendar."""
    pump = reservoir.get("pump")
    life = pump.get("reliability") if isinstance(pump, dict) else None
    if not isinstance(life, dict) or YEARS not in life:
        return
    years, every, minutes = life.pop(YEARS), reservoir.get("flood_every_hours"), reservoir.get("flood_minutes")
    source = origins.pop((*path, "pump", "reliability", YEARS), "")
    if every == 0:  # runs all the time: usual floods and a usual timer are not meant
        for key in ("first_flood_hour", "flood_minutes", "timer"):
            found = [each for each in origins if each[: len(path) + 1] == (*path, key)]
            for each in found:
                del origins[each]
            if found:
                del reservoir[key]
        minutes = 0
    if not isinstance(every, (int, float)) or not isinstance(minutes, (int, float)) or every < 0 or HOURS in life:
        return  # told of the floods, or the planner knows better
    hours = years * HOURS_A_YEAR * (minutes / (60.0 * every) if every else 1.0)
    life[HOURS] = {"distribution": "exponential", "mean": round(hours, 1), "source": source}
    origins[*path, "pump", "reliability", HOURS] = source


def _size(tray: dict[str, Any]) -> tuple[float, float]:
    sides = [tray.get(key) for key in ("length_cm", "width_cm")]
    long_side, short_side = (side if isinstance(side, (int, float)) else 0.0 for side in sides)
    return long_side, short_side


def room_in_full(tables: dict[str, Any], origins: dict[Path, str]) -> list[Finding]:
    """Heat lost and heat kept from how the walls are made; twelve months from two."""
    room = tables.get("room")
    if not isinstance(room, dict):
        return []
    if "height_m" not in room:
        room["height_m"], origins["room", "height_m"] = USUAL_HEIGHT_M, "common practice, no source"
    return [*_heat(room, origins), *_months(room, origins)]


def heat_of(walls: str, floor_m2: float, height_m: float, doors: int) -> tuple[float, float]:
    """Heat lost (W/K) and heat kept (kJ/K) by a square room whose walls are of a usual make.

    Lost: sum of area x U over walls, ceiling, doors and the door of a garage, the floor with its ground factor, and an
    addition for thermal bridges on all of it (EN 12831-1). Kept: inner heat capacity for each m² of floor (ISO 13790,
    12.3.1.2). Raises KeyError for walls there are none of.
    """
    make = usual.profile(WALLS, walls).tables
    around_m2 = 4.0 * math.sqrt(floor_m2) * height_m
    garage_m2 = min(make.get("garage_door_m2", 0.0), around_m2)
    door_m2 = min(doors * DOOR_M2, around_m2 - garage_m2)
    wall_m2 = around_m2 - garage_m2 - door_m2
    lost = (
        wall_m2 * make["wall_w_per_m2_k"] * make["outside_factor"]
        + floor_m2 * make["ceiling_w_per_m2_k"]
        + floor_m2 * make["floor_w_per_m2_k"] * make["ground_factor"]
        + door_m2 * make["door_w_per_m2_k"]
        + garage_m2 * make.get("garage_door_w_per_m2_k", 0.0)
        + (around_m2 + 2.0 * floor_m2) * make["bridges_w_per_m2_k"]
    )
    return lost, make["heat_capacity_kj_per_m2_k"] * floor_m2


def _heat(room: dict[str, Any], origins: dict[Path, str]) -> list[Finding]:
    if WALLS not in room:
        return [("room.doors", "is given without walls", "say how the walls are made, too")] if DOORS in room else []
    walls, doors = room.pop(WALLS), room.pop(DOORS, 1)
    known = usual.names(WALLS)
    told = {key: room.get(key, 1.0) for key in ("heat_loss_w_per_k", "heat_capacity_kj_per_k", "air_changes_per_hour")}
    if walls not in known:
        room.update(told)  # told of the walls, not of what follows from them
        meant = _meant(walls, known) if isinstance(walls, str) else []
        remedy = "did you mean " + listing(f"'{each}'" for each in meant) if meant else f"there are: {listing(known)}"
        return [("room.walls", f"{as_written(walls)} is no make of wall that comes with growsim", remedy)]
    if isinstance(doors, bool) or not isinstance(doors, int) or not 0 <= doors <= 20:
        return [("room.doors", f"is {as_written(doors)}", "give a whole number from 0 to 20")]
    floor, height = room.get("floor_area_m2"), room.get("height_m")
    if not all(isinstance(side, (int, float)) and not isinstance(side, bool) and side > 0 for side in (floor, height)):
        room.update(told)
        return []  # told of the floor or the height
    assert isinstance(floor, (int, float)) and isinstance(height, (int, float))
    lost, kept = heat_of(walls, floor, height, doors)
    changes = usual.profile(WALLS, walls)
    for key, value, source in (
        ("heat_loss_w_per_k", float(f"{lost:.3g}"), HEAT_SOURCE),
        ("heat_capacity_kj_per_k", float(f"{kept:.3g}"), STORE_SOURCE),
        ("air_changes_per_hour", changes.tables["air_changes_per_hour"], changes.sources["air_changes_per_hour",]),
    ):
        if key not in room:
            room[key] = value
            origins["room", key] = source
    return []


def _meant(walls: str, known: Sequence[str]) -> list[str]:
    """The walls most like the word, unless it tells of another kind of room: "garage with ..." means a garage's."""
    kinds = [[name for name in known if name.split()[0] == word] for word in walls.lower().split()]
    of_kind = next((names for names in kinds if names), [])
    right = nearest(walls, known)
    return [right] if right and (right in of_kind or not of_kind) else of_kind


def _months(room: dict[str, Any], origins: dict[Path, str]) -> list[Finding]:
    keys, source = ("outdoor_january_c", "outdoor_july_c"), MONTHS_SOURCE
    if WEATHER in room:
        city, known = room.pop(WEATHER), usual.names(WEATHER)
        if city not in known:
            room.setdefault("outdoor_temperature_c", [10.0] * 12)  # told of the city, not of what follows from it
            right = nearest(city, known) if isinstance(city, str) else None
            remedy = f"did you mean '{right}'" if right else f"there are: {listing(known, 50)}"
            return [("room.weather", f"{as_written(city)} is no city whose weather comes with growsim", remedy)]
        for key, value in usual.profile(WEATHER, city).tables.items():
            room.setdefault(key, value)
        source = f"{MONTHS_SOURCE}; {city}: {usual.sources_of(WEATHER)['memory']}"
    if not any(key in room for key in keys):
        return []
    given = [room.pop(key, None) for key in keys]
    given = [amount_in(value, "°C") if isinstance(value, str) else value for value in given]
    for key, value in zip(keys, given, strict=True):
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            room.setdefault("outdoor_temperature_c", [10.0] * 12)  # told of the month, not of what follows from it
            problem = "is missing" if value is None else f"is {as_written(value)}"
            return [(f"room.{key}", problem, "give the mean of that month in °C: both months, or all twelve")]
    january, july = float(given[0]), float(given[1])
    if "outdoor_temperature_c" not in room:
        middle, half = (january + july) / 2.0, (january - july) / 2.0
        room["outdoor_temperature_c"] = [
            round(middle + half * math.cos(math.tau * month / 12.0), 1) for month in range(12)
        ]
        origins["room", "outdoor_temperature_c"] = source
    return []


def _of(holder: dict[str, Any], key: str) -> list[dict[str, Any]]:
    listed = holder.get(key)
    return listed if isinstance(listed, list) and is_tables(listed) else []


def _shelves(tables: dict[str, Any]) -> list[dict[str, Any]]:
    return [shelves for rack in _of(tables, "racks") for shelves in _of(rack, "shelves")]


def _names_in(value: Any) -> list[str]:
    named = [value] if isinstance(value, str) else value if isinstance(value, list) else []
    return [each for each in named if isinstance(each, str)]
