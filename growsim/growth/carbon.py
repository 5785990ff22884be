"""CO2 that plants take up and breathe out, by the balance of the lettuce model.

Van Henten 1994 (see `lettuce`): of each gram of CO2 that is fixed, 30/44 g are sugar (CH2O). Sugar goes into new
structure (a gram of it takes 1/0.8 g, the fifth that is lost is breathed out), into upkeep (breathed out) or stays as
sugar. So whatever happens in between, a gram of dry mass gained is 44/30 g of CO2 gone from the air for good; in the
light plants take up more, and give some of it back in the dark.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from growsim.growth import lettuce
from growsim.growth.curves import LONGEST_CURVE_DAYS, SUGAR_FRACTION_OF_SEEDLING, Environment

CO2_G_PER_G_DRY: Final = 1.0 / lettuce.STANDARD.sugar_per_co2
"""Grams of CO2 gone from the air for each gram of dry mass gained: 44/30, as the model rounds it (1/0.68)."""


@dataclass(frozen=True, slots=True)
class Exchange:
    """Grams of CO2: fixed in the light, and breathed out in the light and in the dark."""

    fixed_g: float = 0.0
    breathed_in_light_g: float = 0.0
    breathed_in_dark_g: float = 0.0

    @property
    def net_g(self) -> float:
        """What is gone from the air for good."""
        return self.fixed_g - self.breathed_in_light_g - self.breathed_in_dark_g

    @property
    def net_in_light_g(self) -> float:
        """What is taken from the air while the lights are on."""
        return self.fixed_g - self.breathed_in_light_g

    def plus(self, other: Exchange, times: float = 1.0) -> Exchange:
        """This and `times` the other together."""
        return Exchange(
            self.fixed_g + times * other.fixed_g,
            self.breathed_in_light_g + times * other.breathed_in_light_g,
            self.breathed_in_dark_g + times * other.breathed_in_dark_g,
        )


def exchange_between(
    from_dry_g: float, to_dry_g: float, plants_per_m2: float, seedling_dry_g: float, environment: Environment
) -> Exchange:
    """CO2 (g a plant) on the way from one dry mass (g a plant) to another at one spacing under one set of conditions.

    How fast a crop's own pace makes it go this way changes nothing: all of it is stretched alike. Where the plant never
    gets so heavy, what it exchanges per gram on its last day is taken for the rest.
    """
    days = _days(plants_per_m2, seedling_dry_g, environment)
    if to_dry_g <= from_dry_g or not days:
        return Exchange()
    total = Exchange()
    last = days[-1]
    for day in days:
        begin, end = max(from_dry_g, day.from_dry_g), min(to_dry_g, day.to_dry_g)
        if end > begin:
            total = total.plus(day.exchange, (end - begin) / (day.to_dry_g - day.from_dry_g))
    beyond = to_dry_g - max(from_dry_g, last.to_dry_g)
    return total.plus(last.exchange, beyond / (last.to_dry_g - last.from_dry_g)) if beyond > 0.0 else total


@dataclass(frozen=True, slots=True)
class _Day:
    """A day of one plant's growth: dry mass (g) at its start and end, CO2 exchanged in it."""

    from_dry_g: float
    to_dry_g: float
    exchange: Exchange


@lru_cache(maxsize=1024)
def _days(plants_per_m2: float, seedling_dry_g: float, environment: Environment) -> tuple[_Day, ...]:
    """Day after day from germination until a plant gains no more, at growth rate 1; the steps are those of its
    curve.
    """
    e = environment
    light = lettuce.rates(lettuce.par_w_m2(e.ppfd_umol_m2_s), e.air_temperature_c, e.co2_ppm)
    dark = lettuce.rates(0.0, e.air_temperature_c, e.co2_ppm)
    total = plants_per_m2 * seedling_dry_g
    sugar, structure = SUGAR_FRACTION_OF_SEEDLING * total, (1.0 - SUGAR_FRACTION_OF_SEEDLING) * total
    days: list[_Day] = []
    for _ in range(LONGEST_CURVE_DAYS):
        start = sugar + structure
        breathed = []
        for now, hours, steps in (
            (light, e.light_hours, lettuce.LIGHT_STEPS_PER_DAY),
            (dark, 24.0 - e.light_hours, lettuce.DARK_STEPS_PER_DAY),
        ):
            sugar, structure, breathed_g = _through(sugar, structure, now, hours, steps)
            breathed.append(breathed_g / plants_per_m2)
        gained = (sugar + structure - start) / plants_per_m2
        if gained <= 0.0:
            break
        fixed = gained * CO2_G_PER_G_DRY + math.fsum(breathed)
        days.append(_Day(start / plants_per_m2, start / plants_per_m2 + gained, Exchange(fixed, *breathed)))
    return tuple(days)


def _through(
    sugar: float, structure: float, now: lettuce.Rates, hours: float, steps: int
) -> tuple[float, float, float]:
    """(sugar, structure) in g/m² after so many hours, and g CO2/m² breathed out meanwhile: growing and upkeep."""
    breathed = 0.0
    seconds = hours * lettuce.SECONDS_PER_HOUR / steps
    for _ in range(steps if hours > 0.0 else 0):
        before = structure
        sugar, structure = lettuce.step(sugar, structure, now, seconds)
        growing = (now.growth_cost - 1.0) * (structure - before)
        upkeep = now.respiration_per_s * seconds * (before + structure) / 2.0
        breathed += (growing + upkeep) * CO2_G_PER_G_DRY
    return sugar, structure, breathed
