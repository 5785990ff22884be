"""The room's air: held at its set-point by the heat pump, adrift when that or the power fails.

While the heat pump works the air stands at what it can hold in the month, and costs no events. While it does not,
or is too weak to keep below what harms plants or puts the lights out, the air is stepped hour by hour (and at every
switch of the lights): temperature by Newton's law towards its equilibrium, growth at the mean of the step, harm by
degree-hours above or below each crop's limits, the thermostat that puts the lights out.
"""

from __future__ import annotations

import math
from math import inf
from typing import TYPE_CHECKING, Any, Final

from growsim.growth import air as physics
from growsim.growth.stress import COLD_HARM, HEAT_HARM
from growsim.ledger.events import AirRead
from growsim.room.co2_here import LOOK_DAYS, Co2Here
from growsim.room.co2_supply import Co2Supply
from growsim.room.held_air import HeldAir, Thermostat, mean_of
from growsim.room.spell import Spell
from growsim.scenario.calendar import Order, day_of
from growsim.vocabulary.obstacles import AIR_NOT_HELD, CLOSED, MACHINE_DOWN

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from growsim.chance.streams import Luck
    from growsim.growth.room_co2 import Leaves
    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.room.machines import Machine, Mains
    from growsim.room.part import Part
    from growsim.room.rack_clocks import Bank
    from growsim.room.racks import RackHere
    from growsim.scenario.calendar import Calendar
    from growsim.scenario.scenario import Scenario

STEP_MINUTES: Final = 60
NEAR_C: Final = 0.05  # this near the set-point the air counts as back


class Air:
    """Temperature and CO2, and all that follows from them. usual_c: mean temperature while all is well."""

    def __init__(
        self,
        scenario: Scenario,
        leaves: Mapping[str, Leaves],
        banks: list[Bank],
        racks: list[RackHere],
        heat_pump: Machine,
        co2: Machine,
        mains: Mains,
        clock: Clock,
        calendar: Calendar,
        book: Book,
        luck: Luck,
    ) -> None:
        self._climate, self._room = scenario.climate, scenario.room
        self._banks, self._racks = banks, racks
        self._heat_pump, self._co2, self._mains = heat_pump, co2, mains
        self._clock, self._calendar, self._book = clock, calendar, book
        self._volume_m3 = self._room.floor_area_m2 * self._room.height_m
        self._set_conductance(self._room.air_changes_per_hour)
        self._doors_open = 0
        self._co2_supply = Co2Supply(scenario, banks, racks, co2, mains, clock)
        self._co2_here = Co2Here(scenario, leaves, banks, racks, self._co2_supply)
        self._held_air = HeldAir(scenario, banks, self._conductance_w_per_k, clock, calendar)
        self._thermostat = Thermostat(scenario.climate, banks)
        self._warm_spell = Spell(HEAT_HARM, scenario.crops, clock, luck)
        self._cold_spell = Spell(COLD_HARM, scenario.crops, clock, luck)
        cut_out_c = scenario.climate.lights_off_above_c
        heat_limits = [crop.heat_limit_c for crop in scenario.crops]
        self._harmless_c = min([*heat_limits, inf if cut_out_c is None else cut_out_c], default=inf)
        self._harmless_from_c = max([crop.cold_limit_c for crop in scenario.crops], default=-inf)
        self._is_in_trouble = self._heat_pump_rests = False
        self._adrift_because = AIR_NOT_HELD.key  # in the present trouble
        self._last = clock.now
        # mean over the present spell; while the lights are on; at this instant
        self.usual_c = self._temperature_c = self._growing_c = self._now_c = scenario.climate.air_temperature_c
        self._degree_minutes = 0.0
        self._heat_pump_w = 0.0
        self._heat_pump_kwh = 0.0
        self._fan_kwh = 0.0
        self._step_number = 0
        self._step_began = clock.now
        self._equilibrium_c = self._now_c
        self._warmest_c = self._warmest_now_c = self._temperature_c

    def start(self) -> None:
        """Listen to the machines and settle for the first month."""
        listeners: list[list[Callable[[], None]]] = [bank.machine.listeners for bank in self._banks]
        for told in (*listeners, self._heat_pump.listeners, self._co2.listeners, self._mains.listeners):
            told.append(self._something_changed)
        self._something_changed()
        self._plan_month()
        self._clock.at(self._clock.now, Order.AIR, self._look_at_plants)

    def rest(self, *, lights: bool, heat_pump: bool) -> None:
        """What is off from now on, as the room is closed; what is not is on again."""
        for bank in self._banks:
            bank.is_resting = lights
        self._heat_pump_rests = heat_pump
        self._something_changed()

    def open_door(self, *, is_opened: bool) -> None:
        """A door is opened, or shut again; several may be said to be open at once, and count as one."""
        self._doors_open += 1 if is_opened else -1
        if self._doors_open != int(is_opened):
            return
        now, changes = self._clock.now, self._room.air_changes_per_hour
        if self._is_in_trouble:  # until now the air went its way with the door as it was
            self._add_up(now)
            self._close_step(now)
            self._step_began = now
        if is_opened:
            changes = physics.open_door_air_changes_per_hour(changes, self._volume_m3)
        self._set_conductance(changes)
        self._held_air.conductance_w_per_k = self._conductance_w_per_k
        self._co2_supply.breathe(changes)
        self._co2_here.breathe(changes)
        self._something_changed()

    def _set_conductance(self, air_changes_per_hour: float) -> None:
        room = self._room
        self._conductance_w_per_k = physics.conductance_w_per_k(
            room.heat_loss_w_per_k, air_changes_per_hour, self._volume_m3
        )
        self._time_constant = physics.time_constant_minutes(room.heat_capacity_kj_per_k, self._conductance_w_per_k)

    # --- readings ----------------------------------------------------------------------------------------------

    def degree_minutes(self, now: int) -> float:
        """Temperature summed over time since the start (°C min); differences give the mean over a spell."""
        return self._degree_minutes + self._temperature_c * (now - self._last)

    def heat_pump_kwh(self, now: int) -> float:
        """Electricity of the heat pump since the start."""
        return self._heat_pump_kwh + self._heat_pump_w * (now - self._last) / 6e4

    def fan_kwh(self, now: int) -> float:
        """Electricity of the fans since the start."""
        return self._fan_kwh + self._held_air.fans_w * (now - self._last) / 6e4

    def co2_g(self, now: int) -> float:
        """CO2 given off by the supply since the start."""
        return self._co2_supply.given_g(now)

    def take_warmest_c(self) -> float:
        """Warmest air since this was last asked."""
        warmest, self._warmest_c = self._warmest_c, self._warmest_now_c
        return warmest

    # --- all is well -------------------------------------------------------------------------------------------

    def _plan_month(self) -> None:
        day = day_of(self._clock.now)
        month = self._calendar.month(day)
        ahead = 1
        while self._calendar.month(day + ahead) == month:
            ahead += 1
        self._clock.at((day + ahead) * 1440, Order.AIR, self._new_month)

    def _new_month(self, _: Any) -> None:
        if not self._is_in_trouble:  # else the next step feels the new month by itself
            self._something_changed()
        self._plan_month()

    def _look_at_plants(self, _: Any) -> None:
        """What the plants have grown to by now decides how much CO2 they take in the days to come."""
        now = self._clock.now
        self._co2_here.look(now)
        self._set_paces()
        self._clock.at((day_of(now) + LOOK_DAYS) * 1440, Order.AIR, self._look_at_plants)

    def _hold(self) -> None:
        """The heat pump holds the air: work out at what temperature and cost, through the day, for this month."""
        day = self._held_air.day()
        self.usual_c = self._temperature_c = mean_of([(minutes, temperature_c) for minutes, _, temperature_c, _ in day])
        self._growing_c = mean_of([(minutes * lights_w, temperature_c) for minutes, lights_w, temperature_c, _ in day])
        self._heat_pump_w = mean_of([(minutes, heat_pump_w) for minutes, _, _, heat_pump_w in day])
        self._warmest_now_c = max(temperature_c for _, _, temperature_c, _ in day)
        self._warmest_c = max(self._warmest_c, self._warmest_now_c)
        self._set_paces()

    def _can_hold(self) -> bool:
        """Whether the heat pump works and is strong enough to keep plants and thermostat out of harm's way."""
        if not self._heat_pump_works:
            return False
        coldest_c, warmest_c = self._held_air.extremes_c()
        return self._harmless_from_c <= coldest_c and warmest_c <= self._harmless_c

    # --- something is wrong ------------------------------------------------------------------------------------

    def _something_changed(self) -> None:
        now = self._clock.now
        self._add_up(now)
        for bank in self._banks:
            bank.refresh(now)
        if not self._is_in_trouble:
            if self._can_hold():
                self._hold()
                return
            self._is_in_trouble = True
            self._adrift_because = AIR_NOT_HELD.key
            self._warm_spell.end(self._parts)
            self._cold_spell.end(self._parts)
            self._now_c = self._equilibrium_c = self._growing_c
            self._step_began = now
            self._heat_pump_w = 0.0
        if not self._heat_pump_works:  # and it takes the air a while to come back once it works again
            self._adrift_because = CLOSED.key if self._heat_pump_rests else MACHINE_DOWN.key
        self._set_paces()
        self._plan_step(now)

    def _add_up(self, now: int) -> None:
        self._degree_minutes = self.degree_minutes(now)
        self._heat_pump_kwh, self._fan_kwh = self.heat_pump_kwh(now), self.fan_kwh(now)
        self._last = now
        self._held_air.fans_w = self._climate.fans_w if self._mains.is_up else 0.0  # from now on

    def _plan_step(self, minute: int) -> None:
        self._step_number += 1
        number = self._step_number
        self._clock.at(minute, Order.AIR, lambda _: self._step(number))

    def _step(self, number: int) -> None:
        """Close the step that ends now, open the next: where is the air going, and what does it do to the plants?"""
        if number != self._step_number:  # something changed in between and a new step was begun
            return
        now = self._clock.now
        self._add_up(now)
        self._close_step(now)
        is_back = self._is_back()
        if is_back or self._now_c <= self._climate.air_temperature_c:
            self._warm_spell.end(self._parts)
        if is_back or self._now_c >= self._climate.air_temperature_c:
            self._cold_spell.end(self._parts)
        if is_back:
            self._is_in_trouble = False
            self._book.write(AirRead(now, round(self._now_c, 2)))
            self._hold()
            return
        self._thermostat.feel(self._now_c, now)
        self._step_began = now
        self._equilibrium_c, self._heat_pump_w = self._heading_for()
        until = min([now + STEP_MINUTES, self._air_turns(now), *(bank.next_switch(now) for bank in self._banks)])
        self._temperature_c = self._growing_c = self._drift(until - now).mean_c
        self._book.write(AirRead(now, round(self._now_c, 2)))
        self._set_paces()
        self._plan_step(until)

    def _close_step(self, now: int) -> None:
        minutes = now - self._step_began
        if minutes <= 0:
            return
        drift, start_c = self._drift(minutes), self._now_c
        self._now_c = self._after(minutes)
        self._warmest_now_c = max(self._now_c, start_c)
        self._warmest_c = max(self._warmest_c, self._warmest_now_c)
        for spell in (self._warm_spell, self._cold_spell):
            spell.add(drift, self._adrift_because, self._parts)

    def _is_back(self) -> bool:
        if self._thermostat.holds_lights_out or not self._can_hold():
            return False
        lights_w = math.fsum([bank.heat_w(self._clock.now) for bank in self._banks])
        return abs(self._now_c - self._held_air.held(lights_w)[0]) <= NEAR_C

    @property
    def _heat_pump_works(self) -> bool:
        return self._heat_pump.is_up and self._mains.is_up and not self._heat_pump_rests

    def _heading_for(self) -> tuple[float, float]:
        """(temperature the air is heading for, electricity of the heat pump in W), as things are now."""
        lights_w = math.fsum([bank.heat_w(self._clock.now) for bank in self._banks])
        heat_w, pump_w, electricity_w = lights_w + self._held_air.other_heat_w(), 0.0, 0.0
        climate, wanted = self._climate, self._climate.air_temperature_c
        if self._heat_pump_works and self._now_c == wanted:
            return self._held_air.held(lights_w)
        if self._heat_pump_works and self._now_c > wanted:
            pump_w, electricity_w = -climate.cooling_kw * 1000.0, climate.cooling_kw * 1000.0 / climate.cooling_cop
        elif self._heat_pump_works and self._now_c < wanted:
            pump_w, electricity_w = climate.heating_kw * 1000.0, climate.heating_kw * 1000.0 / climate.heating_cop
        return self._held_air.outdoor_c() + (heat_w + pump_w) / self._conductance_w_per_k, electricity_w

    def _drift(self, minutes: int) -> physics.Drift:
        """So many minutes of the step from now on."""
        return physics.Drift(minutes, self._now_c, self._equilibrium_c, self._time_constant)

    def _after(self, minutes: int) -> float:
        """Temperature so many minutes into the step; a working heat pump stops at what it is set to."""
        wanted, end_c = self._climate.air_temperature_c, self._drift(minutes).end_c
        return wanted if self._heat_pump_works and (self._now_c - wanted) * (end_c - wanted) < 0 else end_c

    def _air_turns(self, now: int) -> int:
        """First minute at which the air, heading where it is, has passed what thermostat or heat pump wait for."""
        waited_for = [self._climate.air_temperature_c] if self._heat_pump_works else []
        waited_for += self._thermostat.waits_for_c()
        found = now + STEP_MINUTES
        for target_c in waited_for:
            minutes = physics.minutes_to_reach(target_c, self._now_c, self._equilibrium_c, self._time_constant)
            if minutes:
                found = min(found, now + int(minutes) + 1)
        return found

    def _parts(self) -> list[Part]:
        return [part for rack in self._racks for part in rack.parts]

    # --- what follows from the air -----------------------------------------------------------------------------

    def set_paces_of(self, rack: RackHere) -> None:
        """Tell a rack how fast its plants grow and drink in the air as it is."""
        growth, thirst = rack.paces.of(self._growing_c, self._co2_here.ppm[rack.bank.name])
        rack.set_paces(self._clock.now, growth * rack.solution.pace, thirst)

    def _set_paces(self) -> None:
        self._co2_supply.refresh()
        self._co2_here.refresh()
        for rack in self._racks:
            self.set_paces_of(rack)
