"""What the room file says, as a starting point: its mean, its spread, and how many records it counts for.

A range in a room file is taken half as wide again as it is written: ranges people give are too narrow (Lichtenstein,
Fischhoff & Phillips 1982, on calibration; from memory), and never counts for more than two records. A bare number
says nothing of its own doubt and is given a usual one. So a room's own record soon has the say. A named distribution is
taken at its word: somebody worked it out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import interpolate, stats

from growsim.scenario.uncertain import Uncertain
from growsim.study.job_minutes import moments
from growsim.study.learn.learned import HIGH, LOW, Known

MOST_RECORDS = 2.0
WIDER = 1.5
FINER = 20  # points between two of the grid, for reading off its ranges


@dataclass(frozen=True)
class Prior:
    """Mean and standard deviation before any record, and how many records that counts for."""

    mean: float
    sd: float
    weight: float


def prior_of(figure: Uncertain, record_sd: float, bare_sd: float, *, center: float = 1.0) -> Prior:
    """The room file's figure as a prior, in units of `center` (1: its own).

    record_sd: spread of what one record says about it; it turns a spread into a number of records. bare_sd: doubt of a
    bare number.
    """
    mean, sd = (moment / center for moment in moments(figure))
    if figure.distribution == "fixed":
        sd = bare_sd
    elif figure.distribution in ("range", "uniform"):
        sd = max(WIDER * sd, record_sd / math.sqrt(MOST_RECORDS))
    sd = max(sd, 1e-9)
    return Prior(mean, sd, (record_sd / sd) ** 2)


def known_from(values: np.ndarray, weights: np.ndarray) -> Known:
    """What weighted values say: from a posterior on a grid, weights on its points in order (values may fall).

    Between the points the logarithm of the weight goes on smoothly (monotone cubics; straight lines in the summed
    weights would make a range too wide where the points lie a standard deviation apart).
    """
    at, fine = np.arange(len(values)), np.linspace(0, len(values) - 1, FINER * (len(values) - 1) + 1)
    v = interpolate.pchip_interpolate(at, np.asarray(values, dtype=float), fine)
    w = np.exp(interpolate.pchip_interpolate(at, np.log(np.maximum(weights / np.max(weights), 1e-15)), fine))
    order = np.argsort(v)
    v, w = v[order], w[order] / w.sum()
    reached = np.cumsum(w) - w / 2.0
    mean = float((v * w).sum())
    sd = float(np.sqrt(max(0.0, ((v - mean) ** 2 * w).sum())))
    q = [float(np.interp(p, reached, v)) for p in (0.025, LOW, 0.5, HIGH, 0.975)]
    return Known(mean, sd, *q)


def wider(known: Known, extra: float) -> Known:
    """What the model itself leaves out (a standard deviation), added to a figure that records have narrowed."""

    def out(q: float, z: float) -> float:
        return known.middle + math.copysign(math.hypot(q - known.middle, z * extra), q - known.middle)

    return Known(
        known.mean, math.hypot(known.sd, extra), out(known.q025, 1.96), out(known.low, 1.2816), known.middle,
        out(known.high, 1.2816), out(known.q975, 1.96),
    )  # fmt: skip


def known_of(distribution: Any) -> Known:
    """What a scipy distribution says."""
    q = [float(distribution.ppf(p)) for p in (0.025, LOW, 0.5, HIGH, 0.975)]
    return Known(float(distribution.mean()), float(distribution.std()), *q)


def lognormal_known(log_mean: float, log_sd: float, scale: float = 1.0) -> Known:
    """What a lognormal says, given mean and sd of the logarithm, times `scale`."""
    if log_sd <= 0.0:
        value = scale * math.exp(log_mean)
        return Known(value, 0.0, value, value, value, value, value)
    return known_of(stats.lognorm(s=log_sd, scale=scale * math.exp(log_mean)))


def figure_table(distribution: str, mean: float, sd: float, source: str, digits: int = 5) -> dict[str, object]:
    """An uncertain figure for a CHANGE file."""
    return {
        "distribution": distribution,
        "mean": float(f"{mean:.{digits}g}"),
        "sd": float(f"{sd:.{digits - 1}g}"),
        "source": source,
    }
