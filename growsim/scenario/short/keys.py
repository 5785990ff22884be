"""The keys that only a short room file has: one row each. Dictionary and schema are made from here.

They stand beside the models' own keys and are gone once the room is written out in full.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from growsim.scenario import usual
from growsim.scenario.anatomy import anatomy_of, field_at
from growsim.scenario.base import Table
from growsim.scenario.demand import Harvest, Partner, Prices
from growsim.scenario.equipment import LightBank, Reservoir
from growsim.scenario.place import Rack, Room, Shelves
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.expand import PROFILES
from growsim.scenario.short.place import USUAL_HEIGHT_M

LIKE_MODELS: dict[type[Table] | None, str] = {
    anatomy_of(found).table: kind for keys, kind in PROFILES.items() if (found := field_at(Scenario, keys)) is not None
}
"""Which table may be `like` which kind of profile."""

CHANGES_ONE: tuple[type[Table], ...] = (Rack, Reservoir, LightBank)
"""Tables of which an entry named as one of a group says only what differs."""

FOLLOWS: dict[type[Table], tuple[tuple[str, ...], tuple[str, ...]]] = {
    Room: (
        ("walls", "doors", "weather", "outdoor_january_c", "outdoor_july_c"),
        ("heat_loss_w_per_k", "heat_capacity_kj_per_k", "air_changes_per_hour", "outdoor_temperature_c"),
    ),
    Shelves: (("trays",), ("name", "slot_length_cm", "slot_width_cm")),
}
"""Short keys of a table, and the keys that follow from them."""

LEFT_OUT: dict[type[Table], dict[str, str]] = {
    Scenario: {"sowing": "what is promised, a tenth to spare", "harvest": "days with a lead", "prices": "the region"},
    Room: {"people_at_once": "the largest shift", "height_m": f"{USUAL_HEIGHT_M:g}"},
    Partner: {"hour": "the afternoon, after that day's shifts"},
    Harvest: {
        "weekdays": "days with a lead",
        "surplus_weekday": "the day after whose pick-ups most time is left",
        "surplus_hour": "an hour after its last pick-up or shift; 17 where the day is given",
    },
    Prices: {"electricity_per_kwh": "the region"},
}
"""Keys that a room file may leave out, and what they follow from then (growsim/scenario/short/follow.py)."""


@dataclass(frozen=True)
class ShortKey:
    """One key. where: dotted key of its table, "" for several. kind: of its value, as JSON Schema calls it."""

    where: str
    key: str
    meaning: str
    unit: str
    allowed: str
    kind: str


KEYS: tuple[ShortKey, ...] = (
    ShortKey(
        "",
        "count",
        "How many there are of an entry of a list that are alike, each with its own chance events: `rack 1`, `rack 2`, "
        "... A list of as many figures where one belongs gives each its own. A further entry of one's name says what "
        "differs there; `remove = true` takes that one away.",
        "",
        "whole number from 1 to 200",
        "integer",
    ),
    ShortKey("", "names", "The same, with names of your own instead of a count.", "", "list of texts", "array"),
    ShortKey(
        "",
        "like",
        "Usual values to begin from (listed below); the table's other keys go over them, key by key. A list of names "
        "takes several.",
        "",
        "name of usual values",
        "string",
    ),
    ShortKey(
        "racks[].",
        "reservoir",
        "A table instead of a name: the rack's own reservoir, called as the rack is. What it leaves out, or all where "
        "it is left out, is usual.",
        "",
        "table, as in reservoirs[]",
        "object",
    ),
    ShortKey(
        "racks[].", "lights", "A table instead of a name: the rack's own lights.", "", "table, as in lights[]", "object"
    ),
    ShortKey(
        "racks[].shelves[].",
        "trays",
        "Kinds of tray that stand here, your own or usual ones. Slots are as large as the largest and hold every "
        "stage that stands in one. Where no slots are told either: all trays that your crops stand in.",
        "",
        "list of texts",
        "array",
    ),
    ShortKey(
        "room.",
        "walls",
        "How the walls are made; with floor area, height and doors it gives heat loss, heat capacity and air changes.",
        "",
        "one of " + ", ".join(usual.names("walls")),
        "string",
    ),
    ShortKey("room.", "doors", "Doors in those walls; 1 where left out.", "", "whole number from 0 to 20", "integer"),
    ShortKey(
        "room.",
        "weather",
        "A city with a climate like yours: it gives the means of January and July, from memory.",
        "",
        "one of " + ", ".join(usual.names("weather")),
        "string",
    ),
    ShortKey(
        "room.",
        "outdoor_january_c",
        "Mean outside in January; with July's it gives all twelve months.",
        "°C",
        "number",
        "number",
    ),
    ShortKey("room.", "outdoor_july_c", "Mean outside in July.", "°C", "number", "number"),
)


def usual_names() -> Iterator[tuple[str, str]]:
    """Every kind of table that may be `like` something, and the names it may be like."""
    for kind in (each for each in usual.KINDS if each not in ("walls", "weather")):
        yield kind, ", ".join(f"`{name}`" for name in usual.names(kind))
