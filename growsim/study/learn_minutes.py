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
    """A log mean and a log spread, before and after: `mean` with `sd` (of the mean), `spread` between jobs.

    What is stated is the ordinary mean of what jobs take, exp(mean + spread²/2) for a lognormal.
    """

    before_mean: float
    before_sd: float
    mean: float
    sd: float
    freedom: float
    spread: float
    extra_sd: float = 0.0

    def known(self, scale: float = 1.0) -> Known:
        """The ordinary mean, times `scale`, as a reader sees it."""
        sd = math.hypot(self.sd, self.extra_sd)
        middle = scale * math.exp(self.mean + self.spread**2 / 2)
        q = [middle * math.exp(sd * float(t)) for t in _t(self.freedom)]
        return Known(middle * math.exp(sd**2 / 2), middle * sd, *q)

    def known_before(self, scale: float = 1.0) -> Known:
        """The same before any record."""
        middle = scale * math.exp(self.before_mean + self.before_sd**2 * PRIOR_RECORDS / 2)
        q = [middle * math.exp(self.before_sd * float(t)) for t in _t(PRIOR_FREEDOM)]
        return Known(middle * math.exp(self.before_sd**2 / 2), middle * self.before_sd, *q)


def _t(freedom: float) -> np.ndarray:
    return np.asarray(stats.t.ppf([0.025, LOW, 0.5, HIGH, 0.975], freedom))


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


@dataclass(frozen=True)
class Hands:
    """Who works: mean pace against a practised pace, and the share of volunteers among them."""

    pace: float
    volunteers: float


def expected_minutes(task: Task, units: float, piece_minutes: float, hands: Hands) -> float:
    """Person-minutes that the room file expects of a job, as the room counts them.

    The room counts begun minutes: of the job, and of each piece that somebody below a practised pace works at.
    """
    planned = task.fixed_minutes.expected() + task.minutes_per_unit.expected() * units
    known = task.fixed_minutes.is_fixed and task.minutes_per_unit.is_fixed
    planned = math.ceil(planned - 1e-9) if known else planned + 0.5
    pieces = max(1.0, math.ceil(planned / piece_minutes))
    return planned / hands.pace + 0.5 * pieces * hands.volunteers


def job_log_sd(task: Task) -> float:
    """Spread between jobs that the room file has for a task, on logarithms."""
    mean, sd = moments(task.minutes_per_unit)
    fixed, fixed_sd = moments(task.fixed_minutes)
    if sd == 0 and fixed_sd == 0:
        return USUAL_LOG_SD
    return math.sqrt(math.log1p((sd / mean) ** 2)) if mean > 0 else math.sqrt(math.log1p((fixed_sd / fixed) ** 2))


def hands_of(crew: Crew, visits: Sequence[VisitRow]) -> Hands:
    """Those who work: volunteers at all stages of learning, leads at a practised pace.

    A volunteer has done n shifts before, n exponential with mean stay x chance of coming; the mean of e^(-n/L) is then
    1/(1 + mean/L), so the mean pace is 1 - (1 - b)/(1 + mean/L).
    """
    chance = sum(crew.chance_of_coming) / 12.0
    done = crew.stay_weeks * chance
    of_volunteers = 1 - (1 - crew.beginner_pace) / (1 + done / crew.shifts_to_learn)
    shifts = len(crew.shifts)
    if not shifts:
        return Hands(of_volunteers, 1.0)
    leads = sum(shift.lead for shift in crew.shifts) / shifts
    people = (
        sum(row.came for row in visits) / len(visits)
        if visits
        else chance * sum(shift.people for shift in crew.shifts) / shifts
    )
    everyone = max(people + leads, 1e-9)
    return Hands((people * of_volunteers + leads) / everyone, people / everyone)


def log_ratio(row: WorkRow, task: Task, crew: Crew, hands: Hands) -> float:
    """Logarithm of what a job took over what the room file expects of it."""
    return math.log(row.person_minutes / expected_minutes(task, row.units, crew.piece_minutes, hands))


def learn_task(rows: Sequence[WorkRow], task: Task, crew: Crew, hands: Hands) -> LogMean:
    """A task's minutes against those of the room file, at a practised pace. Jobs too short to time are left out."""
    logs = [log_ratio(row, task, crew, hands) for row in rows if is_long_enough(row, task, crew, hands)]
    spread = job_log_sd(task)
    found = learn_log_mean(logs, -(spread**2) / 2, spread)
    return LogMean(
        found.before_mean, found.before_sd, found.mean, found.sd, found.freedom, found.spread,
        PACE_DOUBT if logs else 0.0,
    )  # fmt: skip


def is_long_enough(row: WorkRow, task: Task, crew: Crew, hands: Hands) -> bool:
    """Whether rounding to whole minutes leaves something to learn."""
    return min(row.person_minutes, expected_minutes(task, row.units, crew.piece_minutes, hands)) >= LONG_ENOUGH_MINUTES
