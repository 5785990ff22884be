"""The air and the lights of a room during one outage, by arithmetic: how warm or cold it grows and where it is dark.

The same physics as the rehearsed room (Newton's law towards an equilibrium, a thermostat that turns the lights off),
stepped by itself, so that the clock on the wall needs no rehearsal and a test can hold the two against each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from growsim.growth import air
from growsim.growth.crops import Curves
from growsim.growth.curves import water_pace
from growsim.scenario.checks.machines import bank_power_w
from growsim.scenario.equipment import LightBank
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.machines import BY_KEY, HEAT_PUMP

STEP_MINUTES = 10
HORIZON_HOURS = 7 * 24
THERMOSTAT_BAND_C = 2.0  # lights come on again this far below; as in the rehearsed room


@dataclass(frozen=True)
class Course:
    """What plants live through from `before_hours` before an outage on, in steps of STEP_MINUTES.

    air_c: temperature at the end of each step. thirst: light bank -> days' worth of drinking done by the end of each
    step, counted from the beginning of the course. dark_from: light bank -> hours from the outage until it should burn
    and does not; None where it never fails to.
    """

    before_hours: float
    air_c: tuple[float, ...]
    thirst: dict[str, tuple[float, ...]]
    dark_from: dict[str, float | None]

    def hours(self, step: int) -> float:
        """Hours from the outage to the end of that step."""
        return (step + 1) * STEP_MINUTES / 60.0 - self.before_hours


def course_of(
    scenario: Scenario,
    curves: Curves,
    machine: str,
    month: int,
    start_hour: float,
    *,
    before_hours: float = 0.0,
    lights_left_on: bool = True,
    horizon_hours: float = HORIZON_HOURS,
) -> Course:
    """The course of one outage that is not repaired, begun at that hour of a day of that month (0 for January).

    lights_left_on: False where somebody turns all lights off when it begins.
    """
    room, climate = scenario.room, scenario.climate
    volume_m3 = room.floor_area_m2 * room.height_m
    conductance = air.conductance_w_per_k(room.heat_loss_w_per_k, room.air_changes_per_hour, volume_m3)
    constant = air.time_constant_minutes(room.heat_capacity_kj_per_k, conductance)
    outdoor_c, power = room.outdoor_temperature_c[month], bank_power_w(scenario)
    thirst_of = {bank.name: thirst_rates(curves, bank) for bank in scenario.lights}
    row = BY_KEY[machine]
    cooled_always = not row.stops_cooling
    now_c = held_c(scenario, month)
    is_cut_out = False
    air_c: list[float] = []
    thirst: dict[str, list[float]] = {bank.name: [] for bank in scenario.lights}
    dark_from: dict[str, float | None] = dict.fromkeys(thirst)
    drunk = dict.fromkeys(thirst, 0.0)
    warmth: dict[tuple[str, float], float] = {}
    for step in range(round((before_hours + horizon_hours) * 60 / STEP_MINUTES)):
        since_hours = step * STEP_MINUTES / 60.0 - before_hours
        is_out = since_hours >= -1e-9
        limit = climate.lights_off_above_c
        if limit is not None and not cooled_always:
            is_cut_out = now_c > limit or (is_cut_out and now_c >= limit - THERMOSTAT_BAND_C)
        dark = is_out and (row.stops_light or not lights_left_on or is_cut_out)
        heat_w = room.other_heat_w + (0.0 if is_out and row.stops_fans else climate.fans_w)
        burning = {}
        for bank in scenario.lights:
            is_due = _is_on(bank, start_hour + since_hours)
            burning[bank.name] = is_due and not dark
            heat_w += power[bank.name] if burning[bank.name] else 0.0
            if is_due and dark and dark_from[bank.name] is None:
                dark_from[bank.name] = max(0.0, since_hours)
        if is_out and not cooled_always:
            equilibrium = outdoor_c + heat_w / conductance
            now_c = air.temperature_after(STEP_MINUTES, now_c, equilibrium, constant)
        air_c.append(now_c)
        near_c = round(now_c, 1)
        for name, (lit_rate, dark_rate) in thirst_of.items():
            if (name, near_c) not in warmth:
                warmth[name, near_c] = _warmth(curves, name, near_c)
            rate = (lit_rate if burning[name] else dark_rate) * warmth[name, near_c]
            drunk[name] += rate * STEP_MINUTES / 1440.0
            thirst[name].append(drunk[name])
    return Course(before_hours, tuple(air_c), {name: tuple(steps) for name, steps in thirst.items()}, dark_from)


def held_c(scenario: Scenario, month: int) -> float:
    """Temperature that a working heat pump holds in that month while all lights burn (°C)."""
    room, climate = scenario.room, scenario.climate
    held, _, _ = air.held_temperature(
        climate.air_temperature_c,
        room.outdoor_temperature_c[month],
        math.fsum(bank_power_w(scenario).values()) + room.other_heat_w + climate.fans_w,
        air.conductance_w_per_k(room.heat_loss_w_per_k, room.air_changes_per_hour, room.floor_area_m2 * room.height_m),
        climate.cooling_kw,
        climate.heating_kw,
    )
    return held


def _is_on(bank: LightBank, hour: float) -> bool:
    return (hour - bank.on_hour) % 24.0 < bank.hours_per_day - 1e-9


def thirst_rates(curves: Curves, bank: LightBank) -> tuple[float, float]:
    """Drinking in an hour of light and of dark, each against an average hour at the set-points."""
    setpoint = curves.environments[bank.name]
    dark = min(1.0, water_pace(replace(setpoint, light_hours=0.0), setpoint))
    share = bank.hours_per_day / 24.0
    return (1.0 - dark * (1.0 - share)) / share, dark


def _warmth(curves: Curves, bank: str, air_c: float) -> float:
    """How much faster plants drink in that air than at the set-points."""
    setpoint = curves.environments[bank]
    if abs(air_c - setpoint.air_temperature_c) < 0.05:
        return 1.0
    return water_pace(replace(setpoint, air_temperature_c=air_c), setpoint)


def air_after(scenario: Scenario, curves: Curves, month: int) -> tuple[float | None, float | None]:
    """Hours until the air passes what the tenderest crop bears once the heat pump has failed: with the lights as they
    are, and with all lights turned off at once. Soonest over the hours of the day; None: not within a week."""
    limit_c = min(crop.heat_limit_c for crop in scenario.crops)

    def soonest(lights_left_on: bool) -> float | None:
        found = []
        for start_hour in range(0, 24, 3):
            course = course_of(scenario, curves, HEAT_PUMP.key, month, start_hour, lights_left_on=lights_left_on)
            found += [course.hours(step) for step, air_c in enumerate(course.air_c) if air_c > limit_c][:1]
        return min(found) if found else None

    return soonest(True), soonest(False)


def cold_after(scenario: Scenario, curves: Curves, month: int) -> float | None:
    """Hours until the air is colder than the tenderest crop bears once the heat pump is dead, with the lights as they
    are. Soonest over the hours of the day; None: not within a week."""
    limit_c = max(crop.cold_limit_c for crop in scenario.crops)
    found = []
    for start_hour in range(0, 24, 3):
        course = course_of(scenario, curves, HEAT_PUMP.key, month, start_hour)
        found += [course.hours(step) for step, air_c in enumerate(course.air_c) if air_c < limit_c][:1]
    return min(found) if found else None
