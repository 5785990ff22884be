"""How fast a crop grows in this room, how much sowings differ in that, and how heavy its plants come out.

A sowing grows at its own speed (lognormal about the room's pace). It is harvested on the first harvest day on which it
is ripe, unless hands were short: then on a later one. So the harvest day says between which speeds it lay, and the mass
of its plants says it again, once it is known how heavy this crop comes out. Both are read on the room's own growth
curve; the sowing's speed is summed out on a grid (Bayes' rule; an interval-censored survival model in its first half,
as in Klein & Moeschberger 2003, *Survival Analysis*, sec. 3.5, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import interpolate, special

from growsim.growth.harvest import mean_above
from growsim.scenario.record.record import PlantingRow
from growsim.study.learn.curve import FLATTEST, PlanCurve
from growsim.study.learn.grid import Axis, Posterior, posterior
from growsim.study.learn.pasts import Past, Pasts
from growsim.study.learn.prior import Prior

SPEEDS = np.exp(np.linspace(math.log(0.3), math.log(3.0), 461))  # where a curve is looked up, times the planned speed
_LOG_SPEEDS = np.log(SPEEDS)
LOOKS_BACK = 5  # harvest days by which hands may have been late
LATE_CHANCES = (0.005, 0.03, 0.12, 0.35)  # chance that a ripe sowing waits for the next harvest day
BEFORE_RIPE = 1e-3  # chance that somebody harvests an unripe sowing
NEVER = 9.0  # log of a speed that no sowing has
SPREAD_LOG_SD = 0.5
PACE_LOG_SD = 0.08  # at least so much is not known of the pace of a crop in a room
# Log sd of a sowing's recorded mass besides its speed: the scale and the draining. The room knows no other reason for
# sowings to differ, so what chance among plants and trays adds is put down to speed, as the room will have it.
ROUGHNESS = 0.01
# Now and then a sowing fares apart from its own speed (a part of it moved days late, a dry reservoir, a hot night): so
# many of them, by so much more (log sd of speed). Without this a few such would be taken for a crop that differs much.
APART_SHARE, APART_LOG_SD = 0.05, 0.07
_LATENESS = np.array([[(1 - late) * late**k for k in range(LOOKS_BACK + 1)] for late in LATE_CHANCES])


@dataclass(frozen=True)
class Way:
    """What a sowing that was harvested says of its speed if it lived in one of the ways open (`learn_pasts`), with each
    of the masses a plant may have. chance: of that way, before the plants are looked at.

    Speeds are logarithms, against the planned speed. ripe_from: shape (masses, harvest days), the least speed with
    which it would have been ripe on the day it was harvested, on the harvest day before, and so on; NEVER where nobody
    could have harvested it. speed: with which it came to weigh what it weighed, by mass; None where it was not weighed.
    weighing: log sd of that speed by the scale alone, by mass. unlike: by what else those who lived that way may differ
    in.
    """

    chance: float
    ripe_from: np.ndarray
    speed: np.ndarray | None
    weighing: np.ndarray
    unlike: float = 0.0

    @property
    def doubt(self) -> np.ndarray:
        """Log sd of the speed, by mass."""
        doubt: np.ndarray = np.hypot(self.weighing, self.unlike)
        return doubt


@dataclass(frozen=True)
class Ripening:
    """One sowing that was harvested. masses: those a plant may have, logs, times the typical. ways: all in which it may
    have lived; of a row with every date, in a room whose lights are alike, that is one."""

    row: PlantingRow
    masses: np.ndarray
    ways: tuple[Way, ...]

    @property
    def is_weighed(self) -> bool:
        """Whether its mass is known and believed."""
        return self.ways[0].speed is not None

    def unweighed(self) -> Ripening:
        """The same sowing, its mass not believed."""
        return replace(self, ways=tuple(replace(way, speed=None) for way in self.ways))


def ripening_of(curves: Sequence[tuple[float, PlanCurve]], row: PlantingRow, pasts: Pasts) -> Ripening | None:
    """What a row says of growth; None where it was not harvested, or is a later harvest."""
    if row.harvested is None or row.harvest_number != 1 or not curves:
        return None
    days = pasts.work.harvest_days(row.harvested, LOOKS_BACK + 1)
    if not days:
        return None
    masses = np.log([times for times, _ in curves])
    ways = tuple(_way(curves, masses, row, past) for past in pasts.of(row, days))
    return Ripening(row, masses, ways)


def _way(curves: Sequence[tuple[float, PlanCurve]], masses: np.ndarray, row: PlantingRow, past: Past) -> Way:
    crop = curves[0][1].crop
    mornings = [growing for growing in past.mornings if growing is not None]  # not looked at before the last move
    ripe_from = np.full((masses.size, LOOKS_BACK + 2), NEVER)
    for i, (_, curve) in enumerate(curves):
        for k, growing in enumerate(mornings):
            ripe_from[i, k] = _speed_at(
                curve.relative_mass(SPEEDS, growing), math.log(crop.harvest_from_mass_fraction)
            )[0]
    speed, slope = None, np.ones(masses.size)
    if row.grams and row.plants:
        chosen = mean_above(crop.smallest_mass_fraction, 1.0, crop.mass_spread_cv)
        typical_g = crop.typical_mass_g.expected() / curves[0][0]
        log_mass = math.log(row.grams / row.plants / (1 - crop.trimmed_fraction) / chosen / typical_g)
        found = [
            _speed_at(curve.relative_mass(SPEEDS, past.until_harvest), log_mass - at)
            for at, (_, curve) in zip(masses, curves, strict=True)
        ]
        speed, slope = (np.array(column) for column in zip(*found, strict=True))
    weighing = math.hypot(ROUGHNESS, 0.3 / row.grams if row.grams else 0.0) / slope
    return Way(past.chance, ripe_from, speed, weighing, past.unlike)


def _speed_at(masses: np.ndarray, log_mass: float) -> tuple[float, float]:
    """Log of the speed that gives a mass, between points by straight lines, and how fast log mass rises with it there.

    masses: with each of SPEEDS. Held at the ends, which lie far beyond any sowing."""
    logs = np.log(masses)
    at = int(np.clip(np.searchsorted(logs, log_mass), 1, logs.size - 1))
    step = _LOG_SPEEDS[at] - _LOG_SPEEDS[at - 1]
    slope = max(float((logs[at] - logs[at - 1]) / step), FLATTEST)
    beyond = min(max((log_mass - logs[at - 1]) / slope, 0.0), step)
    return float(_LOG_SPEEDS[at - 1] + beyond), slope


def learn_growth(
    sowings: Sequence[Ripening], pace: Prior, spread_cv: float, mass: Prior
) -> tuple[Posterior, Posterior]:
    """Posterior on (log pace, log spread, log of mass against the typical), and the prior on the same axes.

    pace, mass: priors of factors about 1. spread_cv: of speed between sowings, as the room file has it.
    """
    pace_sd, mass_sd = (math.sqrt(math.log1p((prior.sd / prior.mean) ** 2)) for prior in (pace, mass))
    pace_at, mass_at = math.log(pace.mean) - pace_sd**2 / 2, math.log(mass.mean) - mass_sd**2 / 2
    spread_at = math.log(max(spread_cv, 0.01))
    seen = _Seen(sowings) if sowings else None

    def log_prior(values: tuple[np.ndarray, ...]) -> np.ndarray:
        paces, spreads, masses = values
        logs: np.ndarray = (
            -0.5 * ((paces[:, None, None] - pace_at) / pace_sd) ** 2
            - 0.5 * ((spreads[None, :, None] - spread_at) / SPREAD_LOG_SD) ** 2
            - 0.5 * ((masses[None, None, :] - mass_at) / mass_sd) ** 2
        )
        return logs

    def log_density(values: tuple[np.ndarray, ...]) -> np.ndarray:
        return log_prior(values) + _log_likelihood(seen, *values) if seen else log_prior(values)

    axes = (
        Axis(pace_at - 5 * pace_sd, pace_at + 5 * pace_sd, 25, -0.6, 0.5),
        Axis(spread_at - 2.0, spread_at + 2.0, 9),
        Axis(mass_at - 6 * mass_sd, mass_at + 6 * mass_sd, 25),
    )
    return posterior(log_density, axes), posterior(log_prior, axes)


def _log_likelihood(seen: _Seen, paces: np.ndarray, spreads: np.ndarray, masses: np.ndarray) -> np.ndarray:
    """Of all sowings, shape (paces, spreads, masses)."""
    sds = np.sqrt(np.log1p(np.exp(2 * spreads)))[None, :, None]
    centers = paces[:, None, None] - sds**2 / 2  # lognormal with mean exp(pace)
    fared_apart = np.sqrt(sds**2 + APART_LOG_SD**2)
    logs = np.zeros((len(LATE_CHANCES), paces.size, spreads.size, masses.size))
    for sowing in seen.at(masses):
        chance: np.ndarray | float = 0.0
        for way, (speed, log_weighing, *ripe_from) in sowing:
            told = (speed, np.exp(log_weighing), way.unlike) if way.speed is not None else None
            says = np.array(ripe_from)[:, None, None, :], told
            alike, apart = _chance(centers, sds, *says), _chance(centers, fared_apart, *says)
            chance = chance + way.chance * ((1 - APART_SHARE) * alike + APART_SHARE * apart)
        logs += np.log(np.maximum(chance, 1e-300))
    summed: np.ndarray = np.logaddexp.reduce(logs, axis=0)
    return summed


def _chance(
    center: np.ndarray, sd: np.ndarray, ripe_from: np.ndarray, told: tuple[np.ndarray, np.ndarray, float] | None
) -> np.ndarray:
    """Of what one sowing did, by lateness; the log of its speed is normal.

    told: speed its weight tells of, the log sd of that by the scale, and by what else it may have lived through. That
    is normal too, so given both the speed is normal again, and the chance of the harvest day is a sum of areas under
    that curve.
    """
    density: np.ndarray | float = 1.0
    if told is not None:
        speed, weighing, unlike = told
        doubt = np.hypot(weighing, unlike)
        both = sd**2 + doubt**2
        # The density of log mass is that of log speed times d(log speed)/d(log mass), which goes as the weighing.
        density = weighing * np.exp(-0.5 * (speed - center) ** 2 / both) / np.sqrt(both)
        center, sd = (center * doubt**2 + speed * sd**2) / both, sd * doubt / np.sqrt(both)
    slower = special.ndtr((ripe_from - center) / sd)  # chance that it was not yet ripe
    chance: np.ndarray = density * (BEFORE_RIPE + np.tensordot(_LATENESS, slower[1:] - slower[:-1], axes=1))
    return chance


class _Seen:
    """All sowings, looked up at any mass: smoothly between the masses whose curves are known."""

    def __init__(self, sowings: Sequence[Ripening]) -> None:
        self._sowings, self._masses = sowings, sowings[0].masses
        if self._masses.size < 2:
            raise ValueError("growth needs curves for two masses at least")
        columns = [
            np.column_stack([way.speed if way.speed is not None else 0 * self._masses, np.log(way.weighing),
                             way.ripe_from]) for sowing in sowings for way in sowing.ways
        ]  # fmt: skip
        self._between = interpolate.PchipInterpolator(self._masses, np.array(columns), axis=1)

    def at(self, masses: np.ndarray) -> list[list[tuple[Way, np.ndarray]]]:
        """Of every sowing its ways, each with an array of shape (columns, masses): speed, log of its sd by weighing,
        and what it was ripe from. Held at the ends."""
        held = np.clip(masses, self._masses[0], self._masses[-1])
        found = iter(np.moveaxis(self._between(held), 1, 2))
        return [[(way, next(found)) for way in sowing.ways] for sowing in self._sowings]
