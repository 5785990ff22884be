"""Where the planner's crops stand and how fast they grow: conditions under the lights, and each crop's pace, found from
its typical days and mass.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from growsim.growth import air
from growsim.growth.curves import Environment, MassCurve, base_curve
from growsim.growth.germination import days_to_emerge
from growsim.scenario.crop import Crop, Stage
from growsim.scenario.place import Rack
from growsim.scenario.scenario import Scenario

SLOWEST_RATE = 0.02
FASTEST_RATE = 50.0
BISECTIONS = 60
MOST_OF_SHOOTS = 0.05

Environments = Mapping[str, Environment]
"""Light bank -> the conditions its plants stand in."""


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
    """CO2 (ppm) that supply and leak make of the room, without plants: no air in it has more."""
    room = scenario.room
    return air.co2_balance_ppm(
        scenario.co2.setpoint_ppm,
        scenario.co2.outdoor_ppm,
        scenario.co2.supply_kg_per_day,
        room.air_changes_per_hour,
        room.floor_area_m2 * room.height_m,
    )


def environments_at(scenario: Scenario) -> dict[str, Environment]:
    """Conditions under each light bank at the room's set-points, in the CO2 that there would be without plants."""
    return {
        bank.name: Environment(
            ppfd_umol_m2_s=bank.ppfd_umol_m2_s,
            light_hours=bank.hours_per_day,
            air_temperature_c=scenario.climate.air_temperature_c,
            co2_ppm=float(room_co2_ppm(scenario)),
            relative_humidity_percent=scenario.climate.relative_humidity_percent,
        )
        for bank in scenario.lights
    }


def reference_environment(scenario: Scenario, stage_name: str, environments: Environments | None = None) -> Environment:
    """Mean conditions over the racks that may hold a stage, weighted by slots.

    Hours of light are averaged, PPFD such that the mean daily light integral is kept, CO2 over the hours of light.
    environments: those of a room without plants where none are given. Raises ValueError where no shelf may hold the
    stage.
    """
    environments = environments_at(scenario) if environments is None else environments
    slots = hours = photons = 0.0
    co2: list[tuple[float, float]] = []
    for rack in sorted(scenario.racks, key=lambda rack: rack.name):
        weight = slots_for(rack, stage_name)
        if weight:
            here = environments[rack.lights]
            slots += weight
            hours += weight * here.light_hours
            photons += weight * here.light_hours * here.ppfd_umol_m2_s
            co2.append((weight * here.light_hours, here.co2_ppm))
    if not slots:
        raise ValueError(f"no shelf may hold stage {stage_name!r}")
    least = min(ppm for _, ppm in co2)
    return Environment(
        ppfd_umol_m2_s=photons / hours,
        light_hours=hours / slots,
        air_temperature_c=scenario.climate.air_temperature_c,
        co2_ppm=least + math.fsum([weight * (ppm - least) for weight, ppm in co2]) / hours,
        relative_humidity_percent=scenario.climate.relative_humidity_percent,
    )


def calibrate(crop: Crop, scenario: Scenario, environments: Environments | None = None) -> float:
    """The crop's growth rate: pace at which it weighs its typical mass on its typical day (1 is the model's own).

    Germination on its day at the room's temperature, every move on its day, shelves at the mean conditions of those
    that may hold the stage. environments: as in `reference_environment`. A rate that the room file states is
    taken as it stands. Raises ValueError, in a sentence, where no pace from 0.02 to 50 can do it.
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
    legs = _legs(crop, scenario, environments, days_up)
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


def _legs(
    crop: Crop, scenario: Scenario, environments: Environments | None, days_up: float
) -> list[tuple[MassCurve, float]]:
    """The growing part of each stage of a crop's plan: (base curve, days)."""
    return [
        (plan_curve(crop, scenario, stage, environments), days) for stage, days in growing_days(crop, days_up) if days
    ]


def plan_curve(crop: Crop, scenario: Scenario, stage: Stage, environments: Environments | None = None) -> MassCurve:
    """Curve at growth rate 1 of a crop in a stage, at the mean conditions of the shelves that may hold it."""
    here = reference_environment(scenario, stage.name, environments)
    return base_curve(plants_per_m2(scenario, stage), seedling_dry_g(crop), here)


def growing_days(crop: Crop, days_up: float) -> Iterator[tuple[Stage, float]]:
    """Each stage of a crop's plan, first to last, and the days of it that the plants are up."""
    waiting = days_up
    for stage in crop.stages_in_order():
        yield stage, max(0.0, stage.days - waiting)
        waiting = max(0.0, waiting - stage.days)


def planned_masses(
    crop: Crop, scenario: Scenario, growth_rate: float, environments: Environments
) -> Iterator[tuple[Stage, Environment, float, float]]:
    """Each stage of a crop's plan, first to last: its mean conditions, dry mass (g a plant) at its start and end."""
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    dry_g = seedling_dry_g(crop)
    for stage, days in growing_days(crop, days_up):
        environment = reference_environment(scenario, stage.name, environments)
        base = base_curve(plants_per_m2(scenario, stage), seedling_dry_g(crop), environment)
        begin_g, dry_g = dry_g, dry_after([(base, days)], dry_g, growth_rate)
        yield stage, environment, begin_g, dry_g


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
