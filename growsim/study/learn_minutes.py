"""Minutes of work and hours of repair: positive amounts that vary from job to job.

Normal-inverse-gamma on logarithms: the logarithm of (what it took / what the room file expects) is normal with unknown
mean and variance; the posterior of the mean is Student's t (Gelman et al. 2013, *Bayesian Data Analysis*, sec. 3.3;
Murphy 2007, *Conjugate Bayesian analysis of the Gaussian distribution*; both from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from growsim.spec.people import Crew, Task
from growsim.spec.records import VisitRow, WorkRow
from growsim.study.learn_prior import moments
from growsim.study.learned import HIGH, LOW, Known

PRIOR_RECORDS = 2.0  # that the room file's mean counts for
PRIOR_FREEDOM = 4.0  # and its spread
USUAL_LOG_SD = 0.3  # from job to job, where the room file gives a bare number
PACE_DOUBT = 0.02  # of how much slower than practised the hands were, as a log sd
LONG_ENOUGH_MINUTES = 5.0  # shorter jobs are told by rounding to whole minutes


@dataclass(frozen=True)
class LogMean:
    """A log mean and a log spread, before and after: `mean` with `sd` (of the mean), `spread` between jobs."""

    before_mean: float
    before_sd: float
    mean: float
    sd: float
    freedom: float
    spread: float
    extra_sd: float = 0.0

    def known(self, scale: float = 1.0) -> Known:
        """The factor exp(mean), times `scale`, as a reader sees it."""
        sd = math.hypot(self.sd, self.extra_sd)
        q = [scale * math.exp(self.mean + sd * float(t)) for t in _t(self.freedom)]
        return Known(scale * math.exp(self.mean + sd**2 / 2), scale * math.exp(self.mean) * sd, *q)

    def known_before(self, scale: float = 1.0) -> Known:
        """The same before any record."""
        q = [scale * math.exp(self.before_mean + self.before_sd * float(t)) for t in _t(PRIOR_FREEDOM)]
        middle = scale * math.exp(self.before_mean)
        return Known(middle * math.exp(self.before_sd**2 / 2), middle * self.before_sd, *q)


def _t(freedom: float) -> np.ndarray:
    quantiles: np.ndarray = stats.t.ppf([0.025, LOW, 0.5, HIGH, 0.975], freedom)
    return quantiles


def learn_log_mean(logs: Sequence[float], before_mean: float, before_spread: float) -> LogMean:
    """Normal-inverse-gamma: posterior of the mean and spread of logarithms."""
    n = len(logs)
    k0, v0 = PRIOR_RECORDS, PRIOR_FREEDOM
    average = float(np.mean(logs)) if n else before_mean
    k, v = k0 + n, v0 + n
    mean = (k0 * before_mean + n * average) / k
    squares = v0 * before_spread**2 + float(((np.asarray(logs) - average) ** 2).sum() if n else 0.0)
    squares += k0 * n / k * (average - before_mean) ** 2
    spread = math.sqrt(squares / v)
    return LogMean(before_mean, before_spread / math.sqrt(k0), mean, spread / math.sqrt(k), v, spread)


def expected_minutes(task: Task, units: float, piece_minutes: float) -> float:
    """What the room file expects of a job, as the room counts it: whole minutes, begun minutes of a piece counted."""
    planned = task.fixed_minutes.expected() + task.minutes_per_unit.expected() * units
    pieces = max(1.0, math.ceil(planned / piece_minutes))
    return planned + 0.5 * pieces


def job_log_sd(task: Task) -> float:
    """Spread between jobs that the room file has for a task, on logarithms."""
    mean, sd = moments(task.minutes_per_unit)
    fixed, fixed_sd = moments(task.fixed_minutes)
    if sd == 0 and fixed_sd == 0:
        return USUAL_LOG_SD
    return math.sqrt(math.log1p((sd / mean) ** 2)) if mean > 0 else math.sqrt(math.log1p((fixed_sd / fixed) ** 2))


def practised_share(crew: Crew, visits: Sequence[VisitRow]) -> float:
    """Mean pace of those who work, against a practised pace: volunteers at all stages of learning, leads at 1.

    A volunteer has done n shifts before, n exponential with mean stay x chance of coming; the mean of e^(-n/L) is then
    1/(1 + mean/L), so the mean pace is 1 - (1 - b)/(1 + mean/L).
    """
    chance = sum(crew.chance_of_coming) / 12.0
    done = crew.stay_weeks * chance
    of_volunteers = 1 - (1 - crew.beginner_pace) / (1 + done / crew.shifts_to_learn)
    shifts = len(crew.shifts)
    if not shifts:
        return of_volunteers
    leads = sum(shift.lead for shift in crew.shifts) / shifts
    people = (
        sum(row.came for row in visits) / len(visits)
        if visits
        else chance * sum(shift.people for shift in crew.shifts) / shifts
    )
    return (people * of_volunteers + leads) / max(people + leads, 1e-9)


def learn_task(rows: Sequence[WorkRow], task: Task, crew: Crew, pace: float) -> LogMean:
    """A task's minutes against those of the room file, at a practised pace. Jobs too short to time are left out."""
    logs = [
        math.log(row.person_minutes * pace / expected_minutes(task, row.units, crew.piece_minutes))
        for row in rows
        if is_long_enough(row, task, crew)
    ]
    found = learn_log_mean(logs, 0.0, job_log_sd(task))
    return LogMean(
        found.before_mean, found.before_sd, found.mean, found.sd, found.freedom, found.spread,
        PACE_DOUBT if logs else 0.0,
    )  # fmt: skip


def is_long_enough(row: WorkRow, task: Task, crew: Crew) -> bool:
    """Whether rounding to whole minutes leaves something to learn."""
    return min(row.person_minutes, expected_minutes(task, row.units, crew.piece_minutes)) >= LONG_ENOUGH_MINUTES
