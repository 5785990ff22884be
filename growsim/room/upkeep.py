"""What the calendar brings by itself: sowings, reservoirs to top up and renew, planned outages, meters to read."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from growsim.ledger.events import MetersRead
from growsim.room.lot import SOWING_WAITS_MINUTES, sow
from growsim.room.standing import still_to_sow
from growsim.scenario.calendar import Order, day_of, minute_of
from growsim.vocabulary.machines import BY_KEY, CO2, DOOR, HEAT_PUMP, LEAK, LIGHTS, POWER, PUMP, TIMER
from growsim.vocabulary.registry import of_each

if TYPE_CHECKING:
    from growsim.room.clock import Callback
    from growsim.room.inside import Inside
    from growsim.room.machines import Machine
    from growsim.room.reservoirs import ReservoirHere
    from growsim.scenario.demand import Sowing
    from growsim.scenario.equipment import PlannedOutage

    Struck = tuple[Callback, Callback]


class Upkeep:
    """The standing arrangements of the room."""

    def __init__(self, room: Inside) -> None:
        self._room = room
        self._clock, self._calendar = room.clock, room.calendar
        self._top_up_open = False
        self._by_hand = [reservoir for reservoir in room.reservoirs.values() if reservoir.spec.top_up == "by hand"]

    def start(self, first_day: int) -> None:
        """Put the first of everything on the calendar."""
        for line in self._room.scenario.sowing:
            self._plan_sowing(line, self._first_sowing_day(line, first_day))
        if self._room.plan.start == "shelves":
            lines = self._room.scenario.sowing
            before = [(self._first_sowing_day(line, 0) - 7 * line.every_weeks, line) for line in lines]
            for day, line in still_to_sow(before, self._room.plan.shelves):
                self._fall_due(line, day)
        self._plan_top_up(first_day)
        for reservoir in self._room.reservoirs.values():
            if reservoir.spec.change_every_weeks:
                self._plan_renewal(reservoir, first_day + 7 * reservoir.spec.change_every_weeks)
        for outage in self._room.scenario.outages:
            self._plan_outage(outage)
        self._plan_rests()
        first_reading_day = first_day + -first_day % 7  # so that one falls on day 0 and the weeks counted are whole
        self._clock.at(first_reading_day * 1440, Order.READ, self._read_weekly)

    def _first_sowing_day(self, line: Sowing, first_day: int) -> int:
        """On its weekday, after the weeks to skip; in step with a plan begun on day 0, whatever the warm-up."""
        day = self._calendar.first_on(line.weekday, first_day + 7 * line.first_week)
        weeks_from_day_0 = (day - self._calendar.first_on(line.weekday, 0)) // 7 - line.first_week
        return day + 7 * (-weeks_from_day_0 % line.every_weeks)

    def _plan_sowing(self, line: Sowing, day: int) -> None:
        self._clock.at(day * 1440, Order.CALENDAR, lambda _: self._sow(line, day))

    def _sow(self, line: Sowing, day: int) -> None:
        self._plan_sowing(line, day + 7 * line.every_weeks)
        self._fall_due(line, day)

    def _fall_due(self, line: Sowing, day: int) -> None:
        """The sowing of that day falls due now, or once the room is open; not at all out of season."""
        date, opens = self._calendar.date(day), self._calendar.next_open(day)
        if not line.is_in_season(date) or (opens - day) * 1440 >= SOWING_WAITS_MINUTES:
            return

        def due(_: Any) -> None:
            room, name = self._room, f"{date.isoformat()}/{line.crop}/{line.name}"
            sow(room, room.born(name, room.crops[line.crop], day * 1440), line.cells)

        if opens == day and day * 1440 == self._clock.now:
            due(None)
        else:
            self._clock.at(max(opens * 1440, self._clock.now), Order.CALENDAR, due)

    def _plan_top_up(self, day: int) -> None:
        """On every day with a shift the reservoirs are checked and filled, once."""
        self._clock.at(day * 1440, Order.CALENDAR, self._top_up_day)

    def _top_up_day(self, _: Any) -> None:
        day = day_of(self._clock.now)
        self._plan_top_up(day + 1)
        if self._by_hand and self._room.rota.has_shift(day) and not self._top_up_open:
            self._top_up_open = True
            self._room.tasks.post_about("top up", "all reservoirs", len(self._by_hand), self._fill)

    def _fill(self, _: Any) -> None:
        self._top_up_open = False
        for reservoir in self._by_hand:
            reservoir.top_up(by_hand=True)

    def _plan_renewal(self, reservoir: ReservoirHere, day: int) -> None:
        every_days = 7 * reservoir.spec.change_every_weeks

        def due(_: Any) -> None:
            today = day_of(self._clock.now)
            self._plan_renewal(reservoir, day + every_days * (1 + (today - day) // every_days))
            self._room.tasks.post_about("change solution", reservoir.spec.name, 1, lambda _: reservoir.renew())

        self._clock.at(self._calendar.next_open(day) * 1440, Order.CALENDAR, due)

    def _plan_rests(self) -> None:
        """What is off while the room is closed: so many days in a row, or more."""
        spec, air = self._room.scenario.room, self._room.air
        if not spec.off_while_closed:
            return
        lights, heat_pump = (LIGHTS.key in spec.off_while_closed, HEAT_PUMP.key in spec.off_while_closed)
        for first, opens in self._calendar.closings(spec.off_from_days):
            begin = max(first * 1440, self._clock.now)
            if opens * 1440 > begin:
                self._clock.at(begin, Order.OPENING, lambda _: air.rest(lights=lights, heat_pump=heat_pump))
                self._clock.at(opens * 1440, Order.OPENING, lambda _: air.rest(lights=False, heat_pump=False))

    def _plan_outage(self, outage: PlannedOutage) -> None:
        begin = minute_of(outage.start_day, outage.start_hour)
        end = begin + max(1, round(outage.hours * 60))
        if begin < self._clock.now:
            return
        for begins, ends in _STRUCK_BY[outage.machine](self._room, outage):
            self._clock.at(begin, Order.OPENING, begins)
            self._clock.at(end, Order.OPENING, ends)

    def _read_weekly(self, _: Any) -> None:
        self.read_meters()
        for reservoir in self._room.reservoirs.values():
            if reservoir.spec.top_up == "float valve":
                reservoir.top_up(by_hand=False)
        self._clock.at(self._clock.now + 7 * 1440, Order.READ, self._read_weekly)

    def read_meters(self) -> None:
        """Write the running totals into the book."""
        room = self._room
        now, air = room.clock.now, room.air
        pumps = math.fsum([each.pump_kwh(room.book.begin_minute) for each in room.reservoirs.values()])
        room.book.write(
            MetersRead(
                now,
                math.fsum([bank.kwh(now) for bank in room.banks.values()]),
                pumps,
                air.heat_pump_kwh(now),
                air.fan_kwh(now),
                air.co2_g(now),
                air.take_warmest_c(),
            )
        )


# --- planned outages: what to call when one begins and when it ends, for everything it strikes ---------------------


def _machines(room: Inside, outage: PlannedOutage) -> list[Struck]:
    def calls(machine: Machine) -> Struck:
        return lambda _: machine.begin_outage(), lambda _: machine.end_outage()

    return [calls(m) for m in room.machines if m.kind == outage.machine and outage.where in ("", m.where)]


def _reservoir(room: Inside, outage: PlannedOutage) -> list[Struck]:
    reservoir = room.reservoirs[outage.where]
    return [(lambda _: reservoir.leak(), lambda _: reservoir.mend_leak())]


def _mains(room: Inside, _: PlannedOutage) -> list[Struck]:
    return [(lambda _: room.mains.begin_outage(), lambda _: room.mains.end_outage())]


def _door(room: Inside, _: PlannedOutage) -> list[Struck]:
    return [(lambda _: room.air.open_door(is_opened=True), lambda _: room.air.open_door(is_opened=False))]


_STRUCK_BY = of_each(
    "machine kind",
    BY_KEY,
    {
        PUMP.key: _machines,
        TIMER.key: _machines,
        LEAK.key: _reservoir,
        POWER.key: _mains,
        HEAT_PUMP.key: _machines,
        LIGHTS.key: _machines,
        CO2.key: _machines,
        DOOR.key: _door,
    },
    "growsim.room.upkeep (what it strikes; what that does is for the rest of growsim.room to say)",
)
