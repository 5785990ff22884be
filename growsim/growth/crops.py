"""The planner's crops on the growth model: the pace of each, found in the air that the plan leaves, and its curves."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from growsim.growth.canopy import planned_co2
from growsim.growth.curves import Environment, MassCurve, base_curve, paced
from growsim.growth.germination import days_to_emerge
from growsim.growth.pace import (
    calibrate,
    dry_after,
    environments_at,
    growing_days,
    plan_curve,
    plants_per_m2,
    room_co2_ppm,
    seedling_dry_g,
    slots_for,
)
from growsim.growth.room_co2 import Leaves
from growsim.scenario.crop import Crop
from growsim.scenario.scenario import Scenario

THICKER_PPM = (250.0, 300.0, 350.0)


@dataclass(frozen=True)
class Curves:
    """What the room needs of biology: pace of each crop and a curve for each (crop, stage, light bank).

    environments: what plants stand in by light bank, at set-points and at the CO2 that the plan leaves them. leaves:
    how they take up CO2 there; a bank that is not named takes up none. most_co2_ppm: CO2 that no air exceeds.
    """

    growth_rate: dict[str, float]
    curves: dict[tuple[str, str, str], MassCurve]
    environments: dict[str, Environment]
    seedling_dry_g: dict[str, float]
    leaves: dict[str, Leaves] = field(default_factory=dict)
    most_co2_ppm: float = 0.0


def build_curves(scenario: Scenario) -> Curves:
    """Find the CO2 that the plan leaves, calibrate every crop in it, and draw its curve for every stage under every
    light bank it may stand under.

    Where no crop could be as heavy as it typically is in air so thin, that cannot be the air its typical days were seen
    in: it is taken to be thicker by steps. Raises ValueError, in a sentence, for typical days that no air allows.
    """
    planned, most_ppm = planned_co2(scenario), room_co2_ppm(scenario)
    for least_ppm in (0.0, *THICKER_PPM, most_ppm):
        leaves = {
            name: replace(each, planned_ppm=max(each.planned_ppm, min(least_ppm, most_ppm)))
            for name, each in planned.items()
        }
        environments = {
            name: replace(environment, co2_ppm=leaves[name].planned_ppm) if name in leaves else environment
            for name, environment in environments_at(scenario).items()
        }
        try:
            growth_rate = {crop.name: calibrate(crop, scenario, environments) for crop in scenario.crops}
            break
        except ValueError:
            if least_ppm == most_ppm:
                raise
    curves: dict[tuple[str, str, str], MassCurve] = {}
    for crop in scenario.crops:
        for stage in crop.stages:
            density = plants_per_m2(scenario, stage)
            for rack in scenario.racks:
                key = (crop.name, stage.name, rack.lights)
                if slots_for(rack, stage.name) and key not in curves:
                    base = base_curve(density, seedling_dry_g(crop), environments[rack.lights])
                    curves[key] = paced(base, growth_rate[crop.name])
    return Curves(
        growth_rate,
        curves,
        environments,
        {crop.name: seedling_dry_g(crop) for crop in scenario.crops},
        leaves,
        most_ppm,
    )


def ripe_after_days(crop: Crop, scenario: Scenario, curves: Curves, speed: float = 1.0) -> float:
    """Days from the hour of sowing until a lot's mean mass is enough to be harvested; it is overgrown
    `overgrown_after_days` later. speed: of the lot, 1 as planned. Shelves at the mean conditions of those that may hold
    each stage."""
    wanted_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction * crop.harvest_from_mass_fraction
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    rate = curves.growth_rate[crop.name] * crop.growth_pace.expected() * speed
    dry_g = seedling_dry_g(crop)
    *early, (last, _) = growing_days(crop, days_up)
    for stage, days in early:
        dry_g = dry_after([(plan_curve(crop, scenario, stage, curves.environments), days)], dry_g, rate)
    begins = max(days_up, math.fsum([stage.days for stage, _ in early]))
    base = plan_curve(crop, scenario, last, curves.environments)
    return float(begins + max(0.0, base.age_days(wanted_g) - base.age_days(dry_g)) / rate)
