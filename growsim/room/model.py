"""Builds the room of one scenario and lets it run: `simulate` gives the log book of one replication."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from growsim.ledger.book import Book
from growsim.room.air import Air
from growsim.room.board import Board
from growsim.room.clock import AT_ONCE, Clock
from growsim.room.cooler import Cooler
from growsim.room.crew import Crew
from growsim.room.lot import grow_on, sow
from growsim.room.machines import Machine, Mains
from growsim.room.not_known import NotKnown
from growsim.room.part import Lot, Part
from growsim.room.racks import Bank, RackHere
from growsim.room.readings import count_standing, read_meters
from growsim.room.reservoirs import ReservoirHere
from growsim.room.rota import Rota
from growsim.room.shelves import ShelfBook
from growsim.room.stand import Stand
from growsim.room.standing import lie_already, stand_already
from growsim.room.tasks import Tasks
from growsim.room.upkeep import Upkeep
from growsim.scenario.bays import bays_of
from growsim.scenario.calendar import Calendar, day_of
from growsim.scenario.machines import machines_of
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.machines import BY_KEY, CO2, HEAT_PUMP, LIGHTS, PUMP, TIMER

if TYPE_CHECKING:
    import simpy

    from growsim.chance.streams import Luck
    from growsim.growth.crops import Curves
    from growsim.growth.curves import MassCurve
    from growsim.room.shelves import Grant
    from growsim.room.stages import StageHere
    from growsim.scenario.crop import Crop
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario

A_MOMENT_DAYS: Final = 1e-6  # of growth: keeps rounding from hiding a lot that is ripe on the dot


def simulate(scenario: Scenario, curves: Curves, luck: Luck, plan: RunPlan) -> Book:
    """One replication from the first day of its lead-in to the last counted day. Gives the log book, complete."""
    room = RoomHere(scenario, curves, luck, plan)
    room.start()
    room.clock.run(plan.days * 1440)
    room.finish()
    return room.book


class RoomHere:
    """Everything in the room, for those who live in it."""

    def __init__(self, scenario: Scenario, curves: Curves, luck: Luck, plan: RunPlan) -> None:
        begin = -plan.lead_in_days * 1440
        self.scenario, self.curves, self.luck, self.plan = scenario, curves, luck, plan
        self.clock = Clock(begin)
        self.book = Book(begin)
        self.calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        self.trays = {tray.name: tray for tray in scenario.trays}
        self.crops = {crop.name: crop for crop in scenario.crops}
        self._cutting = frozenset(WEEKDAYS.index(day) for day in scenario.harvest.weekdays)
        self._parts: dict[Part, None] = {}
        self._parts_of: dict[str, int] = {}
        self._parts_ever = 0
        self._ripe_ages: dict[tuple[str, str, str], tuple[float, float]] = {}
        not_known = NotKnown(scenario, luck)
        self.germination, self.stages = not_known.germination, not_known.stages
        self._mass, self._pace = not_known.mass, not_known.pace
        self.typical_mass_g = {crop.name: crop.typical_mass_g.expected() for crop in scenario.crops}
        self._build(begin)

    def _build(self, begin: int) -> None:
        scenario, clock, book, luck = self.scenario, self.clock, self.book, self.luck
        self.rota = Rota(scenario.crew, self.calendar)
        self.mains = Mains(scenario.power, clock, book, luck)

        machines: dict[tuple[str, str], list[Machine]] = {}
        for each in machines_of(scenario):
            labels = [f".{number + 1}" if BY_KEY[each.kind].count else "" for number in range(each.count)]
            machines[each.kind, each.where] = [
                Machine(each.kind, each.where, each.reliability, each.share, clock, book, luck, self.rota, label)
                for label in labels
            ]
        self.machines = [machine for several in machines.values() for machine in several]
        area = {bank.name: 0.0 for bank in scenario.lights}
        racks = sorted(scenario.racks, key=lambda rack: rack.name)  # their order in the file decides nothing
        for rack in racks:
            area[rack.lights] += rack.area_m2
        self.banks = {
            spec.name: Bank(
                spec, area[spec.name], machines[LIGHTS.key, spec.name][0], self.mains, begin,
            )
            for spec in scenario.lights
        }  # fmt: skip
        self.racks = {
            rack.name: RackHere(rack, self.banks[rack.lights], self.curves.environments[rack.lights], begin)
            for rack in racks
        }
        self.reservoirs: dict[str, ReservoirHere] = {}
        for reservoir in scenario.reservoirs:
            pumps, (timer,) = machines[PUMP.key, reservoir.name], machines[TIMER.key, reservoir.name]
            flooded = [self.racks[rack.name] for rack in racks if rack.reservoir == reservoir.name]
            self.reservoirs[reservoir.name] = ReservoirHere(
                reservoir, flooded, pumps, timer, self.mains, clock, book, luck, self.plan.every_flood_an_event,
                rank=len(self.reservoirs),
            )  # fmt: skip
        (heat_pump,), (co2,) = machines[HEAT_PUMP.key, ""], machines[CO2.key, ""]
        self.air = Air(
            scenario, list(self.banks.values()), list(self.racks.values()), heat_pump, co2, self.mains, clock,
            self.calendar, book, luck,
        )  # fmt: skip
        for reservoir_here in self.reservoirs.values():
            reservoir_here.on_strength = self._strength_changed
        board = Board(clock, book, scenario.crew.piece_minutes)
        self.crew = Crew(scenario.crew, scenario.room.people_at_once, clock, self.calendar, board, book, luck)
        self.tasks = Tasks(scenario.crew, self.rota, board, clock, luck)
        self.shelves = ShelfBook(bays_of(scenario, self.plan.shelves), self.trays, clock, book)
        self.cooler = Cooler(scenario, clock, self.calendar, book)
        self.tasks.let_partners_hurry(self.cooler)
        self.upkeep = Upkeep(self)

    # --- the run -----------------------------------------------------------------------------------------------

    def start(self) -> None:
        """Put the first of everything on the calendar."""
        first_day = day_of(self.clock.now)
        self.mains.start()
        for machine in self.machines:
            machine.start()
        self.air.start()
        for reservoir in self.reservoirs.values():
            reservoir.start()
        self.crew.start(first_day)
        self.cooler.start(first_day)
        self.upkeep.start(first_day)
        stand_already(self, self.plan.shelves)
        lie_already(self, self.plan.cooler)

    def finish(self) -> None:
        """Last readings, and what stands on the shelves."""
        self.read_meters()
        for reservoir in self.reservoirs.values():
            reservoir.top_up(by_hand=False)
        count_standing(self, self._parts)

    def read_meters(self) -> None:
        """Write the running totals into the book."""
        read_meters(self)

    def _strength_changed(self, reservoir: ReservoirHere) -> None:
        for rack in reservoir.racks:
            self.air.set_paces_of(rack)

    # --- lots --------------------------------------------------------------------------------------------------

    def sow(self, name: str, crop: Crop, cells: int, sow_minute: int) -> None:
        """A line of the sowing plan, planned for that minute, falls due."""
        sow(self, self.born(name, crop, sow_minute), cells)

    def born(self, name: str, crop: Crop, sow_minute: int) -> Lot:
        """A lot with its luck."""
        luck, of = self.luck.stream(f"lot.{name}"), crop.name
        growth = luck.factor(crop.days_spread_cv) * self._pace[of]
        germination = luck.beta(self.germination[of], crop.germination_spread_sd)
        return Lot(name, crop, self.stages[of], sow_minute, germination, growth, self._mass[of])

    def new_part(self, lot: Lot, stand: Stand) -> Part:
        """A new part of a lot, numbered from 1."""
        number = self._parts_of[lot.name] = self._parts_of.get(lot.name, 0) + 1
        self._parts_ever += 1
        part = Part(lot, number, self._parts_ever, stand, self.book)
        self._parts[part] = None
        return part

    def slots_at_once(self, stage: StageHere, trays: int) -> Grant:
        """Slots given here and now: some or all of what is asked for, or [] where one has to wait for them."""
        return self.shelves.at_once(stage.name, stage.tray.name, trays) if self.clock.is_quiet_until(AT_ONCE) else []

    def slots_for(self, stage: StageHere, trays: int, deadline: int, since: int) -> simpy.Event:
        """An event whose value is the slots given: some or all of what is asked for, or [] at the deadline."""
        answer = self.clock.event()
        self.shelves.ask(
            stage.name, stage.tray.name, trays, deadline, lambda grant: self.clock.answer(answer, grant), since=since
        )
        return answer

    def forget(self, part: Part) -> None:
        """A part is no more."""
        del self._parts[part]

    def split_off(self, part: Part, plants: int, next_stage: int, slots: tuple[Any, int]) -> None:
        """Some plants of a part go their own way from here, into slots they have been given."""
        now = self.clock.now
        part.settle(now)
        child = self.new_part(part.lot, part.stand)
        part.hand_over(child, min(plants, part.plants))
        part.stand.rack.parts[child] = None
        self.clock.live(grow_on(self, child, next_stage, slots))

    def stand_on_rack(self, part: Part, dry_g: float) -> None:
        """A part comes to stand in its (new) stand, at this dry mass a plant (g)."""
        stand = part.stand
        part.curve = self.curves.curves[part.lot.crop_name, stand.stage, stand.rack.bank.name]
        part.set_age(part.curve.age_days(dry_g), self.clock.now)
        stand.rack.parts[part] = None
        stand.rack.reservoir.arrive(part)

    def leave_rack(self, part: Part) -> None:
        """A part leaves its stand: trays it empties are washed, then their slots are free."""
        stand = part.stand
        if part in stand.rack.parts:
            stand.rack.reservoir.leave(part)
            del stand.rack.parts[part]
        emptied = stand.leave(part.stood)
        part.stood = 0
        if emptied:
            self.tasks.post("wash", part, emptied, lambda _: self.shelves.give_back(stand.bay, stand.stage, emptied))

    def ripe_ages(self, part: Part) -> tuple[float, float]:
        """(ripe, overgrown): ages on the part's curve, days."""
        key = (part.lot.crop_name, part.stand.stage, part.stand.rack.bank.name)
        ages = self._ripe_ages.get(key)
        if ages is None:
            crop = part.lot.crop
            typical_dry_g = self.typical_mass_g[crop.name] * crop.dry_matter_fraction
            ripe = part.curve.age_days(typical_dry_g * crop.harvest_from_mass_fraction)
            ages = self._ripe_ages[key] = ripe, ripe + crop.overgrown_after_days
        return ages

    def grow_again(self, part: Part) -> None:
        """What stays of plants just harvested grows and drinks as plants of its size do."""
        part.settle(self.clock.now)
        grown_g = part.plant_dry_g()
        part.set_age(self.age_after_cut(part), self.clock.now)
        part.stand.rack.dry_left_g += part.plants * (grown_g - part.plant_dry_g())
        part.stand.rack.reservoir.drinks_otherwise(part.stand.rack)

    def age_after_cut(self, part: Part) -> float:
        """Age on the curve from which a harvested plant is at its typical mass again after the crop's regrowth days."""
        crop = part.lot.crop
        typical_age = part.curve.age_days(self.typical_mass_g[crop.name] * crop.dry_matter_fraction)
        return max(0.0, typical_age - crop.regrowth_days)

    def open_minute(self, minute: int) -> int:
        """That minute, or midnight of the first open day after it where its day is closed."""
        day = minute // 1440
        opens = self.calendar.next_open(day)
        return minute if opens == day else opens * 1440

    def is_harvest_morning(self, minute: int) -> bool:
        """Whether it is midnight at the start of a harvest day, or of the first open day after one that was closed."""
        return minute % 1440 == 0 and self.calendar.makes_up_for(minute // 1440, self._cutting)

    def next_look_for_ripeness(self, part: Part, ripe_age: float, overgrown_age: float) -> int:
        """First harvest day, at midnight, on which the part could be ripe if it grew as fast as it ever can; or, where
        the room is closed meanwhile, when it could be overgrown."""
        now, rack = self.clock.now, part.stand.rack
        days_left = (ripe_age - part.age(now)) / (part.lot.growth * rack.fastest_pace) - A_MOMENT_DAYS
        day = rack.bank.day_after_light(now, days_left * rack.bank.lit_minutes_a_day)
        is_put_off = False
        while not self.calendar.makes_up_for(day, self._cutting):
            is_put_off = is_put_off or self.calendar.is_closed(day)
            day += 1
        if is_put_off:
            return min(day * 1440, self.earliest_minute_of_age(part, overgrown_age))
        return day * 1440

    def earliest_minute_of_age(self, part: Part, age_days: float) -> int:
        """Earliest minute at which a part can be that old at the set-points' pace; now if it is."""
        now = self.clock.now
        left = age_days - part.age(now)
        return now if left <= 0 else now + max(60, math.ceil(left / part.lot.growth * 1440))

    def curve_for(self, crop: Crop, stage: StageHere, rack: str) -> MassCurve:
        """Mass curve of a stage on a rack."""
        return self.curves.curves[crop.name, stage.name, self.racks[rack].bank.name]
