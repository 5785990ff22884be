"""Power and machines: running, failing, noticed, repaired."""

from __future__ import annotations

from collections.abc import Generator
from typing import Any

import simpy
from reference.plain_room.basics import DAY, Moment, draw

from growsim.scenario.calendar import Order

Steps = Generator[Any, Any, None]


class Machine:
    """Something that runs, fails, is noticed and is repaired."""

    def __init__(self, room: Any, kind: str, spec: Any, running_share: float) -> None:
        self.room, self.env, self.spec, self.failed, self.arranged = room, room.env, spec, False, 0
        self.shelf = simpy.Container(room.env, init=spec.spares)
        self.share = running_share / room.hours_factors.setdefault(kind, draw(spec.hours_factor, room.luck))
        life = spec.running_hours_to_failure
        if life is not None:
            self.env.process(self.by_chance() if life.distribution == "exponential" else self.by_age())

    @property
    def up(self) -> bool:
        """Whether it works."""
        return not self.failed and not self.arranged

    def life_minutes(self) -> int:
        """Minutes on the calendar to the next failure."""
        return max(1, round(draw(self.spec.running_hours_to_failure, self.room.luck) / self.share * 60))

    def by_chance(self) -> Steps:
        """Failures fixed on the calendar; one that comes while the machine is down is no news."""
        while True:
            yield Moment(self.env, self.env.now + self.life_minutes(), Order.OPENING)
            if not self.failed:
                self.env.process(self.fail())

    def by_age(self) -> Steps:
        """A new life after each repair."""
        while True:
            yield Moment(self.env, self.env.now + self.life_minutes(), Order.OPENING)
            yield self.env.process(self.fail())

    def fail(self) -> Steps:
        """Down, noticed, a part ordered, repaired."""
        room, spec = self.room, self.spec
        room.year.count("machine_failures", self.up)
        with room.change():
            self.failed = True
        noticed = room.next_look_in(self.env.now)
        if spec.alarm_minutes is not None:
            noticed = min(noticed, self.env.now + round(spec.alarm_minutes))
        yield Moment(self.env, noticed, Order.CALENDAR)
        self.env.process(self.deliver())
        yield self.shelf.get(1)
        yield Moment(self.env, self.env.now + round(draw(spec.repair_hours, room.luck) * 60), Order.OPENING)
        with room.change():
            self.failed = False

    def deliver(self) -> Steps:
        """A part is ordered and comes."""
        days = draw(self.spec.delivery_days, self.room.luck)
        yield Moment(self.env, self.env.now + round(days * DAY), Order.OPENING)
        yield self.shelf.put(1)

    def strike(self, more: int) -> None:
        """An outage that is made to happen begins (1) or ends (-1)."""
        self.room.year.count("machine_failures", more > 0 and self.up)
        with self.room.change():
            self.arranged += more


class Mains:
    """Utility power and the battery."""

    def __init__(self, room: Any) -> None:
        self.room, self.env, self.spec, self.up = room, room.env, room.scenario.power, True
        self.holding = 0
        if self.spec.outages_per_year:
            self.env.process(self.cuts())

    def cuts(self) -> Steps:
        """Power outages come by chance."""
        luck = self.room.luck
        while True:
            wait = max(1, round(luck.exponential(365 * DAY / self.spec.outages_per_year)))
            yield Moment(self.env, self.env.now + wait, Order.OPENING)
            self.env.process(self.cut(max(1, round(draw(self.spec.outage_hours, luck) * 60))))

    def cut(self, minutes: int) -> Steps:
        """One outage."""
        self.strike(1)
        yield Moment(self.env, self.env.now + minutes, Order.OPENING)
        self.strike(-1)

    def strike(self, more: int) -> None:
        """One outage begins (1) or ends (-1)."""
        if more > 0 and self.up:
            self.room.year.count("power_outages")
            self.battery_until = self.env.now + self.spec.battery_pump_hours * 60
            self.env.process(self.battery_ends())
        with self.room.change():
            self.holding += more
            self.up = not self.holding

    def battery_ends(self) -> Steps:
        """Whoever looks after flowing water looks again."""
        yield Moment(self.env, self.battery_until, Order.OPENING)
        for reservoir in self.room.reservoirs:
            reservoir.something_changed()

    def runs_pumps(self) -> bool:
        """Whether pumps and timers have power."""
        return self.up or self.env.now < self.battery_until
