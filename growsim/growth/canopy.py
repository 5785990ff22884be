"""The canopy of the sowing plan on paper: what its plants take up, and what CO2 that leaves in the room's air.

Typical days and mass are what a planner sees in the room as it is, with that air in them: so plants are taken to weigh
what they typically do when the plan's CO2 is worked out, and their pace is found in it. They stand until the first
harvest day on which they are ripe, as in the room, which is often before their typical day.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from statistics import NormalDist
from typing import Final

from growsim.growth.carbon import CO2_G_PER_G_DRY, Exchange, exchange_between
from growsim.growth.curves import base_curve
from growsim.growth.germination import days_to_emerge
from growsim.growth.lettuce import co2_response, par_w_m2
from growsim.growth.pace import (
    Environments,
    calibrate,
    dry_after,
    environments_at,
    growing_days,
    plan_curve,
    planned_masses,
    plants_per_m2,
    room_co2_ppm,
    seedling_dry_g,
    slots_by_bank,
)
from growsim.growth.room_co2 import Leaves, RoomCo2
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS

THINNEST_PPM: Final = 200.0
"""No plan's typical days are taken to have been seen in thinner air. Growers find about so much in a closed room
full of plants (producegrower.com, on CO2 injection); the model's leaves earn little below."""

NEAR_PPM: Final = 0.05
MOST_ROUNDS: Final = 200
CUT_ROUNDS: Final = 8
SPEEDS: Final = 31


def planned_co2(scenario: Scenario) -> dict[str, Leaves]:
    """Light bank -> how the plants under it take up CO2, at the CO2 (whole ppm) that the plan leaves them.

    Banks under which no plant could live are left out. Raises ValueError, in a sentence, for a crop whose typical days
    and mass cannot be.
    """
    bare = environments_at(scenario)
    rates = {crop.name: _typical_rate(crop, scenario, bare) for crop in scenario.crops}
    cut_g = cut_dry_g(scenario, bare, rates)
    planned: dict[str, Leaves] = {}
    for _ in range(CUT_ROUNDS):  # the thinner the air, the nearer to their end in straight lines plants grow
        canopy = canopy_by_bank(scenario, bare, rates, cut_g)
        found = settled(scenario, _leaves(bare, canopy), gained_g_by_bank(canopy))
        before, planned = planned, _between(planned, found)
        if before == planned:
            break
        there = {
            name: replace(each, co2_ppm=planned[name].planned_ppm) if name in planned else each
            for name, each in bare.items()
        }
        try:
            paces = {crop.name: _typical_rate(crop, scenario, there) for crop in scenario.crops}
        except ValueError:  # so thin that no plant could be as heavy: not the air the typical days were seen in
            break
        cut_g = cut_dry_g(scenario, there, paces)
    return planned


def _between(before: Mapping[str, Leaves], found: Mapping[str, Leaves]) -> dict[str, Leaves]:
    """The leaves found at the CO2 (whole ppm) half way from what it was taken to be; as found where it was not yet."""
    return {
        name: replace(each, planned_ppm=float(round((each.planned_ppm + before.get(name, each).planned_ppm) / 2.0)))
        for name, each in found.items()
    }


def settled(scenario: Scenario, leaves: dict[str, Leaves], gained_g: Mapping[str, float]) -> dict[str, Leaves]:
    """The leaves of plants that gain so much a day, at the CO2 that then reproduces itself."""
    most_ppm = room_co2_ppm(scenario)
    for _ in range(MOST_ROUNDS):  # plants that gain so much in thinner air are quicker, which thins it further
        before = leaves
        found = RoomCo2(scenario, before).lit_ppm(gained_g, is_fed=True)
        leaves = {
            name: replace(each, planned_ppm=min(most_ppm, max(THINNEST_PPM, found[name])))
            for name, each in before.items()
        }
        if all(abs(leaves[name].planned_ppm - each.planned_ppm) < NEAR_PPM for name, each in before.items()):
            break
    return leaves


def gained_g_by_bank(canopy: Mapping[str, Exchange]) -> dict[str, float]:
    """Dry mass (g) a day that plants with this exchange gain."""
    return {name: exchange.net_g / CO2_G_PER_G_DRY for name, exchange in canopy.items()}


def canopy_by_bank(
    scenario: Scenario,
    environments: Environments,
    growth_rate: Mapping[str, float],
    cut_g: Mapping[tuple[str, str], float] | None = None,
) -> dict[str, Exchange]:
    """Light bank -> CO2 (g a day) that the plants under it exchange, if the plan is kept and everything fits.

    cut_g: what plants weigh at their first harvest, as `cut_dry_g` has it in these conditions where none is given.

    Plants of a stage are spread over the shelves that may hold it. A plan that wants more slots than there are is
    thinned down to them.
    """
    wanted = math.fsum(on_paper.slots_wanted(scenario).values())
    slots = sum([group.total_slots for group in on_paper.shelf_groups(scenario) if group.stages])
    fitting = min(1.0, slots / wanted) if wanted else 0.0
    crops, temperature_c = on_paper.crops_by_name(scenario), scenario.climate.air_temperature_c
    cut_g = cut_dry_g(scenario, environments, growth_rate) if cut_g is None else cut_g
    canopy = {bank.name: Exchange() for bank in scenario.lights}
    for line in scenario.sowing:
        crop = crops[line.crop]
        a_day = on_paper.sowings_per_week(scenario, line) / 7.0 * fitting
        filled = on_paper.filled_fraction(crop, temperature_c)
        planted = on_paper.plants_by_stage(crop, line.cells, temperature_c)
        exchanged = _by_stage(scenario, environments, growth_rate[crop.name], crop, cut_g[crop.name, line.weekday])
        for place, ((stage, plants), each) in enumerate(zip(planted, exchanged, strict=True)):
            grown = plants * a_day * (filled if place == 0 else 1.0)  # the first counts cells, filled or not
            places = slots_by_bank(scenario, stage.name)
            for bank, here in places.items():
                canopy[bank] = canopy[bank].plus(each, grown * here / sum(places.values()))
    return canopy


def _by_stage(scenario: Scenario, environments: Environments, rate: float, crop: Crop, cut_g: float) -> list[Exchange]:
    """CO2 (g a plant) exchanged in each stage of a crop cut at this dry mass, first to last; growing again after a
    harvest is in the last.
    """
    found = []
    start_g, typical_g = seedling_dry_g(crop), crop.typical_mass_g.expected() * crop.dry_matter_fraction
    for stage, environment, begin_g, end_g in planned_masses(crop, scenario, rate, environments):
        density = plants_per_m2(scenario, stage)
        is_last = stage.name == crop.stages_in_order()[-1].name
        until_g = cut_g if is_last else end_g
        exchange = exchange_between(begin_g, until_g, density, start_g, environment)
        if is_last and crop.harvests > 1:
            base = base_curve(density, start_g, environment)
            stump_g = base.dry_g(base.age_days(typical_g) - crop.regrowth_days * rate)
            again = exchange_between(stump_g, until_g, density, start_g, environment)
            exchange = exchange.plus(again, crop.harvests - 1)
        found.append(exchange)
    return found


def cut_dry_g(
    scenario: Scenario, environments: Environments, growth_rate: Mapping[str, float]
) -> dict[tuple[str, str], float]:
    """(crop, weekday of sowing) -> dry mass (g a plant) at the first harvest, mean over sowings as fast and slow as
    they come.

    Sown and harvested at noon, looked at at midnight, each move on its day; where a sowing is not ripe within three
    times its typical days, what it weighs then.
    """
    crops = on_paper.crops_by_name(scenario)
    return {
        (name, weekday): _cut_dry_g(crops[name], scenario, environments, growth_rate[name], weekday)
        for name, weekday in {(line.crop, line.weekday): None for line in scenario.sowing}
    }


def _cut_dry_g(crop: Crop, scenario: Scenario, environments: Environments, rate: float, sown_on: str) -> float:
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    *early, (last, _) = [
        (plan_curve(crop, scenario, stage, environments), days) for stage, days in growing_days(crop, days_up)
    ]
    moved = max(days_up, math.fsum([stage.days for stage in crop.stages_in_order()[:-1]]))
    ripe_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction * crop.harvest_from_mass_fraction
    sown, cutting = WEEKDAYS.index(sown_on), {WEEKDAYS.index(day) for day in scenario.harvest.weekdays}
    latest = math.ceil(3.0 * crop.typical_days)
    days = [day for day in range(math.ceil(moved), latest + 7) if (sown + day) % 7 in cutting]
    cut_g = []
    for speed in _speeds(crop.days_spread_cv):
        age = last.age_days(dry_after(early, seedling_dry_g(crop), rate * speed))
        for day in days:
            if last.dry_g(age + (day - 0.5 - moved) * rate * speed) >= ripe_g or day >= latest:
                cut_g.append(last.dry_g(age + (day - moved) * rate * speed))
                break
    return math.fsum(cut_g) / len(cut_g)


def _speeds(cv: float) -> list[float]:
    """Speeds of growth of SPEEDS sowings, from slow to fast: lognormal about 1, equally likely."""
    sigma = math.sqrt(math.log1p(cv * cv))
    return [
        math.exp(sigma * NormalDist().inv_cdf((place + 0.5) / SPEEDS) - sigma * sigma / 2.0) for place in range(SPEEDS)
    ]


def _typical_rate(crop: Crop, scenario: Scenario, environments: Environments) -> float:
    """The pace at which a crop is as heavy as it typically is; the stated one where none does that."""
    try:
        return calibrate(crop.model_copy(update={"growth_rate": None}), scenario, environments)
    except ValueError:
        if crop.growth_rate is None:
            raise
        return float(crop.growth_rate)


def _leaves(environments: Environments, canopy: Mapping[str, Exchange]) -> dict[str, Leaves]:
    """How leaves take up CO2 under each bank; of the night's breath what the plan's plants there breathe out, under a
    bare bank as under all others."""
    total = Exchange()
    for exchange in canopy.values():
        total = total.plus(exchange)
    found = {}
    for name, e in environments.items():
        response = co2_response(par_w_m2(e.ppfd_umol_m2_s), e.air_temperature_c)
        if response is not None and response[0] < min(THINNEST_PPM, e.co2_ppm):
            of = canopy[name] if canopy[name].net_g > 0.0 else total
            night = of.breathed_in_dark_g / of.net_g if of.net_g > 0.0 else 0.0
            found[name] = Leaves(e.co2_ppm, *response, night)
    return found
