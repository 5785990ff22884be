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
from growsim.scenario.record.record import WorkRow
from growsim.study.job_minutes import PACE_DOUBT, Hands, is_long_enough, job_log_sd, log_ratio
from growsim.study.learn.learned import HIGH, LOW, Known

PRIOR_RECORDS = 2.0  # that the room file's mean counts for
PRIOR_FREEDOM = 4.0  # and its spread
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
