"""The planner's crops on the growth model: find each crop's pace from typical days and mass, then draw its curves."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from growsim.growth import air
from growsim.growth.curves import Environment, MassCurve, base_curve, paced
from growsim.growth.germination import days_to_emerge
from growsim.scenario.crop import Crop, Stage
from growsim.scenario.place import Rack
from growsim.scenario.scenario import Scenario

SLOWEST_RATE = 0.02
FASTEST_RATE = 50.0
BISECTIONS = 60
MOST_OF_SHOOTS = 0.05


@dataclass(frozen=True)
class Curves:
    """What the room needs of biology: pace of each crop and a curve for each (crop, stage, light bank)."""

    growth_rate: dict[str, float]
    curves: dict[tuple[str, str, str], MassCurve]
    environments: dict[str, Environment]
    seedling_dry_g: dict[str, float]


def build_curves(scenario: Scenario) -> Curves:
    """Calibrate every crop and draw its curve for every stage under every light bank it may stand under."""
    environments = {bank.name: bank_environment(scenario, bank.name) for bank in scenario.lights}
    growth_rate = {crop.name: calibrate(crop, scenario) for crop in scenario.crops}
    curves: dict[tuple[str, str, str], MassCurve] = {}
    for crop in scenario.crops:
        for stage in crop.stages:
            density = plants_per_m2(scenario, stage)
            for rack in scenario.racks:
                key = (crop.name, stage.name, rack.lights)
                if slots_for(rack, stage.name) and key not in curves:
                    base = base_curve(density, seedling_dry_g(crop), environments[rack.lights])
                    curves[key] = paced(base, growth_rate[crop.name])
    return Curves(growth_rate, curves, environments, {crop.name: seedling_dry_g(crop) for crop in scenario.crops})


def seedling_dry_g(crop: Crop) -> float:
    """Dry mass (g) a seedling starts from: that of its seed.

    Of a pot or tray the shoots: no more than a twentieth of the typical dry mass, since most of heavy seed stays behind
    with the roots (a rule of thumb, no source; seed of microgreens may outweigh their shoots).
    """
    if crop.is_cut_whole:
        return min(crop.seed_sown_g, MOST_OF_SHOOTS * crop.typical_mass_g.expected() * crop.dry_matter_fraction)
    return crop.seed_mass_mg / 1000.0


def plants_per_m2(scenario: Scenario, stage: Stage) -> float:
    """Density (plants/m²) of a full tray of this stage. Raises ValueError where the tray is not in the room."""
    for tray in scenario.trays:
        if tray.name == stage.tray:
            return tray.plants_per_m2
    raise ValueError(f"there is no kind of tray called {stage.tray!r}, which stage {stage.name!r} stands in")


def room_co2_ppm(scenario: Scenario) -> float:
    """CO2 (ppm) the room reaches at its set-point, against its leaks."""
    room = scenario.room
    return air.co2_balance_ppm(
        scenario.co2.setpoint_ppm,
        scenario.co2.outdoor_ppm,
        scenario.co2.supply_kg_per_day,
        room.air_changes_per_hour,
        room.floor_area_m2 * room.height_m,
    )


def bank_environment(scenario: Scenario, lights: str) -> Environment:
    """Conditions under one light bank at the room's set-points. Raises ValueError where there is no such bank."""
    for bank in scenario.lights:
        if bank.name == lights:
            return _at_setpoints(scenario, bank.ppfd_umol_m2_s, bank.hours_per_day)
    raise ValueError(f"there is no light bank called {lights!r}")


def reference_environment(scenario: Scenario, stage_name: str) -> Environment:
    """Mean conditions over the racks that may hold a stage, weighted by slots, at the room's set-points.

    Hours of light are averaged, and PPFD such that the mean daily light integral is kept.
    Raises ValueError where no shelf may hold the stage.
    """
    banks = {bank.name: bank for bank in scenario.lights}
    slots = hours = photons = 0.0
    for rack in sorted(scenario.racks, key=lambda rack: rack.name):
        weight = slots_for(rack, stage_name)
        if weight:
            bank = banks[rack.lights]
            slots += weight
            hours += weight * bank.hours_per_day
            photons += weight * bank.hours_per_day * bank.ppfd_umol_m2_s
    if not slots:
        raise ValueError(f"no shelf may hold stage {stage_name!r}")
    return _at_setpoints(scenario, photons / hours, hours / slots)


def calibrate(crop: Crop, scenario: Scenario) -> float:
    """The crop's growth rate: pace at which it weighs its typical mass on its typical day (1 is the model's own).

    Germination on its day at the room's temperature, every move on its day, shelves at the mean conditions of those
    that may hold the stage. Raises ValueError, in a sentence, where no pace from 0.02 to 50 can do it.
    """
    if crop.growth_rate is not None:
        return float(crop.growth_rate)
    wanted_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    if days_up >= crop.typical_days:
        raise ValueError(
            f"{crop.name} takes {days_up:.3g} days to germinate at the room's temperature, so it cannot be harvested "
            f"{crop.typical_days:.3g} days from sowing"
        )
    legs = _legs(crop, scenario, days_up)
    start_g = seedling_dry_g(crop)
    if dry_after(legs, start_g, SLOWEST_RATE) > wanted_g:
        raise ValueError(
            f"{crop.name} cannot weigh as little as {crop.typical_mass_g.expected():.3g} g after "
            f"{crop.typical_days:.3g} days: its seed alone comes close; look at seed mass, dry share and typical mass"
        )
    if dry_after(legs, start_g, FASTEST_RATE) < wanted_g:
        raise ValueError(
            f"{crop.name} cannot weigh {crop.typical_mass_g.expected():.3g} g after {crop.typical_days:.3g} days at "
            "this light and spacing; look at typical mass, days, spacing and light"
        )
    low, high = SLOWEST_RATE, FASTEST_RATE
    for _ in range(BISECTIONS):
        middle = math.sqrt(low * high)  # halving on a ratio scale: the range spans three decades
        if dry_after(legs, start_g, middle) < wanted_g:
            low = middle
        else:
            high = middle
    return math.sqrt(low * high)


def dry_after(legs: list[tuple[MassCurve, float]], start_g: float, growth_rate: float) -> float:
    """Dry mass (g) after living each leg (base curve, days) in turn at a growth rate; each begins at the mass before.

    A plant already heavier than a curve reaches keeps its mass.
    """
    dry = start_g
    for curve, days in legs:
        dry = max(dry, curve.dry_g(curve.age_days(dry) + days * growth_rate))
    return dry


def _legs(crop: Crop, scenario: Scenario, days_up: float) -> list[tuple[MassCurve, float]]:
    """The growing part of each stage of a crop's plan: (base curve, days)."""
    start_g = seedling_dry_g(crop)
    return [
        (base_curve(plants_per_m2(scenario, stage), start_g, reference_environment(scenario, stage.name)), days)
        for stage, days in growing_days(crop, days_up)
        if days
    ]


def growing_days(crop: Crop, days_up: float) -> Iterator[tuple[Stage, float]]:
    """Each stage of a crop's plan, first to last, and the days of it that the plants are up."""
    waiting = days_up
    for stage in crop.stages_in_order():
        yield stage, max(0.0, stage.days - waiting)
        waiting = max(0.0, waiting - stage.days)


def planned_masses(
    crop: Crop, scenario: Scenario, growth_rate: float
) -> Iterator[tuple[Stage, Environment, float, float]]:
    """Each stage of a crop's plan, first to last: its mean conditions, dry mass (g a plant) at its start and end."""
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    dry_g = seedling_dry_g(crop)
    for stage, days in growing_days(crop, days_up):
        environment = reference_environment(scenario, stage.name)
        base = base_curve(plants_per_m2(scenario, stage), seedling_dry_g(crop), environment)
        begin_g, dry_g = dry_g, dry_after([(base, days)], dry_g, growth_rate)
        yield stage, environment, begin_g, dry_g


def ripe_after_days(crop: Crop, scenario: Scenario, curves: Curves, speed: float = 1.0) -> float:
    """Days from the hour of sowing until a lot's mean mass is enough to be harvested; it is overgrown
    `overgrown_after_days` later. speed: of the lot, 1 as planned. Shelves at the mean conditions of those that may hold
    each stage."""
    wanted_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction * crop.harvest_from_mass_fraction
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    rate = curves.growth_rate[crop.name] * crop.growth_pace.expected() * speed
    seedling_g = dry_g = seedling_dry_g(crop)
    *early, (last, _) = growing_days(crop, days_up)
    for stage, days in early:
        base = base_curve(plants_per_m2(scenario, stage), seedling_g, reference_environment(scenario, stage.name))
        dry_g = dry_after([(base, days)], dry_g, rate)
    begins = max(days_up, math.fsum([stage.days for stage, _ in early]))
    base = base_curve(plants_per_m2(scenario, last), seedling_g, reference_environment(scenario, last.name))
    return float(begins + max(0.0, base.age_days(wanted_g) - base.age_days(dry_g)) / rate)


def slots_for(rack: Rack, stage_name: str) -> int:
    """Slots of a rack that may hold a stage."""
    return sum([group.total_slots for group in rack.shelves if stage_name in group.stages])


def slots_by_bank(scenario: Scenario, stage_name: str) -> dict[str, int]:
    """Light bank -> slots under it that may hold a stage; banks over none are left out."""
    slots: dict[str, int] = {}
    for rack in scenario.racks:
        here = slots_for(rack, stage_name)
        if here:
            slots[rack.lights] = slots.get(rack.lights, 0) + here
    return slots


def _at_setpoints(scenario: Scenario, ppfd_umol_m2_s: float, light_hours: float) -> Environment:
    return Environment(
        ppfd_umol_m2_s=ppfd_umol_m2_s,
        light_hours=light_hours,
        air_temperature_c=scenario.climate.air_temperature_c,
        co2_ppm=float(room_co2_ppm(scenario)),
        relative_humidity_percent=scenario.climate.relative_humidity_percent,
    )
