"""The kinds of machines that can be down: one row each, with all that is true of it.

A further kind is a row here, its table in the room file where it can fail by chance, what it does in the room
(growsim.room.upkeep), what to do first (growsim.report.outage.to_do) and a test; nothing else lists machines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from growsim.vocabulary.dangers import Danger

Month = Literal["warmest", "coldest", "worst"]
Runs = Literal["always", "with the floods", "with the light"]


@dataclass(frozen=True)
class Place:
    """Where machines stand: at each entry of a list of the room file, or once in the room (entries "").

    word: one such entry. rack: the key of a rack that names the entry it hangs on. is_needed: whether an outage must
    say which entry; else it may leave that out and mean all of them.
    """

    word: str
    entries: str = ""
    rack: str = ""
    is_needed: bool = False


RESERVOIR: Final = Place("reservoir", "reservoirs", "reservoir", is_needed=True)
LIGHT_BANK: Final = Place("light bank", "lights", "lights")
ROOM: Final = Place("room")
NAMED_PLACES: Final = (RESERVOIR, LIGHT_BANK)


@dataclass(frozen=True)
class Comes:
    """What comes from outside so many times a year: the keys of the room file that say how often and how long."""

    table: str
    a_year: str
    hours: str


@dataclass(frozen=True)
class Alarm:
    """What calls somebody at once. name: of the protection. on: what it watches."""

    name: str
    on: str


@dataclass(frozen=True, kw_only=True)
class MachineKind:
    """One kind of machine.

    key: its name in room files, records, tables and random streams. also: other words a record may use. label: as one
    names it. many: all of the kind. down: its being down, in half a sentence. are: whether label and down are more than
    one. head: its being down, over a sheet of what to do and on the chart for the wall.

    place: where it stands. table: keys of the room file that lead from there to the table with its `reliability`; None
    where it has none. count: key of that table for how many there are at one place. runs: which part of the day it
    runs. comes: how it fails, where it has no reliability. only_if: key of that table that says whether there is one.

    stops_water: no flood comes, no_flood: the reason, as a day is told. stops_light, stops_cooling, stops_fans: so.
    lets_air_in: air from outside comes in freely.
    has_battery: a battery keeps pumps going meanwhile. instead: what comes of it where it kills no plant.

    tried: months in which an outage of it is tried; tried_as: key of the kind that is tried in its stead. part: what is
    kept on the shelf against it, spare: that as a protection; alarm: what calls somebody. measure: under which its
    failures are counted. dangers: of who goes in to repair it, the worst first.
    """

    key: str
    also: tuple[str, ...] = ()
    label: str
    are: bool = False
    many: str
    down: str
    head: str
    place: Place = ROOM
    table: tuple[str, ...] | None = None
    count: str = ""
    runs: Runs = "always"
    comes: Comes | None = None
    only_if: str = ""
    stops_water: bool = False
    no_flood: str = ""
    stops_light: bool = False
    stops_cooling: bool = False
    stops_fans: bool = False
    lets_air_in: bool = False
    has_battery: bool = False
    instead: str = ""
    tried: tuple[Month, ...] = ()
    tried_as: str = ""
    part: str = ""
    spare: str = ""
    alarm: Alarm | None = None
    measure: str = "machine_failures"
    dangers: tuple[Danger, ...] = ("water and power",)

    @property
    def can_fail(self) -> bool:
        """Whether it can fail by chance; else it is only made to happen."""
        return self.table is not None or self.comes is not None

    @property
    def is_its_place(self) -> bool:
        """Whether the place itself is the machine: a light bank, unlike a pump at its reservoir."""
        return self.table == ()

    @property
    def trial(self) -> str:
        """Key of the kind whose trial tells of it too."""
        return self.tried_as or self.key

    @property
    def can_kill(self) -> bool:
        """Whether plants can die of it; without light or extra CO2 they only grow more slowly, or not at all."""
        return self.stops_water or self.stops_cooling or self.lets_air_in

    @property
    def has_sheet(self) -> bool:
        """Whether it is tried, or another in its stead: else it is studied only where somebody names it."""
        return bool(self.tried or self.tried_as)

    @property
    def only_warms(self) -> bool:
        """Whether the air, too warm or too cold, is all that kills: its harm hangs on the month and the hour."""
        return self.stops_cooling and not self.stops_water

    @property
    def kills(self) -> str:
        """ "kill" or "kills", after `down`."""
        return "kill" if self.are else "kills"

    def at(self, where: str) -> str:
        """One of the kind: "pump of north reservoir"; a light bank, which is its own place, by its name."""
        if not where:
            return self.label
        if self.is_its_place:
            return where if self.label in where.lower() else f"{self.label} {where}"
        return f"{self.label} of {where}"


_PUMP_ALARM = Alarm("pump alarm", "pumps and timers")

PUMP: Final = MachineKind(
    key="pump",
    also=("pumps",),
    label="pump",
    many="pumps",
    down="a failed pump",
    head="Pump failed",
    place=RESERVOIR,
    table=("pump",),
    count="count",
    runs="with the floods",
    stops_water=True,
    no_flood="the pump was down",
    tried=("warmest",),
    part="spare pump",
    spare="spare pump",
    alarm=_PUMP_ALARM,
    dangers=("water and power", "lifting"),
)
TIMER: Final = MachineKind(
    key="timer",
    also=("timers",),
    label="timer",
    many="timers",
    down="a failed timer",
    head="Timer failed",
    place=RESERVOIR,
    table=("timer",),
    stops_water=True,
    no_flood="the timer was down",
    tried_as="pump",
    part="spare timer",
    spare="spare timer",
    alarm=_PUMP_ALARM,
)
LEAK: Final = MachineKind(
    key="reservoir leak",
    label="leak",
    many="leaks",
    down="a leaking reservoir",
    head="Reservoir leaking",
    place=RESERVOIR,
    stops_water=True,
    no_flood="the reservoir leaked",
    tried_as="pump",
    dangers=("water and power", "lifting", "chemicals"),
)
POWER: Final = MachineKind(
    key="power",
    also=("utility power", "electricity", "power outage"),
    label="utility power",
    many="power outages",
    down="a power outage",
    head="Power outage",
    comes=Comes("power", "outages_per_year", "outage_hours"),
    stops_water=True,
    no_flood="the power was out",
    stops_light=True,
    stops_cooling=True,
    stops_fans=True,
    has_battery=True,
    tried=("worst", "coldest"),
    measure="power_outages",
)
HEAT_PUMP: Final = MachineKind(
    key="heat pump",
    also=("air conditioner", "air conditioning", "cooling"),
    label="heat pump",
    many="the heat pump",
    down="a failed heat pump",
    head="Heat pump failed",
    table=("climate",),
    stops_cooling=True,
    tried=("worst", "coldest", "warmest"),
    part="spare part",
    spare="spare for the heat pump",
    alarm=Alarm("heat alarm", "the room's temperature"),
    dangers=("hot room", "water and power"),
)
LIGHTS: Final = MachineKind(
    key="lights",
    also=("light", "light bank"),
    label="lights",
    are=True,
    many="lights",
    down="failed lights",
    head="Lights out",
    place=LIGHT_BANK,
    table=(),
    runs="with the light",
    stops_light=True,
    instead="each day without light puts the harvest off by about a day",
    tried=("warmest",),
    part="spare light fixture",
    spare="spare for the lights",
    alarm=Alarm("light alarm", "the lights"),
    dangers=("water and power", "glare", "lifting"),
)
CO2: Final = MachineKind(
    key="co2",
    also=("co2 supply", "carbon dioxide"),
    label="CO2 supply",
    many="the CO2 supply",
    down="a failed CO2 supply",
    head="CO2 supply failed",
    table=("co2",),
    only_if="is_supplied",
    instead="without extra CO2 plants only grow more slowly",
    tried=("warmest",),
    part="spare part",
    spare="spare for the CO2 supply",
    dangers=("carbon dioxide", "water and power"),
)
DOOR: Final = MachineKind(
    key="door",
    label="open door",
    many="open doors",
    down="an open door",
    head="Door open",
    lets_air_in=True,
)

MACHINES: Final = (PUMP, TIMER, LEAK, POWER, HEAT_PUMP, LIGHTS, CO2, DOOR)
"""Every kind, in the order in which they are listed everywhere: what stops the water first."""


def _table_of(rows: Sequence[MachineKind]) -> dict[str, MachineKind]:
    """Rows by key. Raises LookupError where two share a word, or one is tried as a kind that is not tried."""
    words = [word for row in rows for word in (row.key, *row.also)]
    for word in words:
        if words.count(word) > 1:
            raise LookupError(f"two machine kinds have the name '{word}'; give each its own")
    tried = {row.key for row in rows if row.tried}
    for row in rows:
        if row.can_fail and not row.tried and row.tried_as not in tried:
            raise LookupError(f"the machine kind '{row.key}' is not tried, nor another in its stead; say `tried`")
    return {row.key: row for row in rows}


BY_KEY: Final = _table_of(MACHINES)
CAN_FAIL: Final = tuple(row for row in MACHINES if row.can_fail)
"""Those that fail by chance, so that a record may tell of them."""
WORDS: Final = {word: row.key for row in CAN_FAIL for word in (row.key, *row.also)}
"""What a record may call a machine -> its key."""
LOW_RESERVOIR: Final = "low reservoir"
NO_FLOOD: Final = {LOW_RESERVOIR: "the reservoir was too low"} | {row.key: row.no_flood for row in MACHINES}
"""Why a flood did not come -> the reason in words."""
SPARES: Final = {row.spare: row for row in MACHINES if row.spare}
"""Protection -> the kind it is a spare for."""
ALARMS: Final = {
    row.alarm: tuple(each for each in MACHINES if each.alarm == row.alarm) for row in MACHINES if row.alarm
}
"""Alarm -> the kinds it watches."""


def tried_with(row: MachineKind) -> tuple[MachineKind, ...]:
    """The kind that is tried, and those it is tried for."""
    return tuple(each for each in MACHINES if each.trial == row.key)


if TYPE_CHECKING:
    MachineKey = str
else:
    MachineKey = Literal[tuple(BY_KEY)]
