"""The clocks of a rack, and the reservoirs with their floods: each flood an event."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import replace
from typing import Any

from reference.plain_room.basics import DAY, Moment
from reference.plain_room.machines import Machine

from growsim.growth.curves import growth_pace, water_pace
from growsim.growth.solution import ec_after_uptake, mixed_ec
from growsim.growth.stress import ec_pace
from growsim.scenario.calendar import Order

Steps = Generator[Any, Any, None]


class Clock:
    """Growth and thirst of one rack, in days at the room's set-points."""

    def __init__(self, room: Any, bank: Any, lights: Machine, area_m2: float) -> None:
        self.room, self.env, self.bank, self.lights = room, room.env, bank, lights
        self.setpoint = room.curves.environments[bank.name]
        self.power_w = bank.ppfd_umol_m2_s * area_m2 / bank.efficacy_umol_j / bank.light_on_trays_fraction
        self.at, self.growth, self.thirst = room.env.now, 0.0, 0.0
        self.pace, self.strength, self.lit_rate, self.dark_rate = 1.0, 1.0, 1.0, 1.0

    def light_minutes(self, until: int) -> float:
        """Minutes of light in the timetable up to a minute."""
        days, minutes = divmod(until - round(self.bank.on_hour * 60), DAY)
        return days * self.bank.hours_per_day * 60 + min(minutes, self.bank.hours_per_day * 60)

    def on_timetable(self) -> bool:
        """Whether the timetable has the lights on now."""
        return (self.env.now - round(self.bank.on_hour * 60)) % DAY < self.bank.hours_per_day * 60

    def burning(self) -> bool:
        """Whether the lights burn whenever the timetable says so."""
        return self.lights.up and self.room.mains.up and "lights" not in self.room.resting

    def advance(self) -> None:
        """Count the time since last looked at, in which nothing changed."""
        now, burning = self.env.now, self.burning()
        light = self.light_minutes(now) - self.light_minutes(self.at) if burning else 0.0
        dark = now - self.at - light
        self.growth += light / (self.bank.hours_per_day * 60) * self.pace * self.strength
        self.thirst += (light * self.lit_rate + dark * self.dark_rate) / DAY
        self.at = now

    def new_pace(self, lit_c: float, dark_c: float, co2_ppm: float) -> None:
        """The air has changed."""
        lit = replace(self.setpoint, air_temperature_c=lit_c, co2_ppm=co2_ppm)
        dark = replace(self.setpoint, air_temperature_c=dark_c, ppfd_umol_m2_s=0.0)
        cool = replace(self.setpoint, air_temperature_c=lit_c, ppfd_umol_m2_s=0.0)
        hours = self.bank.hours_per_day
        self.pace, self.dark_rate = growth_pace(lit, self.setpoint), water_pace(dark, self.setpoint)
        night = (24 - hours) * water_pace(cool, self.setpoint)
        self.lit_rate = (24 * water_pace(lit, self.setpoint) - night) / hours


class Reservoir:
    """A reservoir: its level, its strength and its floods."""

    def __init__(self, room: Any, spec: Any) -> None:
        self.room, self.env, self.spec = room, room.env, spec
        self.always, self.woken = spec.flood_every_hours == 0, room.env.event()
        share = 1.0 if self.always else spec.flood_minutes / (spec.flood_every_hours * 60)
        self.pumps = [Machine(room, "pump", spec.pump.reliability, share) for _ in range(spec.pump.count)]
        self.timer = None if self.always else Machine(room, "timer", spec.timer.reliability, 1.0)
        self.level, self.ec, self.racks, self.leaks = spec.capacity_l, spec.fill_ec_ms_cm, [], 0
        self.env.process(self.flow() if self.always else self.floods())
        if spec.change_every_weeks:
            self.env.process(self.renewals())

    def drink(self, liters: float) -> None:
        """Plants drank."""
        self.ec = ec_after_uptake(self.level, self.ec, liters, self.spec.uptake_ec_ms_cm)
        self.level = max(0.0, self.level - liters)
        if self.spec.top_up != "by hand":
            self.fill()

    def fill(self) -> None:
        """Filled with fresh solution; what leaks cannot be filled."""
        if self.leaks:
            return
        self.ec = mixed_ec(self.level, self.ec, self.spec.capacity_l - self.level, self.spec.fill_ec_ms_cm)
        self.level = self.spec.capacity_l

    def settle(self) -> list[Any]:
        """All groups it floods, grown and watered up to now."""
        groups = [g for rack in self.racks for g in self.room.groups_on(rack)]
        for rack in self.racks:
            rack.clock.advance()
        for group in groups:
            group.settle()
        for rack in self.racks:
            rack.clock.strength = ec_pace(self.ec, self.spec.lowest_ec_ms_cm, self.spec.highest_ec_ms_cm)
        return groups

    def floods(self) -> Steps:
        """Each flood is an event."""
        every = self.spec.flood_every_hours * 60
        first = math.ceil((self.env.now - self.spec.first_flood_hour * 60) / every)
        for n in range(first, 10**9):
            yield Moment(self.env, round(self.spec.first_flood_hour * 60 + n * every), Order.FLOOD)
            groups = self.settle()
            came = self.works()
            self.room.year.count("floods_missed", not came)
            for group in groups:
                yield from group.flood(came)

    def works(self) -> bool:
        """Whether water can be pumped now."""
        machines = (self.always or self.timer.up) and any(pump.up for pump in self.pumps)
        deep = self.spec.top_up != "by hand" or self.level >= self.spec.lowest_flood_level_l
        return machines and self.room.mains.runs_pumps() and deep and not self.leaks

    def strike(self, more: int) -> None:
        """A leak begins (1): the reservoir is empty; it ends (-1): the reservoir is filled."""
        self.settle()
        self.leaks += more
        if more > 0:
            self.level = 0.0
        self.fill()
        self.settle()
        self.something_changed()

    def something_changed(self) -> None:
        """A machine or the power went down or came back."""
        if not self.woken.triggered:
            self.woken.succeed()

    def flow(self) -> Steps:
        """The pump runs all the time: a look every half an hour, and whenever something changes."""
        flowed = True
        while True:
            self.woken = self.env.event()
            yield self.woken | Moment(self.env, self.env.now + 30, Order.FLOOD)
            yield Moment(self.env, self.env.now, Order.FLOOD)
            groups = self.settle()
            came = self.works()
            self.room.year.count("floods_missed", flowed and not came)
            flowed = came
            for group in groups:
                yield from group.flood(came)

    def renewals(self) -> Steps:
        """A job every so many weeks: the reservoir is emptied and filled."""
        due = self.env.now // DAY
        while True:
            due += self.spec.change_every_weeks * 7
            if due >= self.env.now // DAY:
                yield Moment(self.env, self.room.first_open(due) * DAY, Order.CALENDAR)
                self.env.process(self.renew())

    def renew(self) -> Steps:
        """One renewal."""
        yield self.room.work.post("change solution", 1).done
        self.settle()
        self.level = 0.0
        self.fill()
        self.settle()


def top_ups(room: Any) -> Steps:
    """One job for all reservoirs filled by hand, each day with a shift unless the last is still open."""
    day, job = room.env.now // DAY, None
    reservoirs = [reservoir for reservoir in room.reservoirs if reservoir.spec.top_up == "by hand"]
    while reservoirs:
        yield Moment(room.env, day * DAY, Order.CALENDAR)
        if room.work.shift_on(day) and (job is None or job.done.triggered):
            job = room.work.post("top up", len(reservoirs))
            room.env.process(top_up(job, reservoirs))
        day += 1


def top_up(job: Any, reservoirs: list[Reservoir]) -> Steps:
    """One round of topping up."""
    yield job.done
    for reservoir in reservoirs:
        reservoir.settle()
        reservoir.fill()
        reservoir.settle()
