"""Harvest: plants of one lot differ; which are big enough, and what those weigh.

Masses are lognormal with a given mean and coefficient of variation (sd/mean). Formulas of the lognormal distribution:
sigma² = ln(1 + cv²), mu = ln(mean) - sigma²/2, and its partial expectation (any handbook, e.g. Johnson, Kotz &
Balakrishnan 1994, *Continuous Univariate Distributions* vol. 1, from memory).
"""

from __future__ import annotations

import math


def share_above(threshold_g: float, mean_g: float, cv: float) -> float:
    """Share of plants at or above `threshold_g` (0..1). Raises ValueError for a mean not above 0 or a negative cv."""
    return share_and_mean_above(threshold_g, mean_g, cv)[0]


def mean_above(threshold_g: float, mean_g: float, cv: float) -> float:
    """Mean mass (g) of those plants at or above `threshold_g`.

    Where none is (to the last digit), the threshold itself: the limit. Raises ValueError as `share_above`.
    """
    return share_and_mean_above(threshold_g, mean_g, cv)[1]


def share_and_mean_above(threshold_g: float, mean_g: float, cv: float) -> tuple[float, float]:
    """(`share_above`, `mean_above`) in one go."""
    _check(mean_g, cv)
    if threshold_g <= 0.0:
        return 1.0, mean_g
    if cv == 0.0:
        return (1.0, mean_g) if mean_g >= threshold_g else (0.0, threshold_g)
    sigma = math.sqrt(math.log1p(cv * cv))
    at, half_variance = math.log(threshold_g / mean_g), sigma * sigma / 2.0
    share = _upper_tail((at + half_variance) / sigma)
    if share == 0.0:
        return share, threshold_g
    mass_share = _upper_tail((at - half_variance) / sigma)
    return share, max(threshold_g, mean_g * mass_share / share)


def _check(mean_g: float, cv: float) -> None:
    if mean_g <= 0.0 or cv < 0.0:
        raise ValueError("a mean mass must be above 0 and its spread not below 0")


def _upper_tail(z: float) -> float:
    """Chance that a standard normal value exceeds z."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))
