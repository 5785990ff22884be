"""The room: slots, sowings, partners; one year of it."""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import simpy
from reference.plain_room.air import Air
from reference.plain_room.basics import DAY, Moment, Year, draw, share, spread
from reference.plain_room.crew import Work
from reference.plain_room.groups import STILL_SOWN_MINUTES, Group
from reference.plain_room.machines import Machine, Mains
from reference.plain_room.plants import Lot, Stand
from reference.plain_room.reservoirs import Clock, Reservoir, top_ups

from growsim.growth.crops import Curves
from growsim.scenario.calendar import Calendar, Order, minute_of
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

Steps = Generator[Any, Any, None]


class Rack:
    """A rack, its reservoir and clock."""

    def __init__(self, spec: Any, reservoir: Reservoir, clock: Clock) -> None:
        self.spec, self.reservoir, self.clock = spec, reservoir, clock
        reservoir.racks.append(self)


class Bay:
    """Shelves of a rack that are alike."""

    def __init__(self, rack: Rack, shelves: Any) -> None:
        self.rack, self.shelves, self.free = rack, shelves, shelves.total_slots


class Request:
    """Somebody asks for slots."""

    def __init__(self, env: simpy.Environment, stage: Any, wanted: int, since: int, for_seed: bool) -> None:
        self.for_seed = for_seed
        self.stage, self.wanted, self.since, self.given = stage, wanted, since, env.event()
        self.rest: Request | None = None


class Slots:
    """The slots, and a line for each stage and kind of tray."""

    def __init__(self, room: Any) -> None:
        self.room = room
        self.bays = [Bay(rack, shelves) for rack in room.racks for shelves in rack.spec.shelves if shelves.count]
        self.lines: dict[tuple[str, str], list[Request]] = {}
        sown = {line.crop for line in room.scenario.sowing}
        self.kinds = {(s.name, s.tray) for crop in room.scenario.crops if crop.name in sown for s in crop.stages}
        self.light = {bank.name: bank.ppfd_umol_m2_s for bank in room.scenario.lights}

    def may_stand(self, stage: str, bay: Bay) -> bool:
        """Whether trays of a stage may stand in a bay."""
        fits = any(bay.shelves.fits(self.room.trays[tray]) for name, tray in self.kinds if name == stage)
        return stage in bay.shelves.stages and fits

    def order(self, stage: str, bay: Bay) -> tuple[float, ...]:
        """The lower, the sooner a tray of that stage goes into a bay: first what it takes from other stages."""
        harm = 0.0
        for other in sorted({name for name, _ in self.kinds} - {stage}):
            if self.may_stand(other, bay):
                harm += 1 / sum(b.shelves.total_slots for b in self.bays if self.may_stand(other, b))
        alike = [b for b in self.bays if b.rack is bay.rack]
        free = sum(b.free for b in alike) / sum(b.shelves.total_slots for b in alike)
        return bay.rack.spec.spare, round(harm, 9), -free, -self.light[bay.rack.spec.lights]

    def ask(self, stage: Any, wanted: int, since: int, for_seed: bool = False) -> Request:
        """Ask for slots: all at once, or some, or wait in line behind those who asked before."""
        request = Request(self.room.env, stage, wanted, since, for_seed)
        line = self.lines.setdefault((stage.name, stage.tray), [])
        if line or not self.give(request):
            self.stand_in_line(request)
        return request

    def stand_in_line(self, request: Request) -> None:
        """Behind those who asked before, or at the same time."""
        line = self.lines[request.stage.name, request.stage.tray]
        line.append(request)
        line.sort(key=lambda r: r.since)

    def withdraw(self, request: Request) -> None:
        """Leave the line."""
        self.lines[request.stage.name, request.stage.tray].remove(request)

    def give(self, request: Request) -> bool:
        """Give what can be given; whether that was anything. Who got only part keeps the place for the rest."""
        tray, left, given = self.room.trays[request.stage.tray], request.wanted, []
        suited = [b for b in self.bays if request.stage.name in b.shelves.stages and b.shelves.fits(tray) and b.free]
        suited.sort(key=lambda bay: (self.order(request.stage.name, bay), bay.rack.spec.name, bay.shelves.name))
        whole = [bay for bay in suited if bay.free >= left][:1]
        for bay in whole or suited:
            taken = min(left, bay.free)
            if taken:
                bay.free -= taken
                left -= taken
                given.append((bay, taken))
                self.room.year.use_slots(taken)
        if given:
            request.given.succeed(given)
            if left:
                request.rest = Request(self.room.env, request.stage, left, request.since, request.for_seed)
                self.stand_in_line(request.rest)
        return bool(given)

    def free(self, bay: Bay, slots: int) -> None:
        """Slots are free again: those who wait get them."""
        bay.free += slots
        self.room.year.use_slots(-slots)
        open_lines = list(self.lines.values())
        while open_lines := [line for line in open_lines if line]:
            first = min(open_lines, key=lambda line: (line[0].since, line[0].for_seed, line[0].stage.name))
            request = first.pop(0)
            if not self.give(request):
                first.insert(0, request)
                open_lines.remove(first)


class Store:
    """The cooler and those who collect from it."""

    def __init__(self, room: Any) -> None:
        self.room, self.env, self.greens = room, room.env, []
        self.served: set[tuple[str, float, int]] = set()
        harvest = room.scenario.harvest
        for when in sorted({(p.weekday, p.hour) for p in room.scenario.partners}):
            self.env.process(self.weekly(*when, [p for p in room.scenario.partners if (p.weekday, p.hour) == when]))
        self.env.process(self.weekly(harvest.surplus_weekday, harvest.surplus_hour, None))

    def bring(self, crop: Any, grams: int, harvest_minute: int) -> None:
        """Packed greens come in."""
        self.greens.append([harvest_minute, crop, float(grams)])
        self.greens.sort(key=lambda g: g[0])
        self.room.year.count("kg packed", grams / 1000)

    def weekly(self, weekday: str, hour: float, partners: list[Any] | None) -> Steps:
        """Partners collect, or what is left is handed out (partners None)."""
        day = self.room.calendar.first_on(weekday, self.env.now // DAY)
        while True:
            yield Moment(self.env, minute_of(day, hour), Order.COOLER)
            if partners is None or not self.room.calendar.is_closed(day):
                self.throw_out_old()
                if partners is None:
                    self.give_away()
                else:
                    self.served.add((weekday, hour, day))
                    self.collect([p for p in partners if self.there(p, day)], self.room.calendar.month(day) + 1)
            day += 7

    def there(self, partner: Any, day: int) -> bool:
        """Whether a partner comes at all on such a day."""
        date = self.room.calendar.date(day)
        return date not in partner.closed_days and (not partner.months or date.month in partner.months)

    def give_away(self) -> None:
        """All goes that those who still come would not take in time, were nothing more harvested."""
        room, calendar = self.room, self.room.calendar
        longest, kept = room.scenario.harvest.longest_wait_days, {}
        today = self.env.now // DAY
        free = [(g, g[2], g[0] + min(g[1].shelf_life_days, longest) * DAY) for g in self.greens]
        for day in range(today, today + math.ceil(longest) + 1):
            here = [p for p in room.scenario.partners if p.weekday == room.weekday(day) and self.there(p, day)]
            for hour in sorted({p.hour for p in here}):
                minute = minute_of(day, hour)
                if minute < self.env.now or (room.weekday(day), hour, day) in self.served or calendar.is_closed(day):
                    continue
                orders = [
                    (o.crop == "any", p.priority, o.crop, o.kg * 1000)
                    for p in here if p.hour == hour for o in p.orders
                    if not o.months or calendar.month(day) + 1 in o.months
                ]  # fmt: skip
                for anything, _, crop, ordered in sorted(orders):
                    wanted = ordered
                    for at, (green, grams, good_until) in enumerate(free):
                        if good_until >= minute and (anything or green[1].name == crop):
                            taken = min(grams, wanted)
                            free[at] = (green, grams - taken, good_until)
                            kept[at] = kept.get(at, 0.0) + taken
                            wanted -= taken
        self.greens = [[*green[:2], kept.get(at, 0.0)] for at, (green, _, _) in enumerate(free) if kept.get(at)]

    def lacks_today(self, crop: str) -> bool:
        """Whether those who still come today want more of a crop (or of any) than there is."""
        day, calendar = self.env.now // DAY, self.room.calendar
        wanted = {crop: 0.0, "any": 0.0}
        for p in self.room.scenario.partners:
            to_come = (p.weekday, p.hour, day) not in self.served and minute_of(day, p.hour) >= self.env.now
            if p.weekday == self.room.weekday(day) and to_come and not calendar.is_closed(day) and self.there(p, day):
                for o in p.orders:
                    if o.crop in wanted and (not o.months or calendar.month(day) + 1 in o.months):
                        wanted[o.crop] += o.kg * 1000
        there = {name: sum(g[2] for g in self.greens if name in ("any", g[1].name)) for name in wanted}
        return any(wanted[name] > there[name] for name in wanted)

    def throw_out_old(self) -> None:
        """What is too old goes."""
        longest = self.room.scenario.harvest.longest_wait_days
        self.greens = [g for g in self.greens if self.env.now - g[0] <= min(g[1].shelf_life_days, longest) * DAY]

    def collect(self, partners: list[Any], month: int) -> None:
        """Orders for a named crop first, then for any; by priority; equals in proportion."""
        orders = [
            (o.crop == "any", p.priority, o) for p in partners for o in p.orders if not o.months or month in o.months
        ]
        for rank in sorted({(anything, priority, o.crop) for anything, priority, o in orders}):
            equals = [o for anything, priority, o in orders if (anything, priority, o.crop) == rank]
            wanted = sum(o.kg * 1000 for o in equals)
            got = 0.0
            for green in self.greens:
                if rank[0] or green[1].name == rank[2]:
                    taken = min(green[2], wanted - got)
                    green[2] -= taken
                    got += taken
            self.room.year.count("kg ordered", wanted / 1000)
            self.room.year.count("kg to partners", got / 1000)
        self.greens = [g for g in self.greens if g[2] > 1e-6]


class Room:
    """Everything there is in one rehearsed year."""

    def __init__(self, scenario: Scenario, curves: Curves, luck: np.random.Generator, plan: RunPlan) -> None:
        if plan.start == "shelves" or any(crop.harvests > 1 for crop in scenario.crops):
            raise NotImplementedError("the plain room knows neither shelves files nor second harvests")
        if scenario.climate.lights_off_above_c is not None:
            raise NotImplementedError("the plain room knows no thermostats")
        self.scenario, self.curves, self.luck = scenario, curves, luck
        self.env = env = simpy.Environment(initial_time=-plan.lead_in_days * DAY)
        self.calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        self.trays = {tray.name: tray for tray in scenario.trays}
        slots = sum(shelves.total_slots for rack in scenario.racks for shelves in rack.shelves)
        self.year = Year(env, plan.days, slots)
        self.germination = {c.name: draw(c.germination_fraction, luck) for c in scenario.crops}
        self.mass_factor = {c.name: draw(c.typical_mass_g, luck) / c.typical_mass_g.expected() for c in scenario.crops}
        self.growth_pace = {c.name: draw(c.growth_pace, luck) for c in scenario.crops}
        self.hours_factors: dict[str, float] = {}
        self.handling_loss = {
            (c.name, k): draw(s.loss_fraction, luck) for c in scenario.crops for k, s in enumerate(c.stages_in_order())
        }
        self.resting: tuple[str, ...] = ()
        self.mains = Mains(self)
        reservoirs = {reservoir.name: Reservoir(self, reservoir) for reservoir in scenario.reservoirs}
        banks = {bank.name: bank for bank in scenario.lights}
        lights = {n: Machine(self, "lights", b.reliability, b.hours_per_day / 24) for n, b in banks.items()}
        self.racks = [
            Rack(r, reservoirs[r.reservoir], Clock(self, banks[r.lights], lights[r.lights], r.area_m2))
            for r in scenario.racks
        ]
        self.slots = Slots(self)
        self.work = Work(self)
        self.air = Air(self)
        self.air.begin()
        self.store = Store(self)
        self.reservoirs = list(reservoirs.values())
        env.process(top_ups(self))
        self.stands: list[Stand] = []
        self.groups = 0
        env.process(self.rests())
        here: list[tuple[str, str, Any]] = [("power", "", self.mains), ("door", "", self.air)]
        here += [("heat pump", "", self.air.heat_pump), ("co2", "", self.air.co2)]
        here += [("lights", name, bank) for name, bank in lights.items()]
        for each in self.reservoirs:
            parts = [("pump", pump) for pump in each.pumps] + [("timer", each.timer), ("reservoir leak", each)]
            here += [(kind, each.spec.name, part) for kind, part in parts]
        for o in scenario.outages:
            struck = [each for kind, where, each in here if kind == o.machine and o.where in ("", where) and each]
            env.process(self.arranged(o, struck))
        for line in scenario.sowing:
            env.process(self.sow(line))
        env.run(until=plan.days * DAY)
        self.year.use_slots(0)
        self.air.feed()
        self.year.counts["kg co2"] = self.air.fed_g / 1000

    def weekday(self, day: int) -> str:
        """Name of the weekday."""
        return WEEKDAYS[self.calendar.weekday(day)]

    def first_open(self, day: int) -> int:
        """That day, or the first after it that is not closed."""
        return day if not self.calendar.is_closed(day) else self.first_open(day + 1)

    def harvest_day(self, day: int) -> bool:
        """Whether lots are harvested that day; the first open day stands for closed ones."""
        days = [day]
        while self.calendar.is_closed(days[-1] - 1):
            days.append(days[-1] - 1)
        named = any(self.weekday(each) in self.scenario.harvest.weekdays for each in days)
        return named and not self.calendar.is_closed(day)

    def next_look_in(self, minute: int) -> int:
        """When somebody able next looks in."""
        for day in range(minute // DAY, minute // DAY + 400):
            looks = [minute_of(day, s.start_hour) for s in self.work.shift_on(day, with_lead=True)]
            if not self.calendar.is_closed(day):
                visits = [v for v in self.scenario.crew.walk_throughs if self.weekday(day) in v.weekdays]
                looks += [minute_of(day, v.hour) for v in visits]
            looks = [look for look in looks if look >= minute]
            if looks:
                return min(looks)
        return minute + 400 * DAY

    @contextmanager
    def change(self) -> Iterator[None]:
        """Something goes down or comes back: clocks first count the time before."""
        for rack in self.racks:
            rack.clock.advance()
        self.air.feed()
        yield
        self.air.changed()
        for reservoir in self.reservoirs:
            reservoir.something_changed()

    def arranged(self, outage: Any, struck: list[Any]) -> Steps:
        """An outage that is made to happen."""
        begin = minute_of(outage.start_day, outage.start_hour)
        for minute, more in ((begin, 1), (begin + max(1, round(outage.hours * 60)), -1)):
            yield Moment(self.env, minute, Order.OPENING)
            for each in struck:
                each.strike(more)

    def rests(self) -> Steps:
        """Off while closed for so many days or more."""
        place, day = self.scenario.room, self.env.now // DAY
        while True:
            opens = self.first_open(day)
            first = day
            while self.calendar.is_closed(first - 1):
                first -= 1
            if opens - first >= place.off_from_days and place.off_while_closed:
                with self.change():
                    self.resting = place.off_while_closed
                yield Moment(self.env, opens * DAY, Order.OPENING)
                with self.change():
                    self.resting = ()
            day = max(day + 1, opens)
            yield Moment(self.env, day * DAY, Order.OPENING)

    def groups_on(self, rack: Rack) -> list[Group]:
        """Groups of plants that grow on a rack."""
        self.stands = [stand for stand in self.stands if stand.groups]
        return [g for stand in self.stands if stand.bay.rack is rack for g in stand.groups if g.growing]

    def new_stand(self, bay: Bay, trays: int) -> Stand:
        """Trays are put into slots."""
        self.stands.append(Stand(bay, trays))
        return self.stands[-1]

    def sow(self, line: Any) -> Steps:
        """A line of the sowing plan."""
        day = self.calendar.first_on(line.weekday, self.env.now // DAY) + 7 * line.first_week
        while True:
            yield Moment(self.env, day * DAY, Order.CALENDAR)
            date = self.calendar.date(day)
            early = line.from_date is not None and date < line.from_date
            late = line.until_date is not None and date > line.until_date
            in_season = not early and not late and (not line.months or date.month in line.months)
            if in_season and self.first_open(day) - day < 6:
                self.env.process(self.sowing(line, day))
            day += 7 * line.every_weeks

    def sowing(self, line: Any, day: int) -> Steps:
        """One sowing: ask for slots; what gets some is sown."""
        yield Moment(self.env, self.first_open(day) * DAY, Order.CALENDAR)
        crop = next(c for c in self.scenario.crops if c.name == line.crop)
        chance = share(self.germination[crop.name], crop.germination_spread_sd, self.luck)
        speed = spread(crop.days_spread_cv, self.luck) * self.growth_pace[crop.name]
        lot = Lot(self, crop, day, chance, speed)
        places, cells = self.trays[lot.stages[0].tray].places, line.cells
        request = self.slots.ask(lot.stages[0], math.ceil(cells / places), day * DAY, for_seed=True)
        while cells:
            yield request.given | Moment(self.env, day * DAY + STILL_SOWN_MINUTES, Order.WAKE)
            if not request.given.triggered:
                self.slots.withdraw(request)
                return
            for bay, slots in request.given.value:
                sown = min(cells, slots * places)
                cells -= sown
                self.env.process(Group(lot, 0, self.new_stand(bay, slots)).begin(sown))
            request = request.rest


def live_through(scenario: Scenario, curves: Curves, plan: RunPlan, seed: int) -> dict[str, float]:
    """One rehearsed year of the plain room: what was counted."""
    room = Room(scenario, curves, np.random.default_rng(seed), plan)
    counts = {name: float(value) for name, value in room.year.counts.items()}
    counts["slots in use"] = counts.pop("slot minutes", 0.0) / (plan.days * DAY)
    return counts
