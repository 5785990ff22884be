"""Short room files for tests: a room of one's own in under forty figures, and the same things said once and one by
one. Invented data; what the figures must do is checked against the room written long, by hand."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

FIRST_ROOM = """
[room]
name = "Garage"
start_date = 2031-03-03
people_at_once = 4
floor_area_m2 = 18
height_m = 2.4
walls = "insulated stud wall"
outdoor_january_c = -2
outdoor_july_c = 22

[[racks]]
name = "rack"
count = 2
shelves = [
  { count = 1, slots = 6, trays = ["plug tray"] },
  { count = 4, slots = 6, trays = ["spacing tray", "head tray", "herb tray", "baby leaf tray", "shoots tray"] },
]

[climate]
like = "heat pump"

[[crops]]
name = "greens"
like = "butterhead lettuce"

[crew]
like = "volunteers"
shifts = [
  { name = "Tuesday", weekday = "tue", start_hour = 17, hours = 3, people = 2 },
  { name = "Friday", weekday = "fri", start_hour = 9, hours = 3, people = 2 },
]

[[sowing]]
name = "greens on Tuesday"
crop = "greens"
cells = 12
weekday = "tue"

[harvest]
weekdays = ["tue", "fri"]
surplus_weekday = "fri"

[[partners]]
name = "school"
weekday = "fri"
hour = 15
orders = [{ crop = "greens", kg = 0.5 }]

[prices]
currency = "USD"
electricity_per_kwh = 0.16
"""


def first_room(crop: str = "butterhead lettuce") -> dict[str, Any]:
    """The tables of a first room in which that usual crop grows."""
    return tomllib.loads(FIRST_ROOM.replace("butterhead lettuce", crop))


def one_by_one(tiny: dict[str, Any], names: list[str], hours: list[float]) -> dict[str, Any]:
    """The tiny room with so many racks instead of one, each with a reservoir and lights of its name, written long."""
    room = copy.deepcopy(tiny)
    rack, reservoir, bank = room["racks"][0], room["reservoirs"][0], room["lights"][0]
    room["racks"] = [{**copy.deepcopy(rack), "name": name, "reservoir": name, "lights": name} for name in names]
    room["reservoirs"] = [{**copy.deepcopy(reservoir), "name": name} for name in names]
    room["lights"] = [
        {**copy.deepcopy(bank), "name": name, "on_hour": hour} for name, hour in zip(names, hours, strict=True)
    ]
    return room


def said_once(tiny: dict[str, Any], names: list[str], hours: list[float]) -> dict[str, Any]:
    """The same, said once: `count` where the names are a name and numbers, else `names`; the hours as one list."""
    room = copy.deepcopy(tiny)
    rack, (reservoir,), (bank,) = room["racks"][0], room.pop("reservoirs"), room.pop("lights")
    del reservoir["name"], bank["name"]
    words = {name.rpartition(" ")[0] for name in names}
    counted = len(words) == 1 and names == [f"{min(words)} {number + 1}" for number in range(len(names))]
    called = {"name": min(words), "count": len(names)} if counted else {"names": names}
    on_hour = hours[0] if len(set(hours)) == 1 else hours
    room["racks"] = [
        {
            **{key: value for key, value in rack.items() if key != "name"},
            **called,
            "reservoir": reservoir,
            "lights": {**bank, "on_hour": on_hour},
        }
    ]
    return room
