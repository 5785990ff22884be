"""The room's air as one well-mixed node: heat and CO2.

One heat capacity (air, racks, water), one conductance to outside (walls and leaking air): Newton's law of cooling, with
its closed forms. CO2 as the steady state of the same well-mixed volume.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from growsim.growth.water import AIR_HEAT_J_PER_M3_K

SMALLEST_CONDUCTANCE_W_PER_K: Final = 0.1
"""No room is perfectly tight; a description that says so is given this much, so that an equilibrium exists."""

CO2_G_PER_M3_PER_PPM: Final = 44.01 / 24.055 / 1000.0
"""Grams of CO2 in a m³ of air for each ppm: molar mass over molar volume at 20 °C and 101.325 kPa (ideal gas)."""


OPEN_DOOR_M3_PER_HOUR: Final = 1000.0
"""Air that comes and goes through an open door, whatever the weather: common practice, no source. Cold air below, warm
air above, through a doorway of 0.9 m by 2 m: about 750 m³/h at 5 °C of difference and 1,500 at 20 (Brown and Solvason's
equation for a doorway, from memory)."""


def open_door_air_changes_per_hour(air_changes_per_hour: float, volume_m3: float) -> float:
    """Air changes an hour with the door open: those there are anyway, and what comes and goes through the door."""
    return air_changes_per_hour + OPEN_DOOR_M3_PER_HOUR / volume_m3


def conductance_w_per_k(heat_loss_w_per_k: float, air_changes_per_hour: float, volume_m3: float) -> float:
    """Heat lost per degree of difference to outside (W/K), through walls and with leaking air."""
    leak = AIR_HEAT_J_PER_M3_K * volume_m3 * air_changes_per_hour / 3600.0
    return max(SMALLEST_CONDUCTANCE_W_PER_K, heat_loss_w_per_k + leak)


def time_constant_minutes(heat_capacity_kj_per_k: float, conductance_w_per_k: float) -> float:
    """Minutes in which a difference falls to 1/e: heat capacity over conductance."""
    return heat_capacity_kj_per_k * 1000.0 / conductance_w_per_k / 60.0


def equilibrium_c(
    outdoor_c: float, heat_w: float, heat_loss_w_per_k: float, air_changes_per_hour: float, volume_m3: float
) -> float:
    """Temperature (°C) a room drifts to with `heat_w` released in it and no heat pump."""
    return outdoor_c + heat_w / conductance_w_per_k(heat_loss_w_per_k, air_changes_per_hour, volume_m3)


def temperature_after(minutes: float, start_c: float, equilibrium_c: float, time_constant_minutes: float) -> float:
    """Temperature (°C) after `minutes` of drift. Newton's law of cooling."""
    return equilibrium_c + (start_c - equilibrium_c) * math.exp(-minutes / time_constant_minutes)


def minutes_to_reach(
    target_c: float, start_c: float, equilibrium_c: float, time_constant_minutes: float
) -> float | None:
    """Minutes of drift until `target_c`; None where the drift never gets there (the equilibrium itself included)."""
    if target_c == start_c:
        return 0.0
    gap, left = start_c - equilibrium_c, target_c - equilibrium_c
    if gap == 0.0 or left == 0.0 or gap * left < 0.0 or abs(left) > abs(gap):
        return None
    return time_constant_minutes * math.log(gap / left)


@dataclass(frozen=True, slots=True)
class Drift:
    """So many minutes of drift by Newton's law of cooling (°C), and its integrals in closed form."""

    minutes: float
    start_c: float
    equilibrium_c: float
    time_constant_minutes: float

    @property
    def end_c(self) -> float:
        """Temperature at the end."""
        return temperature_after(self.minutes, self.start_c, self.equilibrium_c, self.time_constant_minutes)

    @property
    def mean_c(self) -> float:
        """Mean temperature; the start where no time passes."""
        if self.minutes <= 0.0:
            return self.start_c
        shares = self.minutes / self.time_constant_minutes
        return self.equilibrium_c - (self.start_c - self.equilibrium_c) * math.expm1(-shares) / shares

    def degree_minutes_above(self, limit_c: float) -> float:
        """Degrees above a limit summed over the minutes (°C min); what is below it does not count against them."""
        start_c, end_c = self.start_c, self.end_c
        if max(start_c, end_c) <= limit_c:
            return 0.0
        all_of_it = (self.mean_c - limit_c) * self.minutes
        crossed = minutes_to_reach(limit_c, start_c, self.equilibrium_c, self.time_constant_minutes)
        if min(start_c, end_c) >= limit_c or crossed is None:
            return all_of_it
        until_crossed = (Drift(crossed, *self._course).mean_c - limit_c) * crossed
        return until_crossed if start_c > limit_c else all_of_it - until_crossed

    def degree_minutes_below(self, limit_c: float) -> float:
        """Degrees below a limit summed over the minutes (°C min)."""
        return self.degree_minutes_above(limit_c) + (limit_c - self.mean_c) * self.minutes

    @property
    def _course(self) -> tuple[float, float, float]:
        return self.start_c, self.equilibrium_c, self.time_constant_minutes


def held_temperature(
    setpoint_c: float,
    outdoor_c: float,
    heat_w: float,
    conductance_w_per_k: float,
    cooling_kw: float,
    heating_kw: float,
) -> tuple[float, float, float]:
    """(temperature °C, heat taken out W, heat brought in W) of a room whose heat pump works at its set-point.

    The set-point where the heat pump is strong enough, else the equilibrium at full power.
    """
    surplus_w = heat_w + conductance_w_per_k * (outdoor_c - setpoint_c)
    cooling_w = min(max(0.0, surplus_w), cooling_kw * 1000.0)
    heating_w = min(max(0.0, -surplus_w), heating_kw * 1000.0)
    left_w = surplus_w - cooling_w + heating_w
    return setpoint_c + left_w / conductance_w_per_k, cooling_w, heating_w


def co2_leak_kg_per_day_per_ppm(air_changes_per_hour: float, volume_m3: float) -> float:
    """CO2 lost with leaking air (kg/day) for each ppm above outside."""
    return CO2_G_PER_M3_PER_PPM * volume_m3 * air_changes_per_hour * 24.0 / 1000.0


def co2_balance_ppm(
    setpoint_ppm: float,
    outdoor_ppm: float,
    supply_kg_per_day: float,
    air_changes_per_hour: float,
    volume_m3: float,
) -> float:
    """CO2 (ppm) the room settles at: the set-point if the supply can hold it against the leak, else what it can.

    Without supply, or with a set-point below it, that of outside air. What plants take up is left out here (see
    `canopy` for the room with its plants).
    """
    if setpoint_ppm <= outdoor_ppm or supply_kg_per_day <= 0.0:
        return outdoor_ppm
    leak = co2_leak_kg_per_day_per_ppm(air_changes_per_hour, volume_m3)
    if leak <= 0.0:
        return setpoint_ppm
    return min(setpoint_ppm, outdoor_ppm + supply_kg_per_day / leak)
