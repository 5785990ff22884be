"""Harm: what drought, heat and wrong feed do to plants.

The shapes here are assumptions of common practice with no published curve behind them; the half-way doses are the
planner's own figures. Treat absolute hours as an assumption, comparisons as the use.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from growsim.vocabulary.losses import COLD, HEAT, Loss

if TYPE_CHECKING:
    from collections.abc import Iterable

    from growsim.growth.air import Drift
    from growsim.scenario.crop import Crop

PLUG_WATER_FRACTION: Final = 0.80
"""Water in a drained mineral-wool plug as a share of its volume; supplier-style technical page on slabs at field
capacity (80 % solution, 15 % air, 5 % fiber)."""

STRESS_BELOW_FRACTION: Final = 0.30
"""Plants suffer once less than this share of the plug's water is left: wool gives up 50-70 % with little rise in
tension (same page). An assumption where in that band it lies."""

EC_NO_GROWTH_FACTOR: Final = 3.0
"""Growth stops at this many times the highest good strength (assumption, no source)."""

LOSS_SHAPE: Final = 2.0


def surviving_fraction(dose: float, half_loss_dose: float, shape: float = LOSS_SHAPE) -> float:
    """Share of plants alive after `dose` (hours dry, degree-hours too warm): exp(-ln 2 (dose/half)^shape).

    A Weibull curve through one half at `half_loss_dose`. Shape 2, slow start then steep: common practice, no source.
    Raises ValueError where the half-loss dose or the shape is not above 0.
    """
    if half_loss_dose <= 0.0 or shape <= 0.0:
        raise ValueError("the dose that kills half, and the shape of the curve, must be above 0")
    if dose <= 0.0:
        return 1.0
    # In logarithms, so that a dose a million times the half-way one is 0 and not an overflow.
    exponent = shape * (math.log(dose) - math.log(half_loss_dose))
    return 0.0 if exponent > 10.0 else math.exp(-math.log(2.0) * math.exp(exponent))


@dataclass(frozen=True, slots=True)
class AirHarm:
    """How air past a limit of a crop harms it. loss: the fate of those it kills. is_below: harm is done below the
    limit, else above it."""

    loss: Loss
    is_below: bool

    def limit_c(self, crop: Crop) -> float:
        """Air past this harms the crop (°C)."""
        return crop.cold_limit_c if self.is_below else crop.heat_limit_c

    def half_loss(self, crop: Crop) -> float:
        """Degree-hours past the limit that kill half."""
        return crop.cold_half_loss_degree_hours if self.is_below else crop.heat_half_loss_degree_hours

    def past(self, air_c: float, limit_c: float) -> float:
        """Degrees past a limit; 0 where it is not passed."""
        return max(0.0, limit_c - air_c if self.is_below else air_c - limit_c)

    def degree_hours(self, drift: Drift, limit_c: float) -> float:
        """Degree-hours past a limit in a spell of drifting air; never below 0."""
        minutes = drift.degree_minutes_below(limit_c) if self.is_below else drift.degree_minutes_above(limit_c)
        return max(0.0, minutes) / 60.0


HEAT_HARM: Final = AirHarm(HEAT, is_below=False)
COLD_HARM: Final = AirHarm(COLD, is_below=True)
AIR_HARMS: Final = (HEAT_HARM, COLD_HARM)
"""All that air does to plants."""


def surviving_air(crop: Crop, doses: Iterable[tuple[AirHarm, float]]) -> float:
    """Share of plants alive after a spell of air: each harm, with its degree-hours, strikes whom the others left."""
    alive = 1.0
    for harm, degree_hours in doses:
        alive *= surviving_fraction(degree_hours, harm.half_loss(crop))
    return alive


def plug_hours(plug_volume_ml: float, water_ml_per_hour: float) -> tuple[float, float]:
    """(hours to stress, hours to empty) of a freshly flooded plug that loses `water_ml_per_hour`.

    Water held is 0.80 of the volume; stress begins at 0.30 of that. Infinite where nothing is drunk.
    """
    store_ml = PLUG_WATER_FRACTION * plug_volume_ml
    if water_ml_per_hour <= 0.0:
        return math.inf, math.inf
    empty = store_ml / water_ml_per_hour
    return (1.0 - STRESS_BELOW_FRACTION) * empty, empty


def ec_pace(ec_ms_cm: float, lowest_ms_cm: float, highest_ms_cm: float) -> float:
    """Pace of growth (0..1) at a strength of solution: 1 within the good band, straight down to 0 outside.

    0 at plain water and at three times the highest good strength. An assumption (no source for the slopes).
    """
    if ec_ms_cm < lowest_ms_cm:
        return max(0.0, ec_ms_cm / lowest_ms_cm)
    if ec_ms_cm > highest_ms_cm:
        over = (ec_ms_cm - highest_ms_cm) / ((EC_NO_GROWTH_FACTOR - 1.0) * highest_ms_cm)
        return max(0.0, 1.0 - over)
    return 1.0
