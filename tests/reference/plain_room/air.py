"""The air: one node."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

from reference.plain_room.basics import DAY, Moment
from reference.plain_room.co2 import PlantsAir
from reference.plain_room.machines import Machine

from growsim.growth import air as physics
from growsim.scenario.calendar import Order

Steps = Generator[Any, Any, None]
DRIFT_MINUTES = 5
OPEN_DOOR_M3_PER_HOUR = 1000


class Air:
    """One node of air."""

    def __init__(self, room: Any) -> None:
        self.room, self.env, s = room, room.env, room.scenario
        self.spec, self.place = s.climate, s.room
        self.doors = 0
        self.heat_pump = Machine(room, "heat pump", self.spec.reliability, 1.0)
        self.co2 = Machine(room, "co2", s.co2.reliability, 1.0)
        self.at, self.sum, self.drift_c, self.stopped = self.env.now, 0.0, None, self.env.event()
        self.was_c = self.spec.air_temperature_c
        self.plants = PlantsAir(room, self)
        self.breathe()
        self.grown_g, self.fed_g, self.fed_until = 0.0, 0.0, self.env.now

    def breathe(self) -> None:
        """So much air comes and goes, and takes heat and CO2 with it."""
        s, place = self.room.scenario, self.place
        volume = place.floor_area_m2 * place.height_m
        changes = place.air_changes_per_hour + (OPEN_DOOR_M3_PER_HOUR / volume if self.doors else 0.0)
        self.conductance = physics.conductance_w_per_k(place.heat_loss_w_per_k, changes, volume)
        self.time_constant = physics.time_constant_minutes(place.heat_capacity_kj_per_k, self.conductance)
        self.plants.leak_g = changes * volume * 44.01 / 24.055 / 1000  # an hour and ppm
        self.plants.known = {}
        lit = sum(bank.hours_per_day for bank in s.lights) / len(s.lights) / 24
        self.most_g = s.co2.supply_kg_per_day * lit / 1.44  # a minute
        held_ppm = max(0.0, min(s.co2.setpoint_ppm - s.co2.outdoor_ppm, self.most_g * 60 / lit / self.plants.leak_g))
        self.leak_g = self.plants.leak_g * held_ppm * lit / 60

    def strike(self, more: int) -> None:
        """A door is opened (1) or shut (-1)."""
        with self.room.change():
            self.doors += more
            self.breathe()

    def harms(self) -> bool:
        """Whether what the heat pump holds harms plants."""
        held, crops = (self.held(True), self.held(False)), self.room.scenario.crops
        return max(held) > min(c.heat_limit_c for c in crops) or min(held) < max(c.cold_limit_c for c in crops)

    def begin(self) -> None:
        """Once the racks stand."""
        self.clock = self.room.racks[0].clock
        self.hold()
        self.env.process(self.months())
        self.env.process(self.drifts())
        self.env.process(self.count_from_day_0())
        self.env.process(self.plants.looks())

    def feed(self) -> None:
        """CO2 that the supply has given off until now: what leaks out, and what the plants have gained since."""
        for rack in self.room.racks:
            for group in self.room.groups_on(rack):
                group.settle()
        minutes, self.fed_until = self.env.now - self.fed_until, self.env.now
        if self.gassing():
            self.fed_g += min(self.leak_g * minutes + self.grown_g / 0.68, self.most_g * minutes)
        self.grown_g = 0.0

    def count_from_day_0(self) -> Steps:
        """What was given off in the warm-up does not count."""
        yield Moment(self.env, 0, Order.OPENING)
        self.feed()
        self.fed_g = 0.0

    def heat_w(self, lit: bool) -> float:
        """Heat released in the room."""
        lamps = sum(rack.clock.power_w for rack in self.room.racks if lit and rack.clock.burning())
        return lamps + self.place.other_heat_w + (self.spec.fans_w if self.room.mains.up else 0.0)

    def held(self, lit: bool) -> float:
        """Temperature that the heat pump holds."""
        return physics.held_temperature(
            self.spec.air_temperature_c,
            self.outdoor_c(),
            self.heat_w(lit),
            self.conductance,
            self.spec.cooling_kw,
            self.spec.heating_kw,
        )[0]

    def outdoor_c(self) -> float:
        """Outside, this month."""
        return self.place.outdoor_temperature_c[self.room.calendar.month(self.env.now // DAY)]

    def now_c(self) -> float:
        """Temperature now."""
        if self.drift_c is not None:
            return self.drift_c
        return self.lit_c if self.clock.on_timetable() else self.dark_c

    def degree_minutes(self) -> float:
        """Temperature summed over the minutes so far."""
        if self.drift_c is None:
            light = self.clock.light_minutes(self.env.now) - self.clock.light_minutes(self.at)
            self.sum += light * self.lit_c + (self.env.now - self.at - light) * self.dark_c
            self.at = self.env.now
        return self.sum

    def hold(self) -> None:
        """Held at what the heat pump can do this month."""
        self.lit_c, self.dark_c = self.held(True), self.held(False)
        self.tell(self.lit_c, self.dark_c)

    def tell(self, lit_c: float, dark_c: float) -> None:
        """The racks feel the air."""
        for rack in self.room.racks:
            rack.clock.advance()
            rack.clock.new_pace(lit_c, dark_c, self.plants.under(rack.spec.lights))

    def plants_looked_at(self) -> None:
        """Plants take more or less CO2 than before."""
        if self.drift_c is None:
            self.degree_minutes()
            self.hold()
        else:
            self.tell(self.drift_c, self.drift_c)

    def works(self) -> bool:
        """Whether the heat pump runs."""
        return self.heat_pump.up and self.room.mains.up and "heat pump" not in self.room.resting

    def gassing(self) -> bool:
        """Whether the supply of CO2 is on."""
        return self.co2.up and self.room.mains.up and "lights" not in self.room.resting

    def months(self) -> Steps:
        """A new month, a new outside."""
        while True:
            yield Moment(self.env, (self.env.now // DAY + 1) * DAY, Order.AIR)
            self.degree_minutes()
            if self.drift_c is None:
                self.hold()

    def changed(self) -> None:
        """A machine went down or came back."""
        if self.drift_c is None:
            self.degree_minutes()
            self.was_c = self.now_c()  # what the door lets in takes its time
            self.hold()
            if (not self.works() or (self.doors and self.harms())) and not self.stopped.triggered:
                self.stopped.succeed()

    def drifts(self) -> Steps:
        """While the heat pump or the power are down, and until the air is back: Newton's law in short steps."""
        while True:
            self.stopped = self.env.event()
            yield self.stopped
            self.degree_minutes()
            self.drift_c = self.was_c
            while True:
                start, before = self.env.now, self.drift_c
                lit, works = self.clock.on_timetable(), self.works()
                target = self.held(lit)
                if works and abs(before - target) <= 0.05 and not (self.doors and self.harms()):
                    break
                heat, wanted = self.heat_w(lit), self.spec.air_temperature_c
                if works:  # at full power towards what is wanted, which is more than it may be able to hold
                    heat += (before < wanted) * self.spec.heating_kw * 1000
                    heat -= (before > wanted) * self.spec.cooling_kw * 1000
                balance = target if works and before == wanted else self.outdoor_c() + heat / self.conductance
                yield Moment(self.env, (start // DRIFT_MINUTES + 1) * DRIFT_MINUTES, Order.AIR)
                minutes = self.env.now - start
                after = physics.temperature_after(minutes, before, balance, self.time_constant)
                mean = balance + (before - after) * self.time_constant / minutes  # Newton's law over the time
                if works and (before - wanted) * (after - wanted) < 0:
                    after = wanted
                self.sum, self.at, self.drift_c = self.sum + mean * minutes, self.env.now, after
                self.tell(after, after)
                for rack in self.room.racks:
                    for group in self.room.groups_on(rack):
                        above = mean - group.lot.crop.heat_limit_c
                        if above > 0 and group.growing:
                            group.warm(above * minutes / 60)
                        below = group.lot.crop.cold_limit_c - mean
                        if below > 0 and group.growing:
                            group.chill(below * minutes / 60)
                        if after <= self.spec.air_temperature_c and group.heat:
                            group.air_is_well("degree hours")
                        if after >= self.spec.air_temperature_c and group.cold:
                            group.air_is_well("cold degree hours")
            self.drift_c, self.at = None, self.env.now
            for rack in self.room.racks:
                for group in self.room.groups_on(rack):
                    group.air_is_well("degree hours")
                    group.air_is_well("cold degree hours")
            self.hold()
