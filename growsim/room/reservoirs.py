"""A reservoir: it floods its racks by the timer, what plants drink is gone from it, it is topped up and renewed.

While nothing is wrong a flood changes nothing that arithmetic cannot tell, so floods cost no events; the reservoir only
plans a look at the flood that might fail. While something is wrong (and in `every_flood` mode always) each flood is
an event. Both run the same `_flood`, at the same minutes, and so write the same book; a test holds them to it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from growsim.ledger.events import FloodMissed, ToppedUp
from growsim.room.look_ahead import FloodTimer, LookAhead
from growsim.room.solution import Solution
from growsim.scenario.calendar import Calendar, Order
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.losses import DRIED_OUT
from growsim.vocabulary.machines import LEAK, LOW_RESERVOIR, POWER, PUMP, TIMER
from growsim.vocabulary.obstacles import CLOSED, MACHINE_DOWN, RESERVOIR_LOW, joined

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.chance.streams import Luck
    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.room.machines import Machine, Mains
    from growsim.room.part import Part
    from growsim.room.rack_clocks import RackClocks
    from growsim.room.racks import RackHere
    from growsim.scenario.equipment import Reservoir

WITHER_EVERY_MINUTES: Final = 24 * 60


class ReservoirHere:
    """A reservoir at work.

    on_strength: called when the solution lets plants grow at another pace. rank: its place among the reservoirs, so
    that reservoirs flooding at one minute do so in the same order whenever their floods were planned.
    """

    def __init__(
        self,
        spec: Reservoir,
        racks: list[RackHere],
        pumps: list[Machine],
        timers: list[Machine],
        mains: Mains,
        clock: Clock,
        calendar: Calendar,
        book: Book,
        luck: Luck,
        every_flood: bool,
        rank: int,
    ) -> None:
        self.spec = spec
        self.racks = racks
        self._pumps = pumps
        self._timers = timers
        self._mains = mains
        self._clock = clock
        self._calendar = calendar
        self._book = book
        self._luck = luck
        self._every_flood = every_flood and not spec.flows_always
        self._rank = rank
        self.solution = Solution(spec)
        self._lowest_ml = spec.lowest_flood_level_l * 1000.0
        self._floods = FloodTimer(spec)
        self._told_pace = self.solution.pace
        self._missed = 0
        self._dry_minutes = 0
        self._last_missed_minute = -(2**62)
        self._dries_because = ""
        self.leaks = 0
        self._is_dry = False
        self._dry_from = 0
        self._flood_planned_for = -(2**62)  # minutes of the warm-up are negative
        self._ahead = LookAhead(
            self.solution, racks, self._floods, self._lowest_ml, clock, lambda: self.needs_a_look, self.plan_flood
        )
        self.on_strength: Callable[[ReservoirHere], None] = lambda reservoir: None
        for rack in racks:
            rack.solution, rack.on_other_pace = self.solution, self.drinks_otherwise
        for machine in (*pumps, *timers):
            machine.listeners.append(self.something_changed)
        mains.listeners.append(self.something_changed)

    def start(self) -> None:
        """The full reservoir, and the first look or flood."""
        now = self._clock.now
        level_ml = self.solution.level_ml
        self._book.write(ToppedUp(now, self.spec.name, 0, 0, level_ml, level_ml, self.solution.ec_ms_cm, by_hand=False))
        if self._every_flood:
            self.plan_flood()
        else:
            self._look_closely()

    # --- flooding ----------------------------------------------------------------------------------------------

    def floods_done(self, begin_minute: int) -> int:
        """Floods that have come in [begin, now)."""
        now = self._clock.now
        missed_before_now = self._missed - (self._last_missed_minute == now)
        return self._floods.floods(begin_minute, now) - missed_before_now

    def pump_kwh(self, begin_minute: int) -> float:
        """Electricity its pump has used in [begin, now)."""
        if not self.spec.flows_always:
            return self.floods_done(begin_minute) * self.spec.flood_minutes * self.spec.pump.power_w / 6e4
        now = self._clock.now
        still = self._dry_minutes + (now - self._dry_from if self._is_dry else 0)
        return (now - begin_minute - still) * self.spec.pump.power_w / 6e4

    def something_changed(self) -> None:
        """A pump, the timer, the power or the reservoir itself is down or up again: look at the next flood."""
        if not self._every_flood:
            self.plan_flood()

    def plan_flood(self) -> None:
        """Plan the next flood by itself; where the pump runs all the time, a look at whether the water runs now."""
        due = self._floods.next_flood(self._clock.now)
        if due == self._clock.now and self._flood_planned_for == due and not self.spec.flows_always:
            due = self._floods.next_flood(due + 1)
        if self._flood_planned_for < due:
            self._flood_planned_for = due
            self._clock.at(due, Order.FLOOD, self._flood, self._rank)

    def _flood(self, _: Any) -> None:
        now, always = self._clock.now, self.spec.flows_always
        obstacle = self._obstacle(now)
        if always:
            self._flood_planned_for = now - 1  # there may be another change this very minute
            if self._is_dry == bool(obstacle):
                return  # it runs, or has stopped and that has been told
        if obstacle:
            self._missed += 1
            self._last_missed_minute = now
            self._dries_because = self._why(obstacle)
            self._book.write(FloodMissed(now, self.spec.name, obstacle))
            if not self._is_dry:
                self._begin_drought(now if always else now - self._floods.every_minutes)
        elif self._is_dry:
            self._end_drought()
        if self._every_flood or (obstacle and not always):
            self.plan_flood()
        elif not obstacle:
            self._look_closely()

    def _why(self, obstacle: str) -> str:
        """What plants dry out of from this missed flood on. That nobody could fill the reservoir, for the room was
        closed, is true of the whole drought."""
        if obstacle != LOW_RESERVOIR:
            return MACHINE_DOWN.key
        in_closing = joined(CLOSED.key, RESERVOIR_LOW.key)
        is_closed = self._calendar.is_closed(self._clock.now // MINUTES_PER_DAY)
        return in_closing if is_closed or (self._is_dry and self._dries_because == in_closing) else RESERVOIR_LOW.key

    def _obstacle(self, minute: int) -> str:
        if not self._mains.pumps_have_power:
            return POWER.key
        if not any(pump.is_up for pump in self._pumps):
            return PUMP.key
        if not all(timer.is_up for timer in self._timers):
            return TIMER.key
        if self.leaks:
            return LEAK.key
        if not self.solution.fills_itself and self._ahead.level_at(minute) < self._lowest_ml:
            return LOW_RESERVOIR
        return ""

    @property
    def needs_a_look(self) -> bool:
        """Whether its level may come to be too low for a flood that nobody has planned."""
        return not (self._every_flood or self._is_dry or self.solution.fills_itself)

    def drinks_otherwise(self, rack: RackClocks) -> None:
        """Plants of one of its racks drink more or less from now on."""
        if self.needs_a_look:
            self._ahead.they_drink_otherwise(rack.pace)

    def _look_closely(self) -> None:
        if self.needs_a_look:
            self._ahead.look_closely()

    # --- running dry -------------------------------------------------------------------------------------------

    def _begin_drought(self, dry_from: int) -> None:
        self._is_dry = True
        self._dry_from = dry_from
        for rack in self.racks:
            for part in rack.parts:
                part.begin_drought(dry_from)
        since = dry_from
        self._clock.at(self._clock.now + WITHER_EVERY_MINUTES, Order.FLOOD, lambda _: self._wither(since), self._rank)

    def _wither(self, since: int) -> None:
        if self._is_dry and self._dry_from == since:
            for rack in self.racks:
                for part in list(rack.parts):
                    self.count_dried(part)
            self._clock.at(
                self._clock.now + WITHER_EVERY_MINUTES, Order.FLOOD, lambda _: self._wither(since), self._rank
            )

    def _end_drought(self) -> None:
        for rack in self.racks:
            for part in list(rack.parts):
                self.count_dried(part)
                part.end_drought(self._clock.now)
        self._is_dry = False
        self._dry_minutes += self._clock.now - self._dry_from

    def count_dried(self, part: Part) -> None:
        """Book the plants of a part that the present drought has killed so far; the longer, the more, by one luck."""
        if part.dry_plants == 0:
            return
        now = self._clock.now
        luck = self._luck.stream(f"lot.{part.lot.name}.{part.number}.dry.{part.dry_since}")
        lost = luck.binomial(part.dry_plants, part.dried_share(now)) - part.dry_lost
        lost = min(lost, part.plants)
        if lost > 0:
            part.dry_lost += lost
            part.lose(now, lost, DRIED_OUT, self._dries_because)
            if part.plants == 0 and part.sleeping is not None:
                self._clock.rouse(part.sleeping)

    def arrive(self, part: Part) -> None:
        """A part has come to stand on a rack of this reservoir, with wet plugs."""
        now = part.wet_minute = self._clock.now
        if self._is_dry:
            part.begin_drought(now)
        if self.needs_a_look:
            self._ahead.somebody_came(part)

    def leave(self, part: Part) -> None:
        """A part is about to leave: settle it, drought and all."""
        if self._is_dry:
            self.count_dried(part)
        part.end_drought(self._clock.now)

    # --- filling -----------------------------------------------------------------------------------------------

    def read(self) -> int:
        """Settle all plants, lower the level by what was drunk (whole mL); returns that."""
        now = self._clock.now
        for rack in self.racks:
            rack.settle(now)
        return self.solution.read()

    def top_up(self, *, by_hand: bool) -> None:
        """Fill the reservoir with fresh solution."""
        self._fill(self.read(), 0, by_hand=by_hand)

    def renew(self) -> None:
        """Empty, wash and fill the reservoir."""
        taken = self.read()
        self._fill(taken, self.solution.drain(), by_hand=True)

    def leak(self) -> None:
        """A leak empties the reservoir; no flood until it ends."""
        taken = self.read()
        self.leaks += 1
        self._fill(taken, self.solution.drain(), by_hand=False)
        self.something_changed()

    def mend_leak(self) -> None:
        """The leak is repaired and the reservoir filled."""
        taken = self.read()
        self.leaks -= 1
        self._fill(taken, 0, by_hand=True)
        self.something_changed()

    def _fill(self, taken_ml: int, drained_ml: int, *, by_hand: bool) -> None:
        solution = self.solution
        added_ml = (0 if self.leaks else solution.fill()) + (taken_ml if solution.fills_itself else 0)
        self._book.write(
            ToppedUp(
                self._clock.now, self.spec.name, taken_ml, drained_ml, added_ml, solution.level_ml,
                solution.ec_ms_cm, by_hand,
            )
        )  # fmt: skip
        pace = solution.pace
        if pace != self._told_pace:
            self._told_pace = pace
            self.on_strength(self)
        if self.needs_a_look:
            self._ahead.just_read()
        if self._is_dry:
            self.something_changed()
