"""The canopy of the sowing plan on paper: what its plants take up, and what CO2 that leaves in the room's air.

Typical days and mass are what a planner sees in the room as it is, with that air in them: so plants are taken to weigh
what they typically do when the plan's CO2 is worked out, and their pace is found in it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from growsim.growth.carbon import CO2_G_PER_G_DRY, Exchange, exchange_between
from growsim.growth.curves import base_curve
from growsim.growth.lettuce import co2_response, par_w_m2
from growsim.growth.pace import (
    Environments,
    calibrate,
    environments_at,
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

THINNEST_PPM: Final = 200.0
"""No plan's typical days are taken to have been seen in thinner air. Growers find about so much in a closed room
full of plants (producegrower.com, on CO2 injection); the model's leaves earn little below."""

NEAR_PPM: Final = 0.05
MOST_ROUNDS: Final = 200


def planned_co2(scenario: Scenario) -> dict[str, Leaves]:
    """Light bank -> how the plants under it take up CO2, at the CO2 (whole ppm) that the plan leaves them.

    Banks under which no plant could live are left out. Raises ValueError, in a sentence, for a crop whose typical days
    and mass cannot be.
    """
    environments = environments_at(scenario)
    rates = {crop.name: _typical_rate(crop, scenario, environments) for crop in scenario.crops}
    canopy = canopy_by_bank(scenario, environments, rates)
    leaves = settled(scenario, _leaves(environments, canopy), gained_g_by_bank(canopy))
    return {name: replace(each, planned_ppm=float(round(each.planned_ppm))) for name, each in leaves.items()}


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
    scenario: Scenario, environments: Environments, growth_rate: Mapping[str, float]
) -> dict[str, Exchange]:
    """Light bank -> CO2 (g a day) that the plants under it exchange, if the plan is kept and everything fits.

    Plants of a stage are spread over the shelves that may hold it. A plan that wants more slots than there are is
    thinned down to them.
    """
    wanted = math.fsum(on_paper.slots_wanted(scenario).values())
    slots = sum([group.total_slots for group in on_paper.shelf_groups(scenario) if group.stages])
    fitting = min(1.0, slots / wanted) if wanted else 0.0
    crops, temperature_c = on_paper.crops_by_name(scenario), scenario.climate.air_temperature_c
    canopy = {bank.name: Exchange() for bank in scenario.lights}
    for line in scenario.sowing:
        crop = crops[line.crop]
        a_day = on_paper.sowings_per_week(scenario, line) / 7.0 * fitting
        filled = on_paper.filled_fraction(crop, temperature_c)
        planted = on_paper.plants_by_stage(crop, line.cells, temperature_c)
        exchanged = _by_stage(scenario, environments, growth_rate[crop.name], crop)
        for place, ((stage, plants), each) in enumerate(zip(planted, exchanged, strict=True)):
            grown = plants * a_day * (filled if place == 0 else 1.0)  # the first counts cells, filled or not
            places = slots_by_bank(scenario, stage.name)
            for bank, here in places.items():
                canopy[bank] = canopy[bank].plus(each, grown * here / sum(places.values()))
    return canopy


def _by_stage(scenario: Scenario, environments: Environments, rate: float, crop: Crop) -> list[Exchange]:
    """CO2 (g a plant) exchanged in each stage of a crop, first to last; growing again after a harvest is in
    the last.
    """
    found = []
    start_g = seedling_dry_g(crop)
    for stage, environment, begin_g, end_g in planned_masses(crop, scenario, rate, environments):
        density = plants_per_m2(scenario, stage)
        exchange = exchange_between(begin_g, end_g, density, start_g, environment)
        if stage.name == crop.stages_in_order()[-1].name and crop.harvests > 1:
            base = base_curve(density, start_g, environment)
            stump_g = base.dry_g(base.age_days(end_g) - crop.regrowth_days * rate)
            again = exchange_between(stump_g, end_g, density, start_g, environment)
            exchange = exchange.plus(again, crop.harvests - 1)
        found.append(exchange)
    return found


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
