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
# Log sd of a sowing's mean mass besides its speed. The room knows no other reason for sowings to differ, so what chance
# among plants and trays adds is put down to speed, as the room will have it.
ROUGHNESS = 0.01


@dataclass(frozen=True)
class Ripening:
    """One sowing that was cut, seen with each of the masses a plant may have (`masses`: logs, times the typical).

    windows: how likely its day of cutting is, by mass, lateness and speed. relative: how heavy its plants would be
    against that mass, by mass and speed. mass: of a plant before trimming, against the typical; None where it was not
    weighed. doubt: its log sd.
    """

    row: TrayRow
    masses: np.ndarray
    windows: np.ndarray
    relative: np.ndarray
    mass: float | None
    doubt: float

    def unweighed(self) -> Ripening:
        """The same sowing, its mass not believed."""
        return replace(self, mass=None, doubt=math.inf)


def ripening_of(curves: Sequence[tuple[float, PlanCurve]], row: TrayRow) -> Ripening | None:
    """What a row says of growth; None where it was not cut, or is a later cut."""
    if row.cut is None or row.cut_number != 1 or not curves:
        return None
    first = curves[0][1]
    crop = first.crop
    days = first.cutting_days(row.cut, LOOKS_BACK + 1)
    if not days:
        return None
    at_cut = first.growing_days(row.sown, row.moved, first.at_work(row.cut))
    mornings = [
        first.growing_days(row.sown, row.moved, dt.datetime.combine(day, dt.time()))
        for day in days
        if day > first.last_move(row.sown, row.moved)  # not looked at before its last move
    ]
    is_cut_off = len(mornings) < len(days)
    windows = [_window(curve, mornings, is_cut_off) for _, curve in curves]
    typical = crop.typical_mass_g.expected() / curves[0][0]
    mass, doubt = None, math.inf
    if row.grams and row.plants:
        chosen = mean_above(crop.smallest_mass_fraction, 1.0, crop.mass_spread_cv)
        mass = row.grams / row.plants / (1 - crop.trimmed_fraction) / chosen / typical
        doubt = math.hypot(ROUGHNESS, 0.3 / row.grams)
    relative = np.array([curve.relative_mass(SPEEDS, at_cut) for _, curve in curves])
    return Ripening(row, np.log([times for times, _ in curves]), np.array(windows), relative, mass, doubt)


def _window(curve: PlanCurve, mornings: Sequence[tuple[float, ...]], is_cut_off: bool) -> np.ndarray:
    """How likely the day of cutting is, for each lateness and speed. mornings: days of growing at each cutting day, the
    latest first. is_cut_off: before the last of them nobody looked."""
    threshold = curve.crop.cut_from_mass_fraction
    ripe_from = [_speed_at(curve.relative_mass(SPEEDS, growing), threshold) for growing in mornings]
    if is_cut_off:
        ripe_from.append(math.inf)
    window = np.full((len(LATE_CHANCES), SPEEDS.size), BEFORE_RIPE)
    for i, late in enumerate(LATE_CHANCES):
        for k in range(len(ripe_from) - 1):
            window[i] += (1 - late) * late**k * _between(ripe_from[k], ripe_from[k + 1])
        if ripe_from and math.isfinite(ripe_from[-1]):
            window[i] += late ** (len(ripe_from) - 1) * _between(ripe_from[-1], math.inf)
    return window


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
    a, b = (math.log(end) if 0 < end < math.inf else (-math.inf if end <= 0 else math.inf) for end in (low, high))
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
    nodes = sowings[0].masses if sowings else np.zeros(1)
    windows = np.array([sowing.windows for sowing in sowings])  # sowing, mass, lateness, speed
    weighed = np.array([sowing.mass is not None for sowing in sowings], dtype=bool)
    log_weighed = np.array([math.log(sowing.mass) if sowing.mass else 0.0 for sowing in sowings])
    log_curves = np.array([np.log(sowing.relative) for sowing in sowings])  # sowing, mass, speed
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
            below, share = _node(nodes, log_mass)
            window = (1 - share) * windows[:, below] + share * windows[:, below + 1]
            log_curve = (1 - share) * log_curves[:, below] + share * log_curves[:, below + 1]
            off = (log_weighed[:, None] - log_mass - log_curve) / doubts[:, None]
            says = np.where(weighed[:, None], np.exp(-0.5 * np.minimum(off**2, 700.0)), 1.0)
            by_lateness = [
                np.log(np.maximum(flat @ (window[:, i] * says).T, 1e-300)).sum(axis=1) for i in range(len(LATE_CHANCES))
            ]
            logs[:, :, k] += np.logaddexp.reduce(by_lateness, axis=0).reshape(paces.size, spreads.size)
        return logs

    axes = (
        Axis(pace_at - 5 * pace_sd, pace_at + 5 * pace_sd, 25, -0.6, 0.5),
        Axis(spread_at - 2.0, spread_at + 2.0, 9),
        Axis(mass_at - 6 * mass_sd, mass_at + 6 * mass_sd, 25),
    )
    return posterior(log_density, axes), posterior(log_prior, axes)


def _node(nodes: np.ndarray, at: float) -> tuple[int, float]:
    """The node below a value, and how far it lies towards the next; the ends are held."""
    if nodes.size == 1:
        raise ValueError("growth needs curves for two masses at least")
    below = int(np.clip(np.searchsorted(nodes, at) - 1, 0, nodes.size - 2))
    return below, float(np.clip((at - nodes[below]) / (nodes[below + 1] - nodes[below]), 0.0, 1.0))
