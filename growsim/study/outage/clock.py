"""How long have we got: hours from an outage until plants suffer, the first die, and half are dead, stage by stage.

By arithmetic from the room's own figures: how much a plug holds, how fast plants of that age drink in light and dark,
how fast the room warms or cools, and the half-way doses of each crop. Counted over outages at every third hour of the
day, just after a flood and just before one, with plants that have just come to a stage, are halfway through and about
to leave it. The shortest of all these is what a wall should show.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.growth.germination import days_to_emerge
from growsim.growth.pace import slots_for
from growsim.growth.stress import COLD_HARM, HEAT_HARM, LOSS_SHAPE, AirHarm, plug_hours
from growsim.scenario.crop import Crop
from growsim.scenario.scenario import Scenario
from growsim.study.outage.air import STEP_MINUTES, Course, course_of, thirst_rates
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.growth.crops import Curves

HarmHours = tuple[float | None, float | None, float | None]
START_HOURS = tuple(range(0, 24, 3))
FIRST_DIE = 0.05
"""'The first die' means that one plant in twenty is lost: the survival curve starts at once but slowly."""


@dataclass(frozen=True)
class Hours:
    """Hours from the beginning of an outage, in the worst, the middle and the best case; None: not within a week."""

    worst: float | None
    middle: float | None
    best: float | None


@dataclass(frozen=True)
class TimeLeft:
    """How long the plants of one crop in one stage last when a machine is down and nobody does anything.

    month: 0 for January. suffer: growth stops (too dry, dark) or the air is warmer or colder than the crop bears.
    """

    machine: str
    month: int
    crop: str
    stage: str
    suffer: Hours
    first_die: Hours
    half_dead: Hours


def times_left(scenario: Scenario, curves: Curves, machine: str, month: int) -> tuple[TimeLeft, ...]:
    """One line for every crop and stage, in the order of the room file. CO2 harms no plant: all None."""
    before = max((reservoir.flood_every_hours for reservoir in scenario.reservoirs), default=0.0)
    courses = [
        course_of(scenario, curves, machine, month, hour, before_hours=before + STEP_MINUTES / 60.0)
        for hour in START_HOURS
    ]
    lines = []
    for crop in scenario.crops:
        in_air = [(course, (heat_hours(crop, course), cold_hours(crop, course))) for course in courses]
        for stage, masses in stage_masses(scenario, curves, crop).items():
            cases = list(_cases(scenario, curves, machine, crop, stage, masses, in_air))
            suffer, first, half = (_hours([case[which] for case in cases]) for which in range(3))
            lines.append(TimeLeft(machine, month, crop.name, stage, suffer, first, half))
    return tuple(lines)


def of_stage(lines: Sequence[TimeLeft], stage: str = "") -> tuple[Hours, Hours, Hours]:
    """(suffer, first die, half dead) over all crops of a stage, or of all stages."""
    chosen = [line for line in lines if stage in ("", line.stage)]
    return (
        _over([line.suffer for line in chosen]),
        _over([line.first_die for line in chosen]),
        _over([line.half_dead for line in chosen]),
    )


def wet_plug_hours(scenario: Scenario, curves: Curves) -> dict[str, dict[str, float]]:
    """Reservoir -> stage on its racks -> hours of light that a wet plug lasts its thirstiest plants, until their growth
    stops."""
    banks = {bank.name: bank for bank in scenario.lights}
    plugs = {tray.name: tray.plug_volume_ml for tray in scenario.trays}
    found: dict[str, dict[str, float]] = {reservoir.name: {} for reservoir in scenario.reservoirs}
    for crop in scenario.crops:
        trays = {stage.name: stage.tray for stage in crop.stages}
        for stage, masses in stage_masses(scenario, curves, crop).items():
            for rack in scenario.racks:
                if slots_for(rack, stage):
                    curve = curves.curves[crop.name, stage, rack.lights]
                    lit, _ = thirst_rates(curves, banks[rack.lights])
                    daily_ml = lit * curve.water_and_rate(curve.age_days(masses[-1]))[1]
                    hours, _ = plug_hours(plugs[trays[stage]], daily_ml / 24.0)
                    here = found[rack.reservoir]
                    here[stage] = min(hours, here.get(stage, math.inf))
    return found


def dose_share(fraction: float) -> float:
    """The share of a half-way dose at which `fraction` of the plants is lost: the survival curve turned round."""
    return float((-math.log2(1.0 - fraction)) ** (1.0 / LOSS_SHAPE))


def stage_masses(scenario: Scenario, curves: Curves, crop: Crop) -> dict[str, tuple[float, float, float]]:
    """Stage -> dry mass (g) of a plant that comes to the stage, is halfway through, leaves it; all as planned."""
    days_up = days_to_emerge(scenario.climate.air_temperature_c, crop.emergence.temperature_c, crop.emergence.days)
    mass = curves.seedling_dry_g[crop.name]
    found = {}
    for place, stage in enumerate(crop.stages_in_order()):
        curve = next(curve for (name, at, _), curve in curves.curves.items() if (name, at) == (crop.name, stage.name))
        days = max(0.0, stage.days - (days_up if place == 0 else 0.0))
        age = curve.age_days(mass)
        found[stage.name] = (mass, curve.dry_g(age + days / 2.0), curve.dry_g(age + days))
        mass = found[stage.name][-1]
    return found


def _cases(
    scenario: Scenario,
    curves: Curves,
    machine: str,
    crop: Crop,
    stage: str,
    masses: Sequence[float],
    courses: Sequence[tuple[Course, Sequence[HarmHours]]],
) -> Iterator[HarmHours]:
    """(suffer, first die, half dead) in hours, for every hour of the day, light bank, age and flood. courses: each with
    those of its air."""
    tray_name = next(each.tray for each in crop.stages if each.name == stage)
    plug_ml = next(tray.plug_volume_ml for tray in scenario.trays if tray.name == tray_name)
    banks = [bank for name, at, bank in curves.curves if (name, at) == (crop.name, stage)]
    row = BY_KEY[machine]
    battery_hours = scenario.power.battery_pump_hours if row.has_battery else 0.0
    for course, air in courses:
        for bank in banks:
            no_light = course.dark_from[bank] if row.stops_light else None
            curve = curves.curves[crop.name, stage, bank]
            for mass in masses:
                for just_flooded in (True, False):
                    dry: HarmHours = (None, None, None)
                    if row.stops_water:
                        wait = battery_hours - (0.0 if just_flooded else _flood_pause(scenario, bank))
                        daily_ml = max(curve.water_and_rate(curve.age_days(mass))[1], 1e-6)
                        dry = drought_hours(crop, course, bank, wait, plug_ml, daily_ml)
                    yield (
                        _soonest(dry[0], *(hours[0] for hours in air), no_light),
                        _soonest(dry[1], *(hours[1] for hours in air)),
                        _soonest(dry[2], *(hours[2] for hours in air)),
                    )


def _flood_pause(scenario: Scenario, bank: str) -> float:
    """Hours between floods on racks under a light bank (the longest)."""
    reservoirs = {rack.reservoir for rack in scenario.racks if rack.lights == bank}
    return max(reservoir.flood_every_hours for reservoir in scenario.reservoirs if reservoir.name in reservoirs)


def drought_hours(
    crop: Crop, course: Course, bank: str, last_flood_hours: float, plug_ml: float, daily_ml: float
) -> HarmHours:
    """Hours until growth stops for lack of water, the first die and half are dead; the last flood was at
    `last_flood_hours` (below 0: before the outage). daily_ml: what a plant drinks a day at the set-points."""
    to_stress, to_empty = plug_hours(plug_ml, daily_ml / 24.0)
    wet = _thirst_at(course, bank, last_flood_hours)
    stress, empty = (_hours_of_thirst(course, bank, wet + hours / 24.0) for hours in (to_stress, to_empty))
    if empty is None:
        return stress, None, None
    first = empty + dose_share(FIRST_DIE) * crop.dry_half_loss_hours
    return stress, first, empty + crop.dry_half_loss_hours


def heat_hours(crop: Crop, course: Course) -> HarmHours:
    """Hours until the air is warmer than the crop bears, the first die and half are dead."""
    return _harm_hours(HEAT_HARM, crop, course)


def cold_hours(crop: Crop, course: Course) -> HarmHours:
    """Hours until the air is colder than the crop bears, the first die and half are dead."""
    return _harm_hours(COLD_HARM, crop, course)


def _harm_hours(harm: AirHarm, crop: Crop, course: Course) -> HarmHours:
    limit_c, half = harm.limit_c(crop), harm.half_loss(crop)
    if not harm.past(min(course.air_c), limit_c) and not harm.past(max(course.air_c), limit_c):
        return None, None, None
    doses = degree_hours(harm, crop, course)

    def until(mark: float) -> float | None:
        step = next((step for step, dose in enumerate(doses) if dose > 0.0 and dose >= mark), None)
        return None if step is None else max(0.0, course.hours(step))

    return until(0.0), until(dose_share(FIRST_DIE) * half), until(half)


def degree_hours(harm: AirHarm, crop: Crop, course: Course) -> list[float]:
    """Degree-hours past the crop's limit by the end of each step."""
    limit_c = harm.limit_c(crop)
    dose, past, doses = 0.0, course.air_c[0], []
    for now in course.air_c:
        dose += harm.past((past + now) / 2.0, limit_c) * STEP_MINUTES / 60.0
        past = now
        doses.append(dose)
    return doses


def _thirst_at(course: Course, bank: str, hours: float) -> float:
    steps = course.thirst[bank]
    at = (hours + course.before_hours) * 60.0 / STEP_MINUTES
    whole = int(at)
    low = steps[whole - 1] if whole > 0 else 0.0
    return low + (at - whole) * (steps[min(whole, len(steps) - 1)] - low)


def _hours_of_thirst(course: Course, bank: str, thirst: float) -> float | None:
    step = bisect_left(course.thirst[bank], thirst)
    return max(0.0, course.hours(step)) if step < len(course.thirst[bank]) else None


def _soonest(*hours: float | None) -> float | None:
    known = [each for each in hours if each is not None]
    return min(known) if known else None


def _hours(cases: Sequence[float | None]) -> Hours:
    """Worst, middle and best; never is later than any hour."""
    ranked = sorted(math.inf if case is None else case for case in cases)
    middle = ranked[(len(ranked) - 1) // 2]
    return Hours(*(None if math.isinf(each) else each for each in (ranked[0], middle, ranked[-1])))


def _over(several: Sequence[Hours]) -> Hours:
    if not several:
        return Hours(None, None, None)
    worst = _hours([each.worst for each in several]).worst
    middle = _hours([each.middle for each in several]).middle
    best = _hours([each.best for each in several]).best
    return Hours(worst, middle, best)
