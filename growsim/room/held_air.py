"""What a working heat pump makes of the room: the air it can hold, through a day of lights, in the present month; and
the thermostat that keeps the lights out while the air is too warm, where there is one."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from growsim.growth import air as physics
from growsim.scenario.calendar import day_of

if TYPE_CHECKING:
    from growsim.room.clock import Clock
    from growsim.room.rack_clocks import Bank
    from growsim.scenario.calendar import Calendar
    from growsim.scenario.equipment import Climate
    from growsim.scenario.scenario import Scenario

CUT_OUT_BAND_C: Final = 2.0  # the lights are let on again this far below the limit


class HeldAir:
    """Heat that comes in and what the heat pump holds against it. fans_w, conductance_w_per_k: at present."""

    def __init__(
        self, scenario: Scenario, banks: list[Bank], conductance_w_per_k: float, clock: Clock, calendar: Calendar
    ) -> None:
        self._room, self._climate = scenario.room, scenario.climate
        self._banks = banks
        self.conductance_w_per_k = conductance_w_per_k
        self._clock, self._calendar = clock, calendar
        self.fans_w = scenario.climate.fans_w

    def outdoor_c(self) -> float:
        """Temperature outside in the present month."""
        return self._room.outdoor_temperature_c[self._calendar.month(day_of(self._clock.now))]

    def other_heat_w(self) -> float:
        """Heat let off in the room by all but the lights."""
        return self._room.other_heat_w + self.fans_w

    def held(self, lights_w: float) -> tuple[float, float]:
        """(temperature, electricity of the heat pump in W) that this heat from the lights leads to."""
        climate = self._climate
        temperature_c, cooling_w, heating_w = physics.held_temperature(
            climate.air_temperature_c,
            self.outdoor_c(),
            lights_w + self.other_heat_w(),
            self.conductance_w_per_k,
            climate.cooling_kw,
            climate.heating_kw,
        )
        return temperature_c, cooling_w / climate.cooling_cop + heating_w / climate.heating_cop

    def day(self) -> list[tuple[int, float, float, float]]:
        """A day held by the heat pump, from switch to switch: (minutes, W of lights, °C, W of the heat pump)."""
        switches = {0, 1440}
        for bank in self._banks:
            switches |= {bank.on_minute % 1440, (bank.on_minute + bank.lit_minutes_a_day) % 1440}
        spells = []
        for begin, end in pairwise(sorted(switches)):
            lights_w = math.fsum([bank.power_w for bank in self._banks if bank.is_able and bank.is_scheduled_on(begin)])
            spells.append((end - begin, lights_w, *self.held(lights_w)))
        return spells

    def extremes_c(self) -> tuple[float, float]:
        """Coldest and warmest air of such a day."""
        held = [temperature_c for _, _, temperature_c, _ in self.day()]
        return min(held), max(held)


def mean_of(weighed: list[tuple[float, float]]) -> float:
    """Weighed mean of (weight, value); the value itself where all are equal, the plain mean where nothing weighs."""
    values = [value for _, value in weighed]
    weight = math.fsum([weight for weight, _ in weighed])
    if min(values) == max(values):
        return values[0]
    return (
        math.fsum([weight * value for weight, value in weighed]) / weight if weight else math.fsum(values) / len(values)
    )


class Thermostat:
    """Puts all banks out above its limit, and lets them on again somewhat below; does nothing without a limit."""

    def __init__(self, climate: Climate, banks: list[Bank]) -> None:
        self._limit_c = climate.lights_off_above_c
        self._wanted_c = climate.air_temperature_c
        self._banks = banks

    @property
    def holds_lights_out(self) -> bool:
        """Whether it keeps any lights out at present."""
        return any(bank.is_cut_out for bank in self._banks)

    def feel(self, air_c: float, now: int) -> None:
        """Act on the air as it is."""
        limit = self._limit_c
        if limit is None:
            return
        for bank in self._banks:
            if air_c > limit:
                bank.is_cut_out = True
            elif air_c < self._on_again_c(limit):
                bank.is_cut_out = False
            bank.refresh(now)

    def waits_for_c(self) -> list[float]:
        """Temperature at which it acts next, or none."""
        limit = self._limit_c
        if limit is None:
            return []
        return [self._on_again_c(limit) if self.holds_lights_out else limit]

    def _on_again_c(self, limit: float) -> float:
        """The lights are let on below this: a band under the limit, but above what the heat pump holds."""
        return max(limit - CUT_OUT_BAND_C, (limit + self._wanted_c) / 2.0)
