"""A crop's plan as a curve: how heavy a plant of a given speed is on a given day, against its typical mass.

The room's own growth curves, at set-points, under the mean light of the shelves that may hold each stage. Speed 1 is as
planned. Days of growing are counted in hours of light, as the room counts them (`learn_pasts`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from growsim.growth.curves import base_curve, paced
from growsim.growth.germination import days_to_emerge
from growsim.growth.pace import Environments, calibrate, environments_at, plan_curve, plants_per_m2, seedling_dry_g
from growsim.scenario.crop import Crop, Stage
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain

FLATTEST = 0.2  # log mass against log speed, where a curve has all but levelled off
MASSES = tuple(np.exp(np.linspace(-0.625, 0.625, 11)))
"""Plants so many times as heavy as the typical one, for each of which the crop's curve is found again."""


def curves_by_mass(
    scenario: Scenario, crop: Crop, environments: Environments | None = None
) -> list[tuple[float, PlanCurve]]:
    """(times the typical mass, curve of a crop that heavy on its typical day). Masses that no pace reaches are left
    out; a heavier plant crowds its neighbors sooner, so its curve is not the lighter one's drawn out."""
    found = []
    for times in MASSES:
        typical = crop.typical_mass_g.expected() * float(times)
        heavier = crop.model_copy(update={"typical_mass_g": Uncertain(value=typical)})
        try:
            found.append(
                (float(times), PlanCurve(scenario, heavier, calibrate(heavier, scenario, environments), environments))
            )
        except ValueError:  # no pace gives such a plant at this light and spacing
            continue
    return found


class PlanCurve:
    """One crop in one room. growth_rate: its pace on the growth model's clock. environments: what the room's plants
    stand in, by light bank; as in a room without plants where none are given."""

    def __init__(
        self, scenario: Scenario, crop: Crop, growth_rate: float, environments: Environments | None = None
    ) -> None:
        self.crop, self._rate = crop, growth_rate
        self._environments = environments
        table = crop.emergence
        self.days_up = days_to_emerge(scenario.climate.air_temperature_c, table.temperature_c, table.days)
        self.stages = crop.stages_in_order()
        self._curves: list[tuple[np.ndarray, np.ndarray]] = []  # (ages, dry masses) of each stage
        for stage in self.stages:
            curve = paced(plan_curve(crop, scenario, stage, environments), growth_rate)
            self._curves.append((np.arange(len(curve.dry)) * curve.step_days, np.array(curve.dry)))
        self._typical_dry_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction

    def relative_mass(self, speeds: np.ndarray, growing_days: Sequence[float] | np.ndarray) -> np.ndarray:
        """Mass against the typical, for each speed, after these days of growing in each stage in turn."""
        dry = np.full(speeds.size, seedling_dry_g(self.crop))
        for (ages, masses), days in zip(self._curves, growing_days, strict=False):
            if days > 0:
                age = np.interp(dry, masses, ages) + days * speeds
                dry = np.maximum(dry, np.interp(age, ages, masses))
        relative: np.ndarray = dry / self._typical_dry_g
        return relative

    def pace_under(self, scenario: Scenario, stage: Stage, bank: str) -> float:
        """How fast plants grow in a stage under one light bank, against the mean light of the shelves that may hold it:
        over the masses they go through there by the plan. Crowded plants feel a brighter lamp more than seedlings."""
        dry, up = seedling_dry_g(self.crop), self.days_up
        for (ages, masses), each in zip(self._curves, self.stages, strict=True):
            days, up = max(0.0, each.days - up), max(0.0, up - each.days)
            age = float(np.interp(dry, masses, ages))
            if each.name != stage.name:
                dry = max(dry, float(np.interp(age + days, ages, masses)))
                continue
            density = plants_per_m2(scenario, stage)
            environments = environments_at(scenario) if self._environments is None else self._environments
            here = paced(base_curve(density, seedling_dry_g(self.crop), environments[bank]), self._rate)
            until = min(float(np.interp(age + days, ages, masses)), here.dry[-1])
            took = here.age_days(until) - here.age_days(dry)
            return (float(np.interp(until, masses, ages)) - age) / took if until > dry and took > 0.0 else 1.0
        raise ValueError(f"{self.crop.name} has no stage called {stage.name!r}")
