"""How likely it is, month by month, that somebody signed up comes.

Logistic regression with what the room file says as its starting point: all months may lie higher or lower together
(sd 0.6 in log odds), each month may differ besides (sd 0.3). So a record of half a year says something about the other
half, and a month of its own says more. Fitted by Newton steps, uncertainty from the curvature (Laplace; Gelman et al.
2013, *Bayesian Data Analysis*, sec. 4.1 and 16.2, from memory). Counts that scatter more than a binomial does are worth
less: divided by Pearson's chi-square over its degrees of freedom, never below 1 (McCullagh & Nelder 1989, *Generalized
Linear Models*, sec. 4.5, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from growsim.spec.people import Crew
from growsim.spec.records import VisitRow
from growsim.study.learned import HIGH, LOW, Known

ALL_MONTHS_SD = 0.6
ONE_MONTH_SD = 0.3
STEPS = 50
PRETENDED = 4.0  # degrees of freedom by which the scatter starts at 1


@dataclass(frozen=True)
class Coming:
    """Chance by month before and after, rows by month, and how much more than binomial they scatter (1: not more)."""

    before: tuple[Known, ...]
    after: tuple[Known, ...]
    rows: tuple[int, ...]
    scatter: float
    weight: float


def learn_coming(visits: Sequence[VisitRow], crew: Crew) -> Coming:
    """Chances of coming from the shifts held."""
    prior = np.clip(np.array(crew.chance_of_coming), 0.02, 0.98)
    base = np.log(prior / (1 - prior))
    # Unknowns: log odds of the twelve months, about the room file's, moving together and apart.
    doubts = np.array(crew.chance_doubt_sd or (0.0,) * 12) / (prior * (1 - prior))
    together = ALL_MONTHS_SD**2 if not doubts.any() else float((doubts**2).mean())
    apart = ONE_MONTH_SD**2 if not doubts.any() else 0.25 * together
    covariance = together * np.ones((12, 12)) + apart * np.eye(12)
    signed, came, count = np.zeros(12), np.zeros(12), [0] * 12
    for row in visits:
        month = row.date.month - 1
        signed[month] += row.signed_up
        came[month] += row.came
        count[month] += 1
    at, spread = _fit(base, covariance, signed, came)
    scatter = _scatter(visits, at)
    if scatter > 1.0:
        at, spread = _fit(base, covariance, signed / scatter, came / scatter)
    # These very people are a draw from all who might sign up: their own leanings do not average out with more shifts.
    places = _places(visits)
    crew_sd = crew.chance_spread_sd / math.sqrt(places) if places else 0.0
    before = tuple(_known(base[m], math.sqrt(covariance[m, m]), 0.0) for m in range(12))
    after = tuple(_known(at[m], math.sqrt(spread[m, m]), crew_sd if signed.any() else 0.0) for m in range(12))
    return Coming(before, after, tuple(count), scatter, _weight(prior, covariance, visits))


def _fit(
    base: np.ndarray, covariance: np.ndarray, signed: np.ndarray, came: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Most likely log odds of each month, and their covariance."""
    precision = np.linalg.inv(covariance)
    at = base.copy()
    for _ in range(STEPS):
        p = 1 / (1 + np.exp(-at))
        slope = came - signed * p - precision @ (at - base)
        curvature = precision + np.diag(signed * p * (1 - p))
        step = np.linalg.solve(curvature, slope)
        at = at + np.clip(step, -1.0, 1.0)
        if np.abs(step).max() < 1e-10:
            break
    p = 1 / (1 + np.exp(-at))
    return at, np.linalg.inv(precision + np.diag(signed * p * (1 - p)))


def _scatter(visits: Sequence[VisitRow], at: np.ndarray) -> float:
    """Pearson's chi-square over its degrees of freedom, held towards 1 by a few pretended ones; never below 1."""
    total, shifts = 0.0, 0
    for row in visits:
        p = 1 / (1 + math.exp(-at[row.date.month - 1]))
        if row.signed_up:
            total += (row.came - row.signed_up * p) ** 2 / (row.signed_up * p * (1 - p))
            shifts += 1
    freedom = max(0, shifts - len({row.date.month for row in visits}))
    return max(1.0, (PRETENDED + total) / (PRETENDED + freedom)) if freedom else 1.0


def _places(visits: Sequence[VisitRow]) -> float:
    """About how many different people signed up: the mean of each shift's sign-ups, summed over the shifts."""
    by_shift: dict[object, list[int]] = {}
    for row in visits:
        by_shift.setdefault(row.shift or row.date.weekday(), []).append(row.signed_up)
    return sum(sum(counts) / len(counts) for counts in by_shift.values())


def _known(log_odds: float, sd: float, extra_sd: float) -> Known:
    """A chance from its log odds; `extra_sd` is added on the scale of the chance."""
    z = stats.norm.ppf([0.025, LOW, 0.5, HIGH, 0.975])
    p = 1 / (1 + np.exp(-(log_odds + sd * z)))
    middle = float(p[2])
    q = np.clip(middle + np.sign(p - middle) * np.hypot(p - middle, extra_sd * z), 0.0, 1.0)
    nodes = stats.norm.ppf((np.arange(200) + 0.5) / 200)
    chances = 1 / (1 + np.exp(-(log_odds + sd * nodes)))
    return Known(float(chances.mean()), math.hypot(float(chances.std()), extra_sd), *(float(value) for value in q))


def _weight(prior: np.ndarray, covariance: np.ndarray, visits: Sequence[VisitRow]) -> float:
    """How many shifts the room file's chance of a month counts for."""
    people = sum(row.signed_up for row in visits) / len(visits) if visits else 4.0
    p = float(prior.mean())
    sd = math.sqrt(covariance[0, 0]) * p * (1 - p)
    return p * (1 - p) / max(people, 1.0) / sd**2
