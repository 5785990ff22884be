"""Mass curves: how one plant gains dry mass, and drinks, with age at one spacing under one set of conditions.

Plants keep the dry mass they have when conditions change and move to another curve at the same mass. The share of that
mass that is sugar then follows the new curve at once: it settles within two or three days anyway (van Henten 1994).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, fields
from functools import lru_cache
from itertools import pairwise
from operator import sub
from typing import Any, Final

from growsim.growth import lettuce, water

LONGEST_CURVE_DAYS: Final = 150
SMALLEST_DAILY_GROWTH_FRACTION: Final = 1e-4
POINTS_PER_DAY: Final = 4
SUGAR_FRACTION_OF_SEEDLING: Final = 0.25
"""Non-structural share of a seedling's dry mass: van Henten's usual start, 0.7 and 2.1 g/m² (from memory)."""

YOUNG_CANOPY_LAI: Final = 3.0
"""Leaf area of a closed young stand, on which a change of conditions is judged."""

THINNEST_CANOPY_LAI: Final = 1e-3
"""About that of seedlings just up at finishing distance."""

FASTEST_PACE: Final = 2.0


@dataclass(frozen=True, slots=True)
class Environment:
    """Conditions that plants of one rack stand in. Light in µmol/m²/s at the plants, hours of it a day."""

    ppfd_umol_m2_s: float
    light_hours: float
    air_temperature_c: float
    co2_ppm: float
    relative_humidity_percent: float

    def __reduce__(self) -> tuple[Any, ...]:  # to workers: made again there, since frozen and perhaps compiled
        return Environment, tuple(getattr(self, field.name) for field in fields(self))


@dataclass(frozen=True, slots=True)
class MassCurve:
    """One plant's dry mass (g) and water given off so far (mL) on an even grid of growing age.

    Age 0 is germination. Mass strictly rises along the grid; day and night of the photoperiod are both in it.
    thirstiest_ml: what it gives off a day at the age at which that is most.
    """

    step_days: float
    dry: tuple[float, ...]
    water: tuple[float, ...]
    last_days: float
    steps_per_day: float
    thirstiest_ml: float

    def __reduce__(self) -> tuple[Any, ...]:  # as Environment
        return MassCurve, tuple(getattr(self, field.name) for field in fields(self))

    @classmethod
    def from_grid(cls, step_days: float, dry: tuple[float, ...], water: tuple[float, ...]) -> MassCurve:
        """A curve from its grid. Raises ValueError where it is empty, uneven or not strictly rising."""
        if not dry or len(dry) != len(water) or step_days <= 0.0:
            raise ValueError("a mass curve needs a step above 0 and as many water as mass values")
        if any(later <= earlier for earlier, later in pairwise(dry)):
            raise ValueError("a mass curve must rise")
        steepest_ml = max(map(sub, water[1:], water), default=0.0)
        return cls(step_days, dry, water, (len(dry) - 1) * step_days, 1.0 / step_days, steepest_ml / step_days)

    def dry_g(self, age_days: float) -> float:
        """Dry mass (g) at an age; the first or last value beyond the ends."""
        at = age_days * self.steps_per_day
        i = int(at)
        dry = self.dry
        if at <= 0.0:
            return dry[0]
        if i + 1 >= len(dry):
            return dry[-1]
        low = dry[i]
        return low + (at - i) * (dry[i + 1] - low)

    def age_days(self, dry_g: float) -> float:
        """Age (days) at which a plant of this curve has `dry_g`; 0 or the last age beyond the ends."""
        dry = self.dry
        i = bisect_right(dry, dry_g)
        if i == 0:
            return 0.0
        if i == len(dry):
            return self.last_days
        low = dry[i - 1]
        return (i - 1 + (dry_g - low) / (dry[i] - low)) * self.step_days

    def water_ml(self, age_days: float) -> float:
        """Water given off since germination (mL); beyond the last age the last day's rate goes on."""
        at = age_days * self.steps_per_day
        i = int(at)
        water_ml = self.water
        if at <= 0.0:
            return 0.0
        if i + 1 >= len(water_ml):
            if len(water_ml) == 1:
                return 0.0
            i = len(water_ml) - 2
        low = water_ml[i]
        return low + (at - i) * (water_ml[i + 1] - low)

    def water_and_rate(self, age_days: float) -> tuple[float, float]:
        """(water given off since germination in mL, mL a day at this age): `water_ml` and its slope in one look."""
        at = age_days * self.steps_per_day
        water_ml = self.water
        i = int(at)
        if i + 1 >= len(water_ml):
            if len(water_ml) == 1:
                return 0.0, 0.0
            i = len(water_ml) - 2
        low = water_ml[i]
        step = water_ml[i + 1] - low
        return low + (at - i) * step, step * self.steps_per_day


@lru_cache(maxsize=4096)
def base_curve(plants_per_m2: float, seedling_dry_g: float, environment: Environment) -> MassCurve:
    """The curve at growth rate 1: van Henten's model for a square meter of `plants_per_m2`, per plant.

    A growth day is the light hours, then the dark. Only what a whole day gains counts, so the curve rises smoothly
    through day and night; it ends when a day gains less than 0.01 %, at most after 150 days. A seedling that gains
    nothing under these conditions gives a curve of one point.
    """
    e = environment
    light = lettuce.rates(lettuce.par_w_m2(e.ppfd_umol_m2_s), e.air_temperature_c, e.co2_ppm)
    dark = lettuce.rates(0.0, e.air_temperature_c, e.co2_ppm)
    light_hours = min(24.0, max(0.0, e.light_hours))
    parts = (
        (light, e.ppfd_umol_m2_s, light_hours, lettuce.LIGHT_STEPS_PER_DAY),
        (dark, 0.0, 24.0 - light_hours, lettuce.DARK_STEPS_PER_DAY),
    )
    total = plants_per_m2 * seedling_dry_g
    sugar, structure = SUGAR_FRACTION_OF_SEEDLING * total, (1.0 - SUGAR_FRACTION_OF_SEEDLING) * total
    dry, drunk = [seedling_dry_g], [0.0]
    for _ in range(LONGEST_CURVE_DAYS):
        water_g_m2 = 0.0
        for now, ppfd, hours, steps in parts:
            if hours <= 0.0:
                continue
            each = hours / steps
            for _ in range(steps):
                before = structure
                sugar, structure = lettuce.step(sugar, structure, now, each * lettuce.SECONDS_PER_HOUR)
                area = lettuce.leaf_area_index((before + structure) / 2.0)
                water_g_m2 += each * water.transpiration_g_m2_h(
                    area, ppfd, e.air_temperature_c, e.relative_humidity_percent
                )
        today = (sugar + structure) / plants_per_m2
        if today <= dry[-1] * (1.0 + SMALLEST_DAILY_GROWTH_FRACTION):
            break
        _append_day(dry, drunk, today, water_g_m2 / plants_per_m2)
    return MassCurve.from_grid(1.0 / POINTS_PER_DAY, tuple(dry), tuple(drunk))


def _append_day(dry: list[float], drunk: list[float], dry_at_end: float, water_ml: float) -> None:
    """Add a day to the grid: mass by equal ratios, so that straight lines between points stay close to true growth."""
    start, poured = dry[-1], drunk[-1]
    ratio = dry_at_end / start
    for k in range(1, POINTS_PER_DAY):
        share = k / POINTS_PER_DAY
        dry.append(start * ratio**share)
        drunk.append(poured + water_ml * share)
    dry.append(dry_at_end)
    drunk.append(poured + water_ml)


def paced(curve: MassCurve, growth_rate: float) -> MassCurve:
    """The same growth with the clock running `growth_rate` times as fast.

    Ages shrink by that factor, masses stay. A plant of a given mass transpires per real day as before, so the water
    given off on the way to that mass shrinks by the same factor. Raises ValueError for a rate not above 0.
    """
    if growth_rate <= 0.0:
        raise ValueError(f"a growth rate must be above 0, not {growth_rate:g}")
    return MassCurve.from_grid(
        curve.step_days / growth_rate, curve.dry, tuple(drunk / growth_rate for drunk in curve.water)
    )


@lru_cache(maxsize=65536)
def growth_pace(now: Environment, setpoint: Environment) -> float:
    """How fast plants grow now, relative to the set-points (1): not below 0, not above 2.

    The ratio of the relative growth of structure (leaf and root) of a closed young canopy whose sugar is in balance
    (van Henten 1994): light and CO2 act through what it earns, warmth through that, through upkeep and through how
    fast it can build. Near the ratio of whole mass curves from seedling to harvest (tested). In a room too dim to keep
    a closed canopy alive a thinner one is judged; 0 where the set-points let nothing live.
    """
    leaf_area_index = YOUNG_CANOPY_LAI
    while leaf_area_index > THINNEST_CANOPY_LAI:
        planned = _balanced_growth_per_s(setpoint, leaf_area_index)
        if planned > 0.0:
            return min(FASTEST_PACE, _balanced_growth_per_s(now, leaf_area_index) / planned)
        leaf_area_index /= 2.0
    return 0.0


@lru_cache(maxsize=65536)
def water_pace(now: Environment, setpoint: Environment) -> float:
    """How fast plants drink now, relative to the set-points (1): ratio of a day's transpiration, same young canopy."""
    planned = _daily_water_g_m2(setpoint)
    return _daily_water_g_m2(now) / planned if planned > 0.0 else 0.0


def _balanced_growth_per_s(environment: Environment, leaf_area_index: float) -> float:
    """Relative growth of structure (1/s) of a canopy whose sugar keeps step with it; 0 if it starves.

    With z = Xn/Xs steady, both states grow at r = g z/(c + z), van Henten's growth rate, and what is earned per gram
    of structure, a, pays for both: a = r (1/c_beta + z). Put together: z² + (1/c_beta - a/g) z - c a/g = 0.
    """
    e = environment
    structural = leaf_area_index / lettuce.leaf_area_index(1.0)
    light = lettuce.rates(lettuce.par_w_m2(e.ppfd_umol_m2_s), e.air_temperature_c, e.co2_ppm)
    dark = lettuce.rates(0.0, e.air_temperature_c, e.co2_ppm)
    by_day, by_night = lettuce.slopes(0.0, structural, light)[0], lettuce.slopes(0.0, structural, dark)[0]
    lit = e.light_hours / 24.0
    earned_per_s = (lit * by_day + (1.0 - lit) * by_night) / structural
    if earned_per_s <= 0.0:
        return 0.0
    a = earned_per_s / light.growth_per_s
    b = light.growth_cost - a
    z = (math.sqrt(b * b + 4.0 * light.growth_half * a) - b) / 2.0
    return light.growth_per_s * z / (light.growth_half + z)


def _daily_water_g_m2(environment: Environment) -> float:
    """Water a closed young canopy gives off in a day (g/m²)."""
    e = environment
    return math.fsum(
        [
            hours * water.transpiration_g_m2_h(YOUNG_CANOPY_LAI, ppfd, e.air_temperature_c, e.relative_humidity_percent)
            for ppfd, hours in ((e.ppfd_umol_m2_s, e.light_hours), (0.0, 24.0 - e.light_hours))
        ]
    )
