"""The canopy of the sowing plan on paper: what its plants take up, and what CO2 that leaves in the room's air.

A well-mixed room in steady state, from switch to switch of the lights: outside air brings what the plants take, or a
supply does. The plants take less where there is less, in proportion to the photosynthesis of the lettuce model.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from growsim.growth import air, lettuce
from growsim.growth.carbon import Exchange, exchange_between
from growsim.growth.crops import Curves, planned_masses, plants_per_m2, slots_by_bank
from growsim.growth.curves import Environment, base_curve, growth_pace
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.equipment import LightBank
from growsim.scenario.scenario import Scenario

HALVINGS = 50
COARSE_HALVINGS = 12  # air changes are told to two digits
MOST_AIR_CHANGES = 60.0  # as the room file allows


@dataclass(frozen=True)
class CanopyAir:
    """A room's CO2 on paper.

    uptake_kg_per_day: CO2 the plants would take up for good at the CO2 that is reckoned with. reckoned_ppm: CO2 that
    growth is reckoned with. lit_ppm: what there would be while the lights are on, mean over the day as leaves fix it.
    growth: speed at that CO2 against the one reckoned with (1). supply_kg_per_day: what a supply has to be able to give
    to hold the CO2 reckoned with, at the hour at which most is taken.
    """

    uptake_kg_per_day: float
    reckoned_ppm: float
    lit_ppm: float
    growth: float
    supply_kg_per_day: float


def canopy_air(scenario: Scenario, curves: Curves) -> CanopyAir:
    """CO2 of the room with the plants of its plan in it."""
    canopy = canopy_by_bank(scenario, curves)
    uptake_g = math.fsum([exchange.net_g for exchange in canopy.values()])
    reckoned_ppm = next((e.co2_ppm for e in curves.environments.values()), scenario.co2.outdoor_ppm)
    short_g_per_hour = [
        -_left_over(scenario, curves, canopy, [bank.name for bank in lit])(reckoned_ppm, 0.0)
        for _, lit in _day(scenario)
        if lit
    ]
    lit_ppm = _lit_ppm(scenario, curves, canopy, reckoned_ppm)
    return CanopyAir(
        uptake_g / 1000.0,
        reckoned_ppm,
        lit_ppm,
        _growth(curves, canopy, lit_ppm),
        max([0.0, *short_g_per_hour]) * 24.0 / 1000.0,
    )


def air_changes_for(scenario: Scenario, curves: Curves, growth: float) -> float | None:
    """Air changes an hour at which plants grow at this speed against the CO2 reckoned with (1); None where no number
    up to MOST_AIR_CHANGES does it."""
    canopy = canopy_by_bank(scenario, curves)

    def at(changes: float) -> float:
        room = scenario.room.model_copy(update={"air_changes_per_hour": changes})
        aired = scenario.model_copy(update={"room": room})
        return _growth(curves, canopy, _lit_ppm(aired, curves, canopy, scenario.co2.outdoor_ppm))

    low, high = scenario.room.air_changes_per_hour, MOST_AIR_CHANGES
    if low >= high or at(high) < growth:
        return None
    for _ in range(COARSE_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if at(middle) < growth else (low, middle)
    return high


def canopy_by_bank(scenario: Scenario, curves: Curves) -> dict[str, Exchange]:
    """Light bank -> CO2 (g a day) that the plants under it exchange, if the plan is kept and everything fits.

    Plants of a stage are spread over the shelves that may hold it. A plan that wants more slots than there are is
    thinned down to them.
    """
    wanted = math.fsum(on_paper.slots_wanted(scenario).values())
    slots = sum([group.total_slots for group in on_paper.shelf_groups(scenario)])
    fitting = min(1.0, slots / wanted) if wanted else 0.0
    crops, temperature_c = on_paper.crops_by_name(scenario), scenario.climate.air_temperature_c
    canopy = {bank.name: Exchange() for bank in scenario.lights}
    for line in scenario.sowing:
        crop = crops[line.crop]
        a_day = on_paper.sowings_per_week(scenario, line) / 7.0 * fitting
        filled = on_paper.filled_fraction(crop, temperature_c)
        planted = on_paper.plants_by_stage(crop, line.cells, temperature_c)
        for place, ((stage, plants), each) in enumerate(zip(planted, _by_stage(scenario, curves, crop), strict=True)):
            grown = plants * a_day * (filled if place == 0 else 1.0)  # the first counts cells, filled or not
            places = slots_by_bank(scenario, stage.name)
            for bank, here in places.items():
                canopy[bank] = canopy[bank].plus(each, grown * here / sum(places.values()))
    return canopy


def _by_stage(scenario: Scenario, curves: Curves, crop: Crop) -> list[Exchange]:
    """CO2 (g a plant) exchanged in each stage of a crop, first to last; growing again after a harvest is in
    the last.
    """
    start_g, rate = curves.seedling_dry_g[crop.name], curves.growth_rate[crop.name]
    found = []
    for stage, environment, begin_g, end_g in planned_masses(crop, scenario, rate):
        density = plants_per_m2(scenario, stage)
        exchange = exchange_between(begin_g, end_g, density, start_g, environment)
        if stage.name == crop.stages_in_order()[-1].name and crop.harvests > 1:
            base = base_curve(density, start_g, environment)
            stump_g = base.dry_g(base.age_days(end_g) - crop.regrowth_days * rate)
            again = exchange_between(stump_g, end_g, density, start_g, environment)
            exchange = exchange.plus(again, crop.harvests - 1)
        found.append(exchange)
    return found


def _lit_ppm(scenario: Scenario, curves: Curves, canopy: dict[str, Exchange], reckoned_ppm: float) -> float:
    """CO2 while the lights are on, weighed by what is fixed in each part of the day."""
    weighed = fixed = 0.0
    for hours, lit in _day(scenario):
        rate = math.fsum([canopy[bank.name].fixed_g / bank.hours_per_day for bank in lit])
        if rate > 0.0:
            ppm = _steady_ppm(scenario, curves, canopy, [bank.name for bank in lit])
            weighed += hours * rate * ppm
            fixed += hours * rate
    return weighed / fixed if fixed else reckoned_ppm


def _day(scenario: Scenario) -> list[tuple[float, list[LightBank]]]:
    """A day from switch to switch: (hours, the banks that are lit)."""

    def is_lit(bank: LightBank, hour: float) -> bool:
        return (hour - bank.on_hour) % 24.0 < bank.hours_per_day

    switches = {0.0, 24.0}
    for bank in scenario.lights:
        switches |= {bank.on_hour % 24.0, (bank.on_hour + bank.hours_per_day) % 24.0}
    return [
        (end - begin, [bank for bank in scenario.lights if is_lit(bank, (begin + end) / 2.0)])
        for begin, end in pairwise(sorted(switches))
    ]


def _steady_ppm(scenario: Scenario, curves: Curves, canopy: dict[str, Exchange], lit: list[str]) -> float:
    """CO2 at which what comes in is what the plants take, with these banks lit; at most what is outside.

    Where that is less than the set-point, the supply holds the set-point or what it can.
    """
    co2, left_over = scenario.co2, _left_over(scenario, curves, canopy, lit)
    supply_g_per_hour = co2.supply_kg_per_day * 1000.0 / 24.0
    unfed_ppm = _balance(lambda ppm: left_over(ppm, 0.0), co2.outdoor_ppm)
    if supply_g_per_hour <= 0.0 or unfed_ppm >= co2.setpoint_ppm:
        return unfed_ppm
    return _balance(lambda ppm: left_over(ppm, supply_g_per_hour), co2.setpoint_ppm)


def _balance(left_over: Callable[[float], float], most_ppm: float) -> float:
    """CO2 (ppm) at which nothing is left over, from 0 to the most there can be; what is left over falls with it."""
    if left_over(most_ppm) >= 0.0:
        return most_ppm
    low, high = 0.0, most_ppm
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if left_over(middle) >= 0.0 else (low, middle)
    return (low + high) / 2.0


def _left_over(
    scenario: Scenario, curves: Curves, canopy: dict[str, Exchange], lit: list[str]
) -> Callable[[float, float], float]:
    """With these banks lit: CO2 (g an hour) that comes in more than the plants take, at a CO2 (ppm) and a supply (g an
    hour)."""
    room, outdoor_ppm = scenario.room, scenario.co2.outdoor_ppm
    leak_g_per_hour = (
        1000.0 / 24.0 * air.co2_leak_kg_per_day_per_ppm(room.air_changes_per_hour, room.floor_area_m2 * room.height_m)
    )
    hours = {bank.name: bank.hours_per_day for bank in scenario.lights}
    breathed_g_per_hour = math.fsum(
        [
            exchange.breathed_in_dark_g / (24.0 - hours[name])
            for name, exchange in canopy.items()
            if name not in lit and hours[name] < 24.0
        ]
    )

    def left_over(ppm: float, supply_g_per_hour: float) -> float:
        taken = math.fsum(
            [
                canopy[name].net_in_light_g / hours[name] * _photosynthesis(curves.environments[name], ppm)
                for name in lit
            ]
        )
        return leak_g_per_hour * (outdoor_ppm - ppm) + supply_g_per_hour + breathed_g_per_hour - taken

    return left_over


def _photosynthesis(environment: Environment, ppm: float) -> float:
    """Photosynthesis at another CO2 against that of the environment (1): the same for a thin and a closed canopy."""
    e = environment
    par = lettuce.par_w_m2(e.ppfd_umol_m2_s)
    reckoned = lettuce.rates(par, e.air_temperature_c, e.co2_ppm).gross_g_m2_s
    return lettuce.rates(par, e.air_temperature_c, ppm).gross_g_m2_s / reckoned if reckoned > 0.0 else 0.0


def _growth(curves: Curves, canopy: dict[str, Exchange], ppm: float) -> float:
    """Speed of growth at this CO2 against the one reckoned with, over the banks as the plants under them fix CO2."""
    weighed = fixed = 0.0
    for name, exchange in canopy.items():
        e = curves.environments[name]
        now = Environment(
            e.ppfd_umol_m2_s, e.light_hours, e.air_temperature_c, round(ppm, 1), e.relative_humidity_percent
        )
        weighed += exchange.fixed_g * growth_pace(now, e)
        fixed += exchange.fixed_g
    return weighed / fixed if fixed else 1.0
