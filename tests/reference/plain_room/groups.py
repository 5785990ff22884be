"""Groups of plants that stand and go together: sown, moved, ripened and harvested by the work that is done on them."""

from __future__ import annotations

import math
from collections.abc import Generator
from typing import Any

from reference.plain_room.basics import DAY, Moment
from reference.plain_room.plants import Lot, Plant, Stand

from growsim.growth.germination import days_to_emerge, relative_emergence
from growsim.growth.stress import PLUG_WATER_FRACTION, STRESS_BELOW_FRACTION
from growsim.scenario.calendar import Order, day_of

Steps = Generator[Any, Any, None]
STILL_SOWN_MINUTES = 144 * 60


class Group:
    """Plants of a lot that stand and go together, and whoever looks after them."""

    def __init__(self, lot: Lot, stage: int, stand: Stand) -> None:
        self.lot, self.room, self.env, self.stage, self.stand = lot, lot.room, lot.room.env, stage, stand
        self.plants: list[Plant] = []
        self.parts: list[Group] = []
        self.up, self.news, self.said = self.env.event(), self.env.event(), []
        self.age = self.grams = self.heat = self.cold = 0.0
        self.growing = self.counted = self.dry = self.stressed = False
        self.drunk, self.empty_since, self.reason, self.thickness, self.stood = 0.0, None, "", 1.0, 0
        stand.groups.append(self)
        self.room.groups += 1
        self.number = self.room.groups

    # -- talking to the plants

    def count(self, fate: str, plants: int) -> None:
        """Count a fate."""
        self.room.year.fate(fate, plants, self.counted)

    def tell(self, what: str, much: float = 0.0) -> Any:
        """Tell every plant; the event returned has happened once all have heard."""
        self.said.append((what, much))
        told, self.news = self.news, self.env.event()
        return told.succeed()

    def throw_away(self, reason: str) -> Steps:
        """All plants are lost and the trays go to be washed."""
        self.reason = reason
        yield self.tell("thrown away")
        self.leave()

    # -- the stand

    def settle_in(self) -> None:
        """The plants stand so close from now on; the place of one that dies stays empty until the group leaves."""
        self.stood = len(self.plants)
        self.stand.density = self.stood / self.stand.trays

    def leave(self, carried: int = 0) -> None:
        """Gone from the stand: its trays empty in proportion and are washed; only then are the slots free. Trays
        carried on leave nothing to wash."""
        self.growing = False
        stand = self.stand
        stand.groups.remove(self)
        left = sum(other.stood for other in stand.groups)
        keep = min(stand.trays, math.ceil(left / stand.density - 1e-9)) if left else 0
        emptied, stand.trays = stand.trays - keep, keep
        if stand.extra:
            if stand.thinning is not None:
                self.room.work.withdraw(stand.thinning)
            self.count("thinned", stand.extra)
            stand.extra = 0
        carried = min(carried, emptied)
        if carried:
            self.room.slots.free(stand.bay, carried)
        if emptied > carried:
            self.env.process(self.wash(stand.bay, emptied - carried))

    def wash(self, bay: Any, trays: int) -> Steps:
        """Trays are washed, then their slots are free."""
        day = self.env.now // DAY
        if self.room.calendar.is_closed(day):
            yield Moment(self.env, self.room.first_open(day) * DAY, Order.CALENDAR)
        yield self.room.work.post("wash", trays, self.lot.crop.name).done
        self.room.slots.free(bay, trays)

    # -- growing and drinking

    def start_growing(self, age: float) -> None:
        """From now on the clocks of this rack count."""
        self.clock = self.stand.bay.rack.clock
        self.clock.advance()
        self.seen = (self.clock.growth, self.clock.thirst)
        stage = self.lot.stages[self.stage]
        self.curve = self.room.curves.curves[self.lot.crop.name, stage.name, self.stand.bay.rack.spec.lights]
        self.plug_ml = PLUG_WATER_FRACTION * self.room.trays[stage.tray].plug_volume_ml
        self.age, self.growing = age, True

    def settle(self) -> None:
        """Grow and drink up to now."""
        if not self.growing:
            return
        self.clock.advance()
        grown, thirst = self.clock.growth - self.seen[0], self.clock.thirst - self.seen[1]
        self.seen = (self.clock.growth, self.clock.thirst)
        grown = 0.0 if self.stressed else grown
        before, self.age = self.age, self.age + self.lot.speed * grown
        water, rate = self.curve.water_and_rate(self.age)
        ml = (water - self.curve.water_ml(before)) / self.lot.speed + (thirst - grown) * rate
        if self.dry:
            ml = min(ml, self.plug_ml - self.drunk)
        self.drunk += ml
        gained = self.curve.dry_g(self.age) - self.curve.dry_g(before)
        self.room.air.grown_g += gained * len(self.plants) * self.room.mass_factor[self.lot.crop.name] * self.thickness
        self.stand.bay.rack.reservoir.drink(ml * len(self.plants) / 1000)

    def flood(self, came: bool) -> Steps:
        """The flood of this minute came, or did not."""
        if came:
            yield from self.book_drought()
            if self.empty_since is not None:
                yield self.tell("flooded")
            self.drunk, self.dry, self.stressed, self.empty_since = 0.0, False, False, None
        elif not self.dry:
            self.dry = True
            self.drunk = min(self.drunk, self.plug_ml)
            self.env.process(self.drought())

    def drought(self) -> Steps:
        """While no flood comes: watch the plug, every other minute until it is empty."""
        while self.dry and self.growing:
            self.settle()
            self.stressed = self.drunk >= (1 - STRESS_BELOW_FRACTION) * self.plug_ml - 1e-9
            if self.drunk >= self.plug_ml - 1e-9:
                if self.empty_since is None:
                    self.empty_since = self.env.now
                else:
                    yield from self.book_drought()
                yield self.env.timeout(DAY)
            else:
                yield self.env.timeout(2)

    def book_drought(self) -> Steps:
        """Those plants end that do not survive so many hours with an empty plug."""
        if self.dry and self.empty_since is not None:
            yield self.tell("dry hours", (self.env.now - self.empty_since) / 60)
            self.clear_if_empty()

    def warm(self, degree_hours: float) -> None:
        """Too warm."""
        self.heat += degree_hours
        self.env.process(self.book_air("degree hours", self.heat))

    def chill(self, degree_hours: float) -> None:
        """Too cold."""
        self.cold += degree_hours
        self.env.process(self.book_air("cold degree hours", self.cold))

    def air_is_well(self, what: str) -> None:
        """Back at what is wanted: what comes next is another spell, and hits other plants."""
        if what == "degree hours":
            self.heat = 0.0
        else:
            self.cold = 0.0
        self.tell(f"no more {what}")

    def book_air(self, what: str, dose: float) -> Steps:
        """Those plants end that do not survive so many degree-hours."""
        yield self.tell(what, dose)
        self.clear_if_empty()

    def clear_if_empty(self) -> None:
        """Let the one who waits for something know that nothing is left to wait for."""
        if not self.plants and not self.gone.triggered:
            self.gone.succeed()

    # -- the life of a group

    def begin(self, sown_cells: int) -> Steps:
        """Sow, germinate, thin."""
        room, crop = self.room, self.lot.crop
        job = room.work.post("sow", sown_cells, crop.name)
        last = self.lot.day * DAY + STILL_SOWN_MINUTES
        yield job.done | Moment(self.env, last, Order.WAKE)
        if not job.begun:
            room.work.withdraw(job)
            room.slots.free(self.stand.bay, self.stand.trays)
            return
        yield job.done
        self.counted, sown = room.year.now(), self.env.now
        room.year.count("seeds_sown", sown_cells * (crop.seeds_per_cell if crop.sown_by == "seed" else 1))
        self.plants = [Plant(self) for _ in range(sown_cells)]
        mean, table = room.air.now_c(), crop.emergence
        warmth = room.air.degree_minutes()
        while True:
            due = sown + round(DAY * days_to_emerge(mean, table.temperature_c, table.days))
            if due <= self.env.now:
                break
            yield Moment(self.env, due, Order.WAKE, self.number)
            mean = (room.air.degree_minutes() - warmth) / (self.env.now - sown)
        chance = self.lot.chance * relative_emergence(mean, table.temperature_c, table.relative_fraction)
        if crop.sown_by != "seed":
            at = room.scenario.climate.air_temperature_c
            usual = crop.germination_fraction.expected()
            usual *= relative_emergence(at, table.temperature_c, table.relative_fraction)
            self.thickness = min(1.0, chance) / min(1.0, usual)
        self.start_growing(0.0)
        self.gone = self.env.event()
        yield self.up.succeed(min(1.0, chance))
        self.settle_in()
        self.env.process(self.thin(self.stand))
        self.clear_if_empty()
        yield from self.carry_on()

    def thin(self, stand: Stand) -> Steps:
        """Extra seedlings are pulled; the work falls due as the room is open."""
        day = self.env.now // DAY
        if self.room.calendar.is_closed(day):
            yield Moment(self.env, self.room.first_open(day) * DAY, Order.CALENDAR)
        if stand.extra:
            stand.thinning = self.room.work.post("thin", stand.extra, self.lot.crop.name)
            yield stand.thinning.done
            self.count("thinned", stand.extra)
            stand.extra = 0

    def carry_on(self) -> Steps:
        """What comes next: another stage, or ripening."""
        if self.stage + 1 < len(self.lot.stages):
            yield from self.seek_room()
        else:
            yield from self.ripen()

    def seek_room(self) -> Steps:
        """Wait until it is time, then for slots of the next stage; whoever gets some goes ahead."""
        following = self.lot.stages[self.stage + 1]
        places = self.room.trays[following.tray].places
        due = (self.lot.day + round(sum(s.days for s in self.lot.stages[: self.stage + 1]))) * DAY
        deadline = due + round(following.latest_days * DAY)
        opens = self.room.first_open(due // DAY) * DAY
        yield Moment(self.env, min(max(due, opens), deadline), Order.WAKE, self.number) | self.gone
        if opens > deadline and self.plants:
            yield from self.throw_away("overgrown")
            return
        if not self.plants:
            self.leave()
            return
        request = self.room.slots.ask(following, math.ceil(len(self.plants) / places), self.env.now)
        while request:
            yield request.given | Moment(self.env, deadline, Order.WAKE) | self.gone
            if not request.given.triggered:
                self.room.slots.withdraw(request)
                yield from self.throw_away("no_room")
                return
            self.settle()
            for bay, slots in request.given.value:
                if not self.plants:
                    self.room.slots.free(bay, slots)
                    continue
                part = self.split(min(len(self.plants), slots * places))
                self.env.process(part.move(bay, slots, deadline))
            yield self.tell("regrouped")
            request = request.rest
        if self.stood or not self.parts:
            self.leave()
        else:
            self.stand.groups.remove(self)
            self.growing = False

    def split(self, plants: int) -> Group:
        """Some of the plants become a group of their own, on the same stand."""
        part = Group(self.lot, self.stage, self.stand)
        part.plants, self.plants = self.plants[:plants], self.plants[plants:]
        part.counted, part.thickness, part.heat, part.cold, part.gone = (
            self.counted,
            self.thickness,
            self.heat,
            self.cold,
            self.env.event(),
        )
        if not self.plants:  # the last to go is who waited all the while
            part.number = self.number
        part.stood = len(part.plants) if self.plants else self.stood
        self.stood -= part.stood
        part.start_growing(self.age)
        part.drunk, part.dry, part.stressed, part.empty_since = self.drunk, self.dry, self.stressed, self.empty_since
        if part.dry:
            self.env.process(part.drought())
        self.parts.append(part)
        return part

    def move(self, bay: Any, slots: int, deadline: int) -> Steps:
        """Be moved into the slots given, if hands come in time."""
        room = self.room
        job = room.work.post("transplant", len(self.plants), self.lot.crop.name)
        yield job.done | Moment(self.env, deadline, Order.WAKE) | self.gone
        if not job.begun:
            room.work.withdraw(job)
            room.slots.free(bay, slots)
            yield from self.throw_away("overgrown")
            return
        yield job.done
        self.settle()
        yield from self.book_drought()
        dry_g = self.curve.dry_g(self.age)
        yield self.tell("transplanted", room.handling_loss[self.lot.crop.name, self.stage + 1])
        self.leave(carried=len(self.plants) if self.lot.crop.sown_by == "tray" else 0)
        self.stage += 1
        tray = room.trays[self.lot.stages[self.stage].tray]
        needed = math.ceil(len(self.plants) / tray.places)
        room.slots.free(bay, slots - needed)
        if not needed:
            return
        self.stand = room.new_stand(bay, needed)
        self.stand.groups.append(self)
        self.settle_in()
        self.drunk, self.dry, self.stressed, self.empty_since = 0.0, False, False, None
        self.start_growing(0.0)
        self.age = self.curve.age_days(dry_g)
        yield from self.carry_on()

    def ripen(self) -> Steps:
        """Be looked at on harvest days; be harvested once ripe, before overgrown."""
        room, crop = self.room, self.lot.crop
        ripe_g = crop.harvest_from_mass_fraction * crop.typical_mass_g.expected() * crop.dry_matter_fraction
        ripe = self.curve.age_days(ripe_g)
        too_old = ripe + crop.overgrown_after_days
        while self.plants:
            day = day_of(self.env.now) + 1
            while not (room.harvest_day(day) or room.calendar.is_closed(day)):
                day += 1
            yield Moment(self.env, day * DAY, Order.WAKE, self.number) | self.gone
            self.settle()
            closed = room.calendar.is_closed(day)
            if self.age >= too_old if closed else self.curve.dry_g(self.age) >= ripe_g - 1e-12:
                break
        job = None
        if self.plants and self.age < too_old:
            job = room.work.post("harvest", len(self.plants), crop.name)
            while self.plants and not job.begun and self.age < too_old:
                fastest = 2 * 24 / self.clock.bank.hours_per_day * self.lot.speed / DAY
                look = self.env.now + max(1, math.floor((too_old - self.age) / fastest))
                yield job.done | Moment(self.env, look, Order.WAKE, self.number) | self.gone
                self.settle()
        if job is None or not job.begun:
            if job is not None:
                room.work.withdraw(job)
            yield from self.throw_away("overgrown")
            return
        yield job.done
        self.settle()
        yield from self.book_drought()
        fresh_g = self.curve.dry_g(self.age) / crop.dry_matter_fraction * room.mass_factor[crop.name] * self.thickness
        yield self.tell("harvested", fresh_g)
        grams, harvest_minute = round(self.grams * (1 - crop.trimmed_fraction)), self.env.now
        self.leave()
        if grams:
            yield room.work.post("pack", grams / 1000, crop.name).done
            room.store.bring(crop, grams, harvest_minute)
