"""How fast a crop grows in this room, how much sowings differ in that, and how heavy its plants come out.

A sowing grows at its own speed (lognormal about the room's pace). It is cut on the first cutting day on which it is
ripe, unless hands were short: then on a later one. So the day of cutting says between which speeds it lay, and the mass
of its plants says it again, once it is known how heavy this crop comes out. Both are read on the room's own growth
curve; the sowing's speed is summed out on a grid (Bayes' rule; an interval-censored survival model in its first half,
as in Klein & Moeschberger 2003, *Survival Analysis*, sec. 3.5, from memory).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from growsim.growth.harvest import mean_above
from growsim.spec.records import TrayRow
from growsim.study.learn_curve import PlanCurve
from growsim.study.learn_grid import Axis, Posterior, posterior
from growsim.study.learn_prior import Prior

SPEEDS = np.exp(np.linspace(math.log(0.55), math.log(1.7), 121))
LOOKS_BACK = 5  # cutting days by which hands may have been late
LATE_CHANCES = (0.03, 0.12, 0.35)  # chance that a ripe sowing waits for the next cutting day
BEFORE_RIPE = 1e-3  # chance that somebody cuts an unripe sowing
SPREAD_LOG_SD = 0.5
PACE_LOG_SD = 0.08  # at least so much is not known of the pace of a crop in a room
ROUGHNESS = 0.02  # of a sowing's mass: trays are not alike in light and water


@dataclass(frozen=True)
class Ripening:
    """One sowing that was cut: for each speed of the grid, how likely its day of cutting is at each lateness, and how
    heavy its plants would be.

    mass: of a plant before trimming, against the typical; None where it was not weighed. doubt: its log sd.
    """

    row: TrayRow
    window: np.ndarray
    relative: np.ndarray
    mass: float | None
    doubt: float

    def unweighed(self) -> Ripening:
        """The same sowing, its mass not believed."""
        return replace(self, mass=None, doubt=math.inf)


def ripening_of(curve: PlanCurve, row: TrayRow) -> Ripening | None:
    """What a row says of growth; None where it was not cut, or is a later cut."""
    crop = curve.crop
    if row.cut is None or row.cut_number != 1:
        return None
    days = curve.cutting_days(row.cut, LOOKS_BACK + 1)
    if not days:
        return None
    last_move = curve.last_move(row.sown, row.moved)
    threshold = crop.cut_from_mass_fraction
    ripe_from = []  # the slowest speed that is ripe at the morning of each cutting day, the latest day first
    for day in days:
        if day <= last_move:
            ripe_from.append(math.inf)  # not looked at before its last move
            break
        midnight = dt.datetime.combine(day, dt.time())
        masses = curve.relative_mass(SPEEDS, curve.growing_days(row.sown, row.moved, midnight))
        ripe_from.append(_speed_at(masses, threshold))
    window = np.full((len(LATE_CHANCES), SPEEDS.size), BEFORE_RIPE)
    for i, late in enumerate(LATE_CHANCES):
        for k in range(len(ripe_from) - 1):
            window[i] += (1 - late) * late**k * _between(ripe_from[k], ripe_from[k + 1])
        if math.isfinite(ripe_from[-1]):
            window[i] += late ** (len(ripe_from) - 1) * _between(ripe_from[-1], math.inf)
    at_cut = curve.growing_days(row.sown, row.moved, curve.at_work(row.cut))
    grams, plants = row.grams, row.plants
    each, doubt = None, math.inf
    if grams and plants:
        chosen = mean_above(crop.smallest_mass_fraction, 1.0, crop.mass_spread_cv)
        each = grams / plants / (1 - crop.trimmed_fraction) / chosen / crop.typical_mass_g.expected()
        doubt = math.hypot(crop.mass_spread_cv / math.sqrt(plants), ROUGHNESS, 0.3 / grams)
    return Ripening(row, window, curve.relative_mass(SPEEDS, at_cut), each, doubt)


def _speed_at(masses: np.ndarray, threshold: float) -> float:
    """The speed at which the threshold is reached, between grid points by straight lines."""
    if masses[-1] < threshold:
        return math.inf
    if masses[0] >= threshold:
        return 0.0
    return float(np.exp(np.interp(threshold, masses, np.log(SPEEDS))))


def _between(low: float, high: float) -> np.ndarray:
    """For each cell of the grid of speeds, the share of it between two speeds (in logarithms)."""
    logs = np.log(SPEEDS)
    half = (logs[1] - logs[0]) / 2
    a = -np.inf if low <= 0 else math.log(low) if math.isfinite(low) else np.inf
    b = math.log(high) if math.isfinite(high) else np.inf
    inside: np.ndarray = np.clip((np.minimum(logs + half, b) - np.maximum(logs - half, a)) / (2 * half), 0.0, 1.0)
    return inside


def learn_growth(
    sowings: Sequence[Ripening], pace: Prior, spread_cv: float, mass: Prior
) -> tuple[Posterior, Posterior]:
    """Posterior on (log pace, log spread, log of mass against the typical), and the prior on the same axes.

    pace, mass: priors of factors about 1. spread_cv: of speed between sowings, as the room file has it.
    """
    typical_spread = max(spread_cv, 0.01)
    log_speeds = np.log(SPEEDS)
    pace_sd, mass_sd = (
        math.sqrt(math.log1p((pace.sd / pace.mean) ** 2)),
        math.sqrt(math.log1p((mass.sd / mass.mean) ** 2)),
    )
    pace_at, mass_at = math.log(pace.mean) - pace_sd**2 / 2, math.log(mass.mean) - mass_sd**2 / 2
    spread_at = math.log(typical_spread)
    windows = np.array([sowing.window for sowing in sowings]) if sowings else np.zeros((0, len(LATE_CHANCES), 1))
    weighed = np.array([sowing.mass is not None for sowing in sowings], dtype=bool)
    log_weighed = np.array([math.log(sowing.mass) if sowing.mass else 0.0 for sowing in sowings])
    log_curve = np.array([np.log(sowing.relative) for sowing in sowings]) if sowings else np.zeros((0, SPEEDS.size))
    doubts = np.array([sowing.doubt if sowing.mass else 1.0 for sowing in sowings])

    def log_prior(values: tuple[np.ndarray, ...]) -> np.ndarray:
        paces, spreads, masses = values
        logs: np.ndarray = (
            -0.5 * ((paces[:, None, None] - pace_at) / pace_sd) ** 2
            - 0.5 * ((spreads[None, :, None] - spread_at) / SPREAD_LOG_SD) ** 2
            - 0.5 * ((masses[None, None, :] - mass_at) / mass_sd) ** 2
        )
        return logs

    def log_density(values: tuple[np.ndarray, ...]) -> np.ndarray:
        logs = log_prior(values)
        if not sowings:
            return logs
        paces, spreads, masses = values
        # Chance of each speed, for each (pace, spread): lognormal with mean exp(pace) and that cv.
        log_sds = np.sqrt(np.log1p(np.exp(2 * spreads)))
        centres = paces[:, None] - (log_sds**2)[None, :] / 2
        z = (log_speeds[None, None, :] - centres[:, :, None]) / log_sds[None, :, None]
        chances = np.exp(-0.5 * z**2)
        chances /= chances.sum(axis=2, keepdims=True)
        flat = chances.reshape(-1, log_speeds.size)
        for k, log_mass in enumerate(masses):
            off = (log_weighed[:, None] - log_mass - log_curve) / doubts[:, None]
            says = np.where(weighed[:, None], np.exp(-0.5 * np.minimum(off**2, 700.0)), 1.0)
            by_lateness = [
                np.log(np.maximum(flat @ (windows[:, i] * says).T, 1e-300)).sum(axis=1)
                for i in range(len(LATE_CHANCES))
            ]
            logs[:, :, k] += np.logaddexp.reduce(by_lateness, axis=0).reshape(paces.size, spreads.size)
        return logs

    axes = (
        Axis(pace_at - 5 * pace_sd, pace_at + 5 * pace_sd, 25, -0.6, 0.5),
        Axis(spread_at - 2.0, spread_at + 2.0, 9),
        Axis(mass_at - 6 * mass_sd, mass_at + 6 * mass_sd, 25),
    )
    return posterior(log_density, axes), posterior(log_prior, axes)
