"""Machines that fail, are noticed and are repaired; and utility power.

A machine tells its listeners when it goes down or comes back; nobody is interrupted. Failures of pure chance
(exponential) are instants fixed in advance, so that two alternatives meet the same failures whatever happens in
between; a failure that strikes a machine already down is no news. Machines that wear (any other distribution) start a
new spell when repaired.
"""

from __future__ import annotations

from math import log1p
from typing import TYPE_CHECKING, Any, Final

from growsim.ledger.events import Noticed, Repaired, WentDown
from growsim.scenario.calendar import Order
from growsim.vocabulary.machines import POWER

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.chance.streams import Luck
    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.room.rota import Rota
    from growsim.scenario.equipment import Power, Reliability

_NEVER: Final = 2**60


class Machine:
    """One machine. is_up unless it has failed or an outage is made to happen.

    running_share: the share of the calendar it runs, which turns running hours into calendar time.
    """

    def __init__(
        self,
        kind: str,
        where: str,
        spec: Reliability,
        running_share: float,
        clock: Clock,
        book: Book,
        luck: Luck,
        rota: Rota,
        label: str = "",
    ) -> None:
        self.kind = kind
        self.where = where
        self.listeners: list[Callable[[], None]] = []
        self._spec = spec
        self._share = running_share
        self._clock = clock
        self._book = book
        self._luck = luck
        self._rota = rota
        self._key = f"machine.{kind}.{where}{label}"
        self._lives = luck.stream(f"{self._key}.failures")
        self._hours_factor = luck.stream(f"parameter.{kind}.hours_factor").figure(spec.hours_factor)
        self._failed = False
        self._outages = 0
        self._down_since = 0
        self._spares = spec.spares
        self._failures = 0
        self._to_pay = 0.0

    @property
    def is_up(self) -> bool:
        """Whether it works."""
        return not self._failed and self._outages == 0

    def start(self) -> None:
        """Plan its first failure."""
        self._plan_failure(self._clock.now)

    def begin_outage(self) -> None:
        """Put it down from outside (a planned outage)."""
        self._outages += 1
        if self._outages == 1 and not self._failed:
            self._tell_down()

    def end_outage(self) -> None:
        """End of a planned outage."""
        self._outages -= 1
        if self.is_up:
            self._tell_up()

    def _plan_failure(self, from_minute: int) -> None:
        life = self._spec.running_hours_to_failure
        if life is None or self._luck.is_switched_off or self._share <= 0:
            return
        minutes = max(1, round(self._lives.figure(life) * self._hours_factor * 60.0 / self._share))
        if minutes < _NEVER:
            self._clock.at(from_minute + minutes, Order.OPENING, self._fail)

    @property
    def _is_memoryless(self) -> bool:
        life = self._spec.running_hours_to_failure
        return life is not None and life.distribution == "exponential"

    def _fail(self, _: Any) -> None:
        now = self._clock.now
        if self._is_memoryless:
            self._plan_failure(now)
        if self._failed:
            return
        self._failed = True
        self._failures += 1
        if self._outages == 0:
            self._tell_down()
        looked = self._rota.next_look(now)
        alarm = None if self._spec.alarm_minutes is None else now + round(self._spec.alarm_minutes)
        if alarm is not None and (looked is None or alarm <= looked):
            self._clock.at(alarm, Order.CALENDAR, lambda _: self._notice("alarm"))
        elif looked is not None:
            self._clock.at(looked, Order.CALENDAR, lambda _: self._notice("walk-through"))

    def _notice(self, by: str) -> None:
        now = self._clock.now
        self._book.write(Noticed(now, self.kind, self.where, by))
        luck = self._luck.stream(f"{self._key}.repair.{self._failures}")
        work_minutes = max(1, round(luck.figure(self._spec.repair_hours) * 60))
        delivery_minutes = max(0, round(luck.figure(self._spec.delivery_days) * 1440))
        if self._spares > 0:
            self._spares -= 1
            ready = now + work_minutes
        else:
            ready = now + delivery_minutes + work_minutes
        self._clock.at(now + delivery_minutes, Order.CALENDAR, self._part_arrives)
        self._clock.at(ready, Order.OPENING, self._mend)

    def _part_arrives(self, _: Any) -> None:
        if self._spares < self._spec.spares:  # a part is ordered at every failure; it fills the shelf again
            self._spares += 1

    def _mend(self, _: Any) -> None:
        self._failed = False
        self._to_pay += self._spec.repair_price
        if self._outages == 0:
            self._tell_up()
        if not self._is_memoryless:
            self._plan_failure(self._clock.now)

    def _tell_down(self) -> None:
        self._down_since = self._clock.now
        self._book.write(WentDown(self._clock.now, self.kind, self.where))
        for listener in self.listeners:
            listener()

    def _tell_up(self) -> None:
        now, price, self._to_pay = self._clock.now, self._to_pay, 0.0
        self._book.write(Repaired(now, self.kind, self.where, now - self._down_since, price))
        for listener in self.listeners:
            listener()


class Mains:
    """Utility power, and the battery that keeps pumps and timers going for a while.

    Outages come by chance (Poisson) at instants fixed in advance; an outage inside an outage only makes it last to the
    later end.
    """

    def __init__(self, spec: Power, clock: Clock, book: Book, luck: Luck) -> None:
        self._spec = spec
        self._clock = clock
        self._book = book
        self._luck = luck
        self._cuts = luck.stream("power.cuts")
        self._count = 0
        self._holding_down = 0
        self._down_since = 0
        self.battery_is_up = True
        self.listeners: list[Callable[[], None]] = []

    @property
    def is_up(self) -> bool:
        """Whether there is utility power."""
        return self._holding_down == 0

    @property
    def pumps_have_power(self) -> bool:
        """Whether pumps and timers have power, from the power or the battery."""
        return self.is_up or self.battery_is_up

    def start(self) -> None:
        """Plan the first outage."""
        if self._spec.outages_per_year > 0 and not self._luck.is_switched_off:
            self._plan_cut()

    def _plan_cut(self) -> None:
        days = -365.25 / self._spec.outages_per_year * log1p(-self._cuts.random())
        self._clock.at(self._clock.now + max(1, round(days * 1440)), Order.OPENING, self._cut)

    def _cut(self, _: Any) -> None:
        self._plan_cut()
        self._count += 1
        hours = self._luck.stream(f"power.cut.{self._count}").figure(self._spec.outage_hours)
        self.begin_outage()
        self._clock.at(self._clock.now + max(1, round(hours * 60)), Order.OPENING, lambda _: self.end_outage())

    def begin_outage(self) -> None:
        """The power goes."""
        self._holding_down += 1
        if self._holding_down > 1:
            return
        self._down_since = self._clock.now
        self._book.write(WentDown(self._clock.now, POWER.key, ""))
        battery_minutes = round(self._spec.battery_pump_hours * 60)
        self.battery_is_up = battery_minutes > 0
        if battery_minutes > 0:
            since = self._down_since
            self._clock.at(self._clock.now + battery_minutes, Order.OPENING, lambda _: self._battery_ends(since))
        self._tell()

    def _battery_ends(self, since: int) -> None:
        if not self.is_up and self._down_since == since:
            self.battery_is_up = False
            self._tell()

    def end_outage(self) -> None:
        """The power is back (where no other outage holds it down); the battery is taken to be full again."""
        self._holding_down -= 1
        if self._holding_down == 0:
            now = self._clock.now
            self.battery_is_up = True
            self._book.write(Repaired(now, POWER.key, "", now - self._down_since, 0.0))
            self._tell()

    def _tell(self) -> None:
        for listener in self.listeners:
            listener()
