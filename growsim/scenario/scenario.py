"""The whole drawing in one frozen value: everything a rehearsal needs and nothing that changes during it."""

from __future__ import annotations

from growsim.scenario.base import Table, figure, long_text
from growsim.scenario.crop import Crop
from growsim.scenario.demand import Goals, Harvest, Partner, Prices, Rehearsal, Sowing
from growsim.scenario.equipment import Climate, Co2, LightBank, PlannedOutage, Power, Protection, Reservoir
from growsim.scenario.people import Crew
from growsim.scenario.place import Rack, Room, Tray


class Scenario(Table):
    """A room file, read and checked. Cross-checks between tables live in `spec.checks`."""

    about: str = long_text("What this file is, in a sentence or two.")
    room: Room = figure("The room.")
    trays: tuple[Tray, ...] = figure("Kinds of tray.")
    racks: tuple[Rack, ...] = figure("Racks.")
    crops: tuple[Crop, ...] = figure("Crops.")
    reservoirs: tuple[Reservoir, ...] = figure("Reservoirs.")
    lights: tuple[LightBank, ...] = figure("Light banks.")
    climate: Climate = figure("Air.")
    co2: Co2 = figure("CO2.", default=Co2())
    power: Power = figure("Utility power.", default=Power())
    crew: Crew = figure("People.")
    sowing: tuple[Sowing, ...] = figure("The sowing plan.", default=())
    harvest: Harvest = figure("Harvest and handing out.")
    partners: tuple[Partner, ...] = figure("Partners and their standing orders.", default=())
    prices: Prices = figure("Prices.")
    goals: Goals = figure("Goals.", default=Goals())
    rehearsal: Rehearsal = figure("Defaults of a rehearsal.", default=Rehearsal())
    outages: tuple[PlannedOutage, ...] = figure("Outages that are made to happen.", default=())
    protections: tuple[Protection, ...] = figure("Protections against outages, their prices.", default=())
