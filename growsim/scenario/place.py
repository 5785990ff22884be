"""The place: the room itself, its racks and the trays that stand on them."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field, field_validator

from growsim.scenario.base import CalendarDay, Table, days_in_a_row, figure, long_text, name_field
from growsim.units import System
from growsim.vocabulary.machines import HEAT_PUMP, LIGHTS
from growsim.vocabulary.regions import RegionName

if TYPE_CHECKING:
    CanBeOff = str
else:
    CanBeOff = Literal[LIGHTS.key, HEAT_PUMP.key]
OutdoorTemperature = Annotated[float, Field(ge=-60, le=60)]
TwelveMonths = Annotated[tuple[OutdoorTemperature, ...], Field(min_length=12, max_length=12)]


class Room(Table):
    """The room around the racks. Heat balance: one node, as in design of closed rooms."""

    name: str = name_field("What you call the room.", "Canal Street grow room")
    note: str = long_text("Anything a reader should know; shown in the report.")
    start_date: CalendarDay = figure("First day of the rehearsal.", "date", example="2031-01-06")
    units: System = figure("Units in which amounts are told; either is understood when typed.", default="metric")
    region: RegionName = figure(
        "Where the room stands: it sets the order of dates and whose published limits a caution cites.",
        default="elsewhere",
    )
    closed_days: tuple[CalendarDay, ...] = figure(
        'Days when nobody comes in; many in a row as "2031-12-20 to 2032-01-02", each year as "24 Dec to 2 Jan".',
        "date",
        default=(),
    )
    off_while_closed: Annotated[tuple[CanBeOff, ...], Field(max_length=2)] = figure(
        "What is switched off while the room is closed, from the first closed day to the first open one. Plants that "
        "stand there are left dark or cold.",
        default=(),
    )
    off_from_days: int = figure(
        "Closed days in a row from which on that is switched off.", "days", default=7, ge=1, le=366
    )
    people_at_once: int = figure("How many people can work in the room at the same time.", "people", ge=1, le=500)
    floor_area_m2: float = figure(
        "Floor area.", "m²", gt=0, le=100000, plausible=(3, 2000, "a grow room of this kind is a closet to a hall")
    )
    height_m: float = figure(
        "Height to the ceiling.", "m", gt=1.5, le=30, plausible=(1.8, 6, "a room one can stand up in, and no hall")
    )
    outdoor_temperature_c: TwelveMonths = figure("Mean temperature outside the walls, January to December.", "°C")
    heat_loss_w_per_k: float = figure(
        "Heat lost through walls per degree of difference.",
        "W/K",
        ge=0,
        le=1e6,
        plausible=(1, 2000, "walls of a small room lose 5 to 300 W for each degree"),
    )
    heat_capacity_kj_per_k: float = figure(
        "Heat needed to warm air, racks and water by one degree.", "kJ/K", gt=0, le=1e8
    )
    air_changes_per_hour: float = figure(
        "Air leaking in and out per hour, in room volumes.",
        "1/h",
        ge=0,
        le=60,
        plausible=(0.01, 30, "a tight room leaks 0.1 times its air an hour, a drafty one 2"),
    )
    other_heat_w: float = figure(
        "Heat of people, pumps and other things, without lights and fans.",
        "W",
        default=0.0,
        ge=0,
        le=1e6,
        plausible=(0, 20000, "people give 100 W each, small machines less"),
    )

    _many_in_a_row = field_validator("closed_days", mode="before")(days_in_a_row)


class Tray(Table):
    """A kind of tray. A tray fills one slot, however full it is."""

    name: str = name_field("Kind of tray.", "plug tray")
    places: int = figure(
        "Cells or holes in one tray.",
        "places",
        ge=1,
        le=5000,
        plausible=(1, 1000, "the finest plug trays have 500 to 800 cells"),
    )
    length_cm: float = figure(
        "Longer side.", "cm", gt=0, le=1000, plausible=(8, 800, "trays are 20 to 120 cm long, channels some meters")
    )
    width_cm: float = figure("Shorter side.", "cm", gt=0, le=1000, plausible=(4, 200, "trays are 10 to 60 cm wide"))
    plug_volume_ml: float = figure(
        "Volume of the growing plug of one plant.",
        "mL",
        gt=0,
        le=20000,
        plausible=(1, 10000, "plugs hold 10 to 50 mL, pots up to some liters"),
    )

    @property
    def area_m2(self) -> float:
        """Area of the tray (m²)."""
        return self.length_cm * self.width_cm / 1e4

    @property
    def plants_per_m2(self) -> float:
        """Density of a full tray (plants/m²)."""
        return self.places / self.area_m2


class Shelves(Table):
    """Shelves of one rack that are alike: same slots, same stages."""

    name: str = name_field("Name of these shelves within the rack.", "top")
    count: int = figure("How many such shelves.", "shelves", ge=0, le=1000)
    slots: int = figure("Trays that fit on one shelf.", "slots", ge=1, le=1000)
    slot_length_cm: float = figure(
        "Longer side of a slot.", "cm", gt=0, le=1000, plausible=(8, 800, "as the trays that stand there")
    )
    slot_width_cm: float = figure(
        "Shorter side of a slot.", "cm", gt=0, le=1000, plausible=(4, 300, "as the trays that stand there")
    )
    stages: tuple[str, ...] = figure(
        "Names of the stages that may stand here.", default=(), example=["seedling", "finishing"]
    )

    @property
    def total_slots(self) -> int:
        """Slots on all these shelves together."""
        return self.count * self.slots

    @property
    def area_m2(self) -> float:
        """Growing area of all these shelves (m²)."""
        return self.total_slots * self.slot_length_cm * self.slot_width_cm / 1e4

    def fits(self, tray: Tray) -> bool:
        """Whether a tray of this kind fits a slot, either way round."""
        long_slot, short_slot = sorted((self.slot_length_cm, self.slot_width_cm), reverse=True)
        long_tray, short_tray = sorted((tray.length_cm, tray.width_cm), reverse=True)
        return long_tray <= long_slot + 1e-9 and short_tray <= short_slot + 1e-9


class Rack(Table):
    """A rack: its shelves, the reservoir that floods it and the lights over it."""

    name: str = name_field("Name of the rack.", "north rack")
    reservoir: str = name_field("Name of the reservoir that floods it.", "north reservoir")
    lights: str = name_field("Name of the light bank over it.", "north lights")
    shelves: tuple[Shelves, ...] = figure("The shelves, from top to bottom.", default=())
    spare: bool = figure("Whether it is used only when no other rack has room.", default=False)

    @property
    def area_m2(self) -> float:
        """Growing area of the rack (m²)."""
        return math.fsum(group.area_m2 for group in self.shelves)
