"""Everything in the room, built from one scenario, for those who live in it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from growsim.ledger.book import Book
from growsim.room.air import Air
from growsim.room.board import Board
from growsim.room.clock import AT_ONCE, Clock
from growsim.room.cooler import Cooler
from growsim.room.crew import Crew
from growsim.room.crops_here import NotKnown, usual_share
from growsim.room.machines import Machine, Mains
from growsim.room.part import Lot, Part
from growsim.room.rack_clocks import Bank
from growsim.room.racks import RackHere
from growsim.room.reservoirs import ReservoirHere
from growsim.room.rota import Rota
from growsim.room.shelves import ShelfBook
from growsim.room.tasks import Tasks
from growsim.scenario.bays import bays_of
from growsim.scenario.calendar import Calendar, Order
from growsim.scenario.machines import machines_of
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.machines import BY_KEY, CO2, HEAT_PUMP, LIGHTS, PUMP, TIMER
from growsim.vocabulary.obstacles import CLOSED, NO_HARVEST_DAY, NO_LEAD, NO_SHIFT, NO_SLOT, PEOPLE_BUSY, joined

if TYPE_CHECKING:
    from collections.abc import Callable

    import simpy

    from growsim.chance.streams import Luck
    from growsim.growth.crops import Curves
    from growsim.growth.curves import MassCurve
    from growsim.room.crops_here import StageHere
    from growsim.room.part import Stand
    from growsim.room.shelves import Grant
    from growsim.scenario.crop import Crop
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario

NOBODY_COMES: Final = (CLOSED.key, NO_SHIFT.key, NO_LEAD.key)
A_MOMENT_DAYS: Final = 1e-6  # of growth: keeps rounding from hiding a lot that is ripe on the dot


class Inside:
    """What is in the room, and what lots ask of it. Its plan of the year stands in `room.model`."""

    def __init__(self, scenario: Scenario, curves: Curves, luck: Luck, plan: RunPlan) -> None:
        begin = -plan.lead_in_days * 1440
        self.scenario, self.curves, self.luck, self.plan = scenario, curves, luck, plan
        self.clock = Clock(begin)
        self.book = Book(begin)
        self.calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        self.trays = {tray.name: tray for tray in scenario.trays}
        self.crops = {crop.name: crop for crop in scenario.crops}
        self._cutting = frozenset(WEEKDAYS.index(day) for day in scenario.harvest.weekdays)
        self.parts: dict[Part, None] = {}
        self._parts_of: dict[str, int] = {}
        self._parts_ever = 0
        self._ripe_ages: dict[tuple[str, str, str], tuple[float, float]] = {}
        not_known = NotKnown(scenario, luck)
        self.germination, self.stages = not_known.germination, not_known.stages
        self._mass, self._pace = not_known.mass, not_known.pace
        self.usual_share = {crop.name: usual_share(crop, scenario) for crop in scenario.crops if crop.is_cut_whole}
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
            rack.name: RackHere(
                rack, self.banks[rack.lights], self.curves.environments[rack.lights], self.curves.most_co2_ppm, begin
            )
            for rack in racks
        }
        self.reservoirs: dict[str, ReservoirHere] = {}
        for reservoir in scenario.reservoirs:
            pumps, timers = machines[PUMP.key, reservoir.name], machines.get((TIMER.key, reservoir.name), [])
            flooded = [self.racks[rack.name] for rack in racks if rack.reservoir == reservoir.name]
            self.reservoirs[reservoir.name] = ReservoirHere(
                reservoir, flooded, pumps, timers, self.mains, clock, self.calendar, book, luck,
                self.plan.every_flood_an_event, rank=len(self.reservoirs),
            )  # fmt: skip
        self._feeds = {rack.name: self.reservoirs[rack.reservoir] for rack in scenario.racks}
        (heat_pump,), (co2,) = machines[HEAT_PUMP.key, ""], machines[CO2.key, ""]
        self.air = Air(
            scenario, self.curves.leaves, list(self.banks.values()), list(self.racks.values()), heat_pump, co2,
            self.mains, clock, self.calendar, book, luck,
        )  # fmt: skip
        for reservoir_here in self.reservoirs.values():
            reservoir_here.on_strength = self._strength_changed
        board = Board(clock, book, scenario.crew.piece_minutes)
        self.crew = Crew(scenario.crew, scenario.room.people_at_once, clock, self.calendar, board, book, luck)
        self.tasks = Tasks(scenario.crew, self.rota, board, clock, luck)
        self.shelves = ShelfBook(bays_of(scenario, self.plan.shelves), self.trays, clock, book)
        self.cooler = Cooler(scenario, clock, self.calendar, book)
        self.tasks.let_partners_hurry(self.cooler)

    def _strength_changed(self, reservoir: ReservoirHere) -> None:
        for rack in reservoir.racks:
            self.air.set_paces_of(rack)

    # --- lots --------------------------------------------------------------------------------------------------

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
        self.parts[part] = None
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
        del self.parts[part]

    def split_off(self, part: Part, plants: int) -> Part:
        """Some plants of a part, or all, go their own way from here."""
        part.settle(self.clock.now)
        child = self.new_part(part.lot, part.stand)
        part.hand_over(child, min(plants, part.plants))
        self.racks[part.stand.bay.rack].put(child)
        return child

    def reservoir_of(self, part: Part) -> ReservoirHere:
        """The reservoir that feeds a part."""
        return self._feeds[part.stand.bay.rack]

    def stand_on_rack(self, part: Part, dry_g: float) -> None:
        """A part comes to stand in its (new) stand, at this dry mass a plant (g)."""
        stand = part.stand
        part.curve = self.curves.curves[part.lot.crop_name, stand.stage, stand.rack.bank.name]
        part.set_age(part.curve.age_days(dry_g), self.clock.now)
        self.racks[stand.bay.rack].put(part)
        self.reservoir_of(part).arrive(part)

    def leave_rack(self, part: Part, carried: int = 0) -> None:
        """A part leaves its stand: trays it empties are washed, then their slots are free; at once, of those carried
        on."""
        stand = part.stand
        if part.is_on_rack:
            self.reservoir_of(part).leave(part)
            self.racks[stand.bay.rack].take(part)
        emptied = stand.leave(part.stood)
        part.stood = 0
        if carried:
            self.shelves.give_back(stand.bay, stand.stage, min(carried, emptied))
            emptied -= min(carried, emptied)
        if emptied:
            self.when_open(lambda: self._post_washing(part, stand, emptied))

    def _post_washing(self, part: Part, stand: Stand, trays: int) -> None:
        self.tasks.post("wash", part, trays, lambda _: self.shelves.give_back(stand.bay, stand.stage, trays))

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
        self.reservoir_of(part).drinks_otherwise(part.stand.rack)

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

    def when_open(self, call: Callable[[], None]) -> None:
        """Call now, or on a closed day as the room opens again: what nobody waits for does not fall due while it is
        closed."""
        opens = self.open_minute(self.clock.now)
        if opens == self.clock.now:
            call()
        else:
            self.clock.at(opens, Order.CALENDAR, lambda _: call())

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

    def why_not_harvested(self, part: Part, days_ripe: float, days_over: float) -> str:
        """What kept plants from being harvested that were ripe so many days of growth ago, and overgrown so many: the
        obstacles, joined. Where they came to their last stand too old, what held them up before."""
        now, growth = self.clock.now, part.lot.growth
        ripe, over = (now - math.floor(days / growth * 1440) for days in (days_ripe, days_over))
        if over < part.wet_minute and part.held_up:
            return part.held_up
        if any(self.calendar.weekday(day) in self._cutting for day in range(ripe // 1440 + 1, over // 1440 + 1)):
            return CLOSED.key  # else they had been harvested
        shifts = self.tasks.in_the_way("harvest", ripe, over)
        return joined(NO_HARVEST_DAY.key, shifts) if shifts in NOBODY_COMES else NO_HARVEST_DAY.key

    def why_not_cut(self, part: Part, until: int) -> str:
        """What kept plants from being harvested by then since the harvest day that their harvest morning makes up
        for."""
        day = part.cut_due_minute // 1440
        while self.calendar.weekday(day) not in self._cutting:
            day -= 1
        return self.tasks.in_the_way("harvest", day * 1440, until)

    def why_no_slot(self, stage: StageHere, trays: int) -> str:
        """What keeps so many trays from a slot of that stage: that plants grow in them, or that those in the way wait
        to be washed, to be moved in or to be harvested themselves."""
        bays = [bay for tier in self.shelves.tiers(stage.name, stage.tray.name) for bay in tier]
        stands = {id(part.stand): part for part in self.parts if part.stand.bay in bays and (part.plants or part.seeds)}
        ripe = sum([part.stand.trays for part in stands.values() if self._waits_for_harvest(part)])
        standing = sum([part.stand.trays for part in stands.values()])
        by_people = sum([bay.total - bay.free for bay in bays]) - standing  # washed, or kept for what is to come there
        if by_people >= trays:
            return joined(NO_SLOT.key, PEOPLE_BUSY.key)
        return joined(NO_SLOT.key, NO_HARVEST_DAY.key) if by_people + ripe >= trays else NO_SLOT.key

    def _waits_for_harvest(self, part: Part) -> bool:
        is_last = part.stand.stage == part.lot.stages[-1].name
        return is_last and part.plants > 0 and part.age(self.clock.now) >= self.ripe_ages(part)[0]

    def earliest_minute_of_age(self, part: Part, age_days: float) -> int:
        """Earliest minute at which a part can be that old at the set-points' pace; now if it is."""
        now = self.clock.now
        left = age_days - part.age(now)
        return now if left <= 0 else now + max(60, math.ceil(left / part.lot.growth * 1440))

    def curve_for(self, crop: Crop, stage: StageHere, rack: str) -> MassCurve:
        """Mass curve of a stage on a rack."""
        return self.curves.curves[crop.name, stage.name, self.racks[rack].bank.name]
