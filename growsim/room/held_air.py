"""What a working heat pump makes of the room: the air it can hold, through a day of lights, in the present month."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from growsim.growth import air as physics
from growsim.scenario.calendar import day_of

if TYPE_CHECKING:
    from growsim.room.clock import Clock
    from growsim.room.racks import Bank
    from growsim.scenario.calendar import Calendar
    from growsim.scenario.scenario import Scenario


class HeldAir:
    """Heat that comes in and what the heat pump holds against it. fans_w: of the fans at present."""

    def __init__(
        self, scenario: Scenario, banks: list[Bank], conductance_w_per_k: float, clock: Clock, calendar: Calendar
    ) -> None:
        self._room, self._climate = scenario.room, scenario.climate
        self._banks = banks
        self._conductance_w_per_k = conductance_w_per_k
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
            self._conductance_w_per_k,
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
            lights_w = sum([bank.power_w for bank in self._banks if bank.is_able and bank.is_scheduled_on(begin)])
            spells.append((end - begin, lights_w, *self.held(lights_w)))
        return spells

    def extremes_c(self) -> tuple[float, float]:
        """Coldest and warmest air of such a day."""
        held = [temperature_c for _, _, temperature_c, _ in self.day()]
        return min(held), max(held)


def mean_of(weighed: list[tuple[float, float]]) -> float:
    """Weighed mean of (weight, value); the value itself where all are equal, the plain mean where nothing weighs."""
    values = [value for _, value in weighed]
    weight = sum([weight for weight, _ in weighed])
    if min(values) == max(values):
        return values[0]
    return sum([weight * value for weight, value in weighed]) / weight if weight else sum(values) / len(values)
