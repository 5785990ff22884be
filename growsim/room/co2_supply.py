"""The CO2 supply of the room: what it holds, and what it gives off against the leak and for what the plants take up.

What the plants take up is the carbon of the dry mass they have gained: what they breathe out in the dark counts as
taken up again in the light. More than it can give it does not give; what the air then is see `co2_here`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim.growth import air as physics
from growsim.growth.carbon import CO2_G_PER_G_DRY

if TYPE_CHECKING:
    from growsim.room.clock import Clock
    from growsim.room.machines import Machine, Mains
    from growsim.room.rack_clocks import Bank
    from growsim.room.racks import RackHere
    from growsim.scenario.scenario import Scenario


class Co2Supply:
    """The supply at work. is_on: whether it works now. ppm: CO2 of the air without plants."""

    def __init__(
        self, scenario: Scenario, banks: list[Bank], racks: list[RackHere], machine: Machine, mains: Mains, clock: Clock
    ) -> None:
        spec, room = scenario.co2, scenario.room
        self._spec, self._volume_m3 = spec, room.floor_area_m2 * room.height_m
        self._outdoor_ppm = self.ppm = spec.outdoor_ppm
        self._lit_share = sum([bank.lit_minutes_a_day for bank in banks]) / len(banks) / 1440.0 if banks else 0.0
        self._set_leak(room.air_changes_per_hour)
        self._most_g_per_minute = spec.supply_kg_per_day * self._lit_share * 1000.0 / 1440.0
        self._banks = banks
        self._racks, self._machine, self._mains, self._clock = racks, machine, mains, clock
        self.is_on = False
        self._since = clock.now
        self._grown_g = 0.0  # dry mass grown in the room until then
        self._given_g = 0.0

    def _set_leak(self, air_changes_per_hour: float) -> None:
        spec = self._spec
        self._held_ppm = physics.co2_balance_ppm(
            spec.setpoint_ppm, spec.outdoor_ppm, spec.supply_kg_per_day, air_changes_per_hour, self._volume_m3
        )
        leak_kg_per_day = (min(self._held_ppm, spec.setpoint_ppm) - spec.outdoor_ppm) * (
            physics.co2_leak_kg_per_day_per_ppm(air_changes_per_hour, self._volume_m3)
        )
        self._leak_g_per_minute = leak_kg_per_day * self._lit_share * 1000.0 / 1440.0  # below 0: outside air helps

    def breathe(self, air_changes_per_hour: float) -> None:
        """So much air comes and goes from now on; `refresh` takes note of it."""
        self._settle()
        self._set_leak(air_changes_per_hour)

    def refresh(self) -> None:
        """Take note of whether it works now: not while the lights are off because the room is closed."""
        is_on = self._machine.is_up and self._mains.is_up and not any(bank.is_resting for bank in self._banks)
        self.ppm = self._held_ppm if is_on else self._outdoor_ppm
        if is_on != self.is_on:
            self._settle()
            self.is_on = is_on

    def _settle(self) -> None:
        """Add up what it has given until now."""
        now = self._clock.now
        self._given_g, self._since = self.given_g(now), now
        self._grown_g = self._dry_grown_g(now) if self._most_g_per_minute else 0.0

    def given_g(self, now: int) -> float:
        """CO2 given off since the start (g)."""
        if not (self.is_on and self._most_g_per_minute):
            return self._given_g
        minutes = now - self._since
        taken_up_g = (self._dry_grown_g(now) - self._grown_g) * CO2_G_PER_G_DRY
        wanted_g = self._leak_g_per_minute * minutes + taken_up_g
        return self._given_g + min(max(0.0, wanted_g), self._most_g_per_minute * minutes)

    def _dry_grown_g(self, now: int) -> float:
        return math.fsum([rack.dry_grown_g(now) for rack in self._racks])
