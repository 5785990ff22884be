"""Minutes of work and hours of repair: positive amounts that vary from job to job.

Normal-inverse-gamma on logarithms: the logarithm of (what it took / what the room file expects) is normal with unknown
mean and variance; the posterior of the mean is Student's t (Gelman et al. 2013, *Bayesian Data Analysis*, sec. 3.3;
Murphy 2007, *Conjugate Bayesian analysis of the Gaussian distribution*; both from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import stats

from growsim.scenario.people import Crew, Task
from growsim.scenario.record.record import AttendanceRow, WorkRow
from growsim.study.learn.learned import HIGH, LOW, Known
from growsim.study.learn.prior import moments

PRIOR_RECORDS = 2.0  # that the room file's mean counts for
PRIOR_FREEDOM = 4.0  # and its spread
USUAL_LOG_SD = 0.3  # from job to job, where the room file gives a bare number
PACE_DOUBT = 0.03  # of how much slower than practiced the hands were, as a log sd
LONG_ENOUGH_MINUTES = 8.0  # jobs meant to be shorter are told by rounding to whole minutes
ROUNDING_DOUBT_MINUTES = 0.3  # of a job, when minutes are whole


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
    """Who works: how much longer than practiced hands they take, and the share of volunteers among them."""

    longer: float
    volunteers: float


def hands_of(crew: Crew, attendance: Sequence[AttendanceRow]) -> Hands:
    """Those who work: volunteers at all stages of learning, leads at a practiced pace.

    A volunteer has done n shifts before, n exponential with mean m = stay x chance of coming, and works at the pace
    1 - (1 - b) e^(-n/L). The mean of one over the pace is then the sum over k of (1 - b)^k / (1 + k m/L).
    """
    chance = math.fsum(crew.chance_of_coming) / 12.0
    learned = crew.stay_weeks * chance / crew.shifts_to_learn
    of_volunteers = math.fsum((1 - crew.beginner_pace) ** k / (1 + k * learned) for k in range(400))
    shifts = len(crew.shifts)
    if not shifts:
        return Hands(of_volunteers, 1.0)
    leads = sum(shift.lead for shift in crew.shifts) / shifts
    people = (
        sum(row.came for row in attendance) / len(attendance)
        if attendance
        else chance * sum(shift.people for shift in crew.shifts) / shifts
    )
    everyone = max(people + leads, 1e-9)
    return Hands((people * of_volunteers + leads) / everyone, people / everyone)


def practiced_minutes(row: WorkRow, piece_minutes: float, hands: Hands) -> float:
    """Minutes that practiced hands would have taken, before the room rounds them up.

    The room counts begun minutes: of the job, and of each piece that somebody below a practiced pace works at; so a job
    comes out half a minute longer for each, and the figure that makes the room take as long is that much smaller.
    """
    pieces = max(1.0, math.ceil(row.person_minutes / piece_minutes))
    return max(0.5, (row.person_minutes - 0.5 * pieces * hands.volunteers) / hands.longer - 0.5)


def log_ratio(row: WorkRow, task: Task, crew: Crew, hands: Hands) -> float:
    """Logarithm of what a job took, at a practiced pace, over what the room file expects of it."""
    expected = max(planned_minutes(row, task), 1e-3)
    return math.log(practiced_minutes(row, crew.piece_minutes, hands) / expected)


def planned_minutes(row: WorkRow, task: Task) -> float:
    """What the room file expects of a job, at a practiced pace."""
    return task.fixed_minutes.expected() + task.minutes_per_unit.expected() * row.units


def job_log_sd(task: Task) -> float:
    """Spread between jobs that the room file has for a task, on logarithms."""
    mean, sd = moments(task.minutes_per_unit)
    fixed, fixed_sd = moments(task.fixed_minutes)
    if sd == 0 and fixed_sd == 0:
        return USUAL_LOG_SD
    return math.sqrt(math.log1p((sd / mean) ** 2)) if mean > 0 else math.sqrt(math.log1p((fixed_sd / fixed) ** 2))


def learn_task(rows: Sequence[WorkRow], task: Task, crew: Crew, hands: Hands) -> LogMean:
    """A task's minutes against those of the room file, at a practiced pace. Jobs too short to time are left out."""
    timed = [row for row in rows if is_long_enough(row, task)]
    logs = [log_ratio(row, task, crew, hands) for row in timed]
    spread = job_log_sd(task)
    found = learn_log_mean(logs, -(spread**2) / 2, spread)
    if not timed:
        return found
    usual = float(np.median([row.person_minutes for row in timed]))
    return replace(found, extra_sd=math.hypot(PACE_DOUBT, ROUNDING_DOUBT_MINUTES / usual))


def is_long_enough(row: WorkRow, task: Task) -> bool:
    """Whether rounding to whole minutes leaves something to learn. Judged by the plan, so that quick jobs count too."""
    return planned_minutes(row, task) >= LONG_ENOUGH_MINUTES
