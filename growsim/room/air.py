"""The room's air: held at its set-point by the heat pump, adrift when that or the power fails.

While the heat pump works the air stands still at what it can hold in the month, and costs no events. While it does not,
the air is stepped hour by hour (and at every switch of the lights): temperature by Newton's law towards its
equilibrium, growth at the mean of the step, harm by degree-hours above each crop's limit, the thermostat that puts
the lights out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from growsim.growth import air as physics
from growsim.growth.stress import surviving_fraction
from growsim.ledger.events import AirRead
from growsim.spec.calendar import Order, day_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.chance.streams import Luck
    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.room.machines import Machine, Mains
    from growsim.room.part import Part
    from growsim.room.racks import Bank, Paces, RackHere
    from growsim.spec.calendar import Calendar
    from growsim.spec.scenario import Scenario

STEP_MINUTES = 60
NEAR_C = 0.05  # this near the set-point the air counts as back
CUT_OUT_BAND_C = 2.0  # the thermostat lets the lights on again this far below
LEAST_CONDUCTANCE_W_PER_K = 0.1  # a perfectly sealed room would have no equilibrium


class Air:
    """Temperature and CO2, and all that follows from them."""

    def __init__(
        self,
        scenario: Scenario,
        banks: list[Bank],
        racks: list[RackHere],
        heat_pump: Machine,
        co2: Machine,
        mains: Mains,
        paces: Paces,
        clock: Clock,
        calendar: Calendar,
        book: Book,
        luck: Luck,
    ) -> None:
        self._room, self._climate, self._co2_spec = scenario.room, scenario.climate, scenario.co2
        self._banks, self._racks = banks, racks
        self._heat_pump, self._co2, self._mains = heat_pump, co2, mains
        self._paces, self._clock, self._calendar, self._book, self._luck = paces, clock, calendar, book, luck
        room = scenario.room
        self._volume_m3 = room.floor_area_m2 * room.height_m
        self._conductance_w_per_k = max(
            LEAST_CONDUCTANCE_W_PER_K,
            physics.conductance_w_per_k(room.heat_loss_w_per_k, room.air_changes_per_hour, self._volume_m3),
        )
        self._time_constant = physics.time_constant_minutes(room.heat_capacity_kj_per_k, self._conductance_w_per_k)
        self._heat_limits = sorted({crop.heat_limit_c for crop in scenario.crops})
        self._dose: dict[float, float] = dict.fromkeys(self._heat_limits, 0.0)
        self._trouble_since: int | None = None
        self._last = clock.now
        # mean over the present spell; while the lights are on; at this instant
        self._temperature_c = self._growing_c = self._now_c = scenario.climate.air_temperature_c
        self._degree_minutes = 0.0
        self._heat_pump_w = 0.0
        self._heat_pump_kwh = 0.0
        self._fans_w = self._climate.fans_w
        self._fan_kwh = 0.0
        self._co2_g = 0.0
        self._co2_g_per_minute = 0.0
        self._step_number = 0
        self._step_began = clock.now
        self._equilibrium_c = self._now_c
        self._warmest_c = self._warmest_now_c = self._temperature_c

    def start(self) -> None:
        """Listen to the machines and settle for the first month."""
        listeners: list[list[Callable[[], None]]] = [bank.machine.listeners for bank in self._banks]
        for told in (*listeners, self._heat_pump.listeners, self._co2.listeners, self._mains.listeners):
            told.append(self._something_changed)
        self._hold()
        self._plan_month()

    # --- readings ----------------------------------------------------------------------------------------------

    @property
    def temperature_c(self) -> float:
        """Mean temperature of the present spell."""
        return self._temperature_c

    def degree_minutes(self, now: int) -> float:
        """Temperature summed over time since the start (°C min); differences give the mean over a spell."""
        return self._degree_minutes + self._temperature_c * (now - self._last)

    def heat_pump_kwh(self, now: int) -> float:
        """Electricity of the heat pump since the start."""
        return self._heat_pump_kwh + self._heat_pump_w * (now - self._last) / 6e4

    def fan_kwh(self, now: int) -> float:
        """Electricity of the fans since the start."""
        return self._fan_kwh + self._fans_w * (now - self._last) / 6e4

    def co2_g(self, now: int) -> float:
        """CO2 given off by the supply since the start."""
        return self._co2_g + self._co2_g_per_minute * (now - self._last)

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
        if self._trouble_since is None:
            self._hold()
        self._plan_month()

    def _hold(self) -> None:
        """The heat pump holds the air: work out at what temperature and cost, lights on and off, for this month."""
        now = self._clock.now
        self._add_up(now)
        lit_share, lit_c, lit_w = 0.0, self._climate.air_temperature_c, 0.0
        lit_heat = sum(bank.power_w for bank in self._banks if bank.is_able)
        if self._banks:
            lit_share = sum(bank.lit_minutes_a_day for bank in self._banks) / len(self._banks) / 1440.0
        dark_c, dark_w = self._held(0.0)
        if lit_share > 0:
            lit_c, lit_w = self._held(lit_heat)
        self._growing_c = lit_c
        self._temperature_c = lit_share * lit_c + (1.0 - lit_share) * dark_c
        self._heat_pump_w = lit_share * lit_w + (1.0 - lit_share) * dark_w
        self._warmest_now_c = max(lit_c, dark_c)
        self._warmest_c = max(self._warmest_c, self._warmest_now_c)
        self._set_paces()

    def _held(self, lights_w: float) -> tuple[float, float]:
        """(temperature, electricity of the heat pump in W) that this heat from the lights leads to."""
        climate = self._climate
        temperature_c, cooling_w, heating_w = physics.held_temperature(
            climate.air_temperature_c,
            self._outdoor_c(),
            lights_w + self._other_heat_w(),
            self._conductance_w_per_k,
            climate.cooling_kw,
            climate.heating_kw,
        )
        return temperature_c, cooling_w / climate.cooling_cop + heating_w / climate.heating_cop

    def _outdoor_c(self) -> float:
        return self._room.outdoor_temperature_c[self._calendar.month(day_of(self._clock.now))]

    def _other_heat_w(self) -> float:
        return self._room.other_heat_w + self._fans_w

    # --- something is wrong ------------------------------------------------------------------------------------

    def _something_changed(self) -> None:
        now = self._clock.now
        self._add_up(now)
        for bank in self._banks:
            bank.refresh(now)
        if self._trouble_since is None:
            if self._heat_pump_works:
                self._hold()
                return
            self._trouble_since = now
            self._dose = dict.fromkeys(self._heat_limits, 0.0)
            self._now_c = self._equilibrium_c = self._growing_c
            self._step_began = now
            self._heat_pump_w = 0.0
        self._set_paces()
        self._plan_step(now)

    def _add_up(self, now: int) -> None:
        self._degree_minutes = self.degree_minutes(now)
        self._heat_pump_kwh, self._fan_kwh, self._co2_g = self.heat_pump_kwh(now), self.fan_kwh(now), self.co2_g(now)
        self._last = now
        self._fans_w = self._climate.fans_w if self._mains.is_up else 0.0  # from now on

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
        if self._is_back():
            self._trouble_since = None
            self._book.write(AirRead(now, round(self._now_c, 2)))
            for part in self._parts():
                part.heat_plants = part.heat_lost = 0
            self._hold()
            return
        self._mind_thermostat()
        self._step_began = now
        self._equilibrium_c, self._heat_pump_w = self._heading_for()
        until = min([now + STEP_MINUTES, self._thermostat_acts(now), *(bank.next_switch(now) for bank in self._banks)])
        self._temperature_c = self._growing_c = (self._now_c + self._after(until - now)) / 2.0
        self._book.write(AirRead(now, round(self._now_c, 2)))
        self._set_paces()
        self._plan_step(until)

    def _close_step(self, now: int) -> None:
        minutes = now - self._step_began
        if minutes <= 0:
            return
        start_c, self._now_c = self._now_c, self._after(minutes)
        self._warmest_now_c = max(self._now_c, start_c)
        self._warmest_c = max(self._warmest_c, self._warmest_now_c)
        for limit in self._heat_limits:
            self._dose[limit] += max(0.0, (start_c + self._now_c) / 2.0 - limit) * minutes / 60.0
        self._harm()

    def _is_back(self) -> bool:
        if not self._heat_pump_works or any(bank.is_cut_out for bank in self._banks):
            return False
        lights_w = sum(bank.heat_w(self._clock.now) for bank in self._banks)
        return abs(self._now_c - self._held(lights_w)[0]) <= NEAR_C

    @property
    def _heat_pump_works(self) -> bool:
        return self._heat_pump.is_up and self._mains.is_up

    def _heading_for(self) -> tuple[float, float]:
        """(temperature the air is heading for, electricity of the heat pump in W), as things are now."""
        heat_w = sum(bank.heat_w(self._clock.now) for bank in self._banks) + self._other_heat_w()
        pump_w = electricity_w = 0.0
        climate, wanted = self._climate, self._climate.air_temperature_c
        if self._heat_pump_works and self._now_c > wanted:
            pump_w, electricity_w = -climate.cooling_kw * 1000.0, climate.cooling_kw * 1000.0 / climate.cooling_cop
        elif self._heat_pump_works and self._now_c < wanted:
            pump_w, electricity_w = climate.heating_kw * 1000.0, climate.heating_kw * 1000.0 / climate.heating_cop
        return self._outdoor_c() + (heat_w + pump_w) / self._conductance_w_per_k, electricity_w

    def _after(self, minutes: int) -> float:
        """Temperature so many minutes into the step; a working heat pump stops at what it is set to."""
        wanted = self._climate.air_temperature_c
        end_c = physics.temperature_after(minutes, self._now_c, self._equilibrium_c, self._time_constant)
        return wanted if self._heat_pump_works and (self._now_c - wanted) * (end_c - wanted) < 0 else end_c

    def _mind_thermostat(self) -> None:
        limit = self._climate.lights_cut_out_above_c
        if limit is None:
            return
        for bank in self._banks:
            if self._now_c > limit:
                bank.is_cut_out = True
            elif self._now_c < limit - CUT_OUT_BAND_C:
                bank.is_cut_out = False
            bank.refresh(self._clock.now)

    def _thermostat_acts(self, now: int) -> int:
        """First minute at which the air, heading where it is, has passed what the thermostat waits for."""
        limit = self._climate.lights_cut_out_above_c
        if limit is not None:
            waits_for = limit - CUT_OUT_BAND_C if any(bank.is_cut_out for bank in self._banks) else limit
            minutes = physics.minutes_to_reach(waits_for, self._now_c, self._equilibrium_c, self._time_constant)
            if minutes is not None:
                return now + int(minutes) + 1
        return now + STEP_MINUTES

    def _harm(self) -> None:
        """Plants the warm spell has killed so far; the longer, the more, by one luck."""
        if not any(self._dose.values()):
            return
        now = self._clock.now
        for part in self._parts():
            crop = part.lot.crop
            dose = self._dose[crop.heat_limit_c]
            if dose <= 0.0 or part.plants == 0:
                continue
            if part.heat_plants == 0:
                part.heat_plants = part.plants
            share = 1.0 - surviving_fraction(dose, crop.heat_half_loss_degree_hours)
            luck = self._luck.stream(f"lot.{part.lot.name}.{part.number}.heat.{self._trouble_since}")
            lost = min(luck.binomial(part.heat_plants, share) - part.heat_lost, part.plants)
            if lost > 0:
                part.heat_lost += lost
                part.lose(now, lost, "heat")
                if part.plants == 0 and part.sleeping is not None:
                    self._clock.rouse(part.sleeping)

    def _parts(self) -> list[Part]:
        return [part for rack in self._racks for part in rack.parts]

    # --- what follows from the air -----------------------------------------------------------------------------

    def set_paces_of(self, rack: RackHere) -> None:
        """Tell a rack how fast its plants grow and drink in the air as it is."""
        growth, thirst = self._paces.of(rack.setpoint, self._growing_c, self._co2_ppm())
        rack.set_paces(self._clock.now, growth * rack.tub.ec_pace, thirst)

    def _set_paces(self) -> None:
        lit_share = (
            sum(bank.lit_minutes_a_day for bank in self._banks) / len(self._banks) / 1440.0 if self._banks else 0
        )
        ppm = self._co2_ppm()
        leak_kg_per_day = physics.co2_supply_kg_per_day(
            ppm, self._co2_spec.outdoor_ppm, self._room.air_changes_per_hour, self._volume_m3
        )
        self._co2_g_per_minute = leak_kg_per_day * lit_share * 1000.0 / 1440.0
        for rack in self._racks:
            self.set_paces_of(rack)

    def _co2_ppm(self) -> float:
        spec = self._co2_spec
        if not (self._co2.is_up and self._mains.is_up):
            return spec.outdoor_ppm
        return physics.co2_balance_ppm(
            spec.setpoint_ppm,
            spec.outdoor_ppm,
            spec.supply_kg_per_day,
            self._room.air_changes_per_hour,
            self._volume_m3,
        )
