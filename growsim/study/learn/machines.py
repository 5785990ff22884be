"""How long machines run between failures, and how long they take to repair.

Gamma-exponential with censoring: n failures in T running hours, with a gamma prior on the rate, give a gamma posterior;
a machine that has not failed yet counts with the hours it has run (Martz & Waller 1982, *Bayesian Reliability
Analysis*; Gelman et al. 2013, sec. 2.6; both from memory). A Weibull life of known shape k is exponential in its k-th
power (Meeker & Escobar 1998, *Statistical Methods for Reliability Data*, sec. 4.8, from memory). The room file's mean
life counts for two failures. Machines are taken as new, or as good as new, when the record begins.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy import special, stats

from growsim.scenario.equipment import Reliability
from growsim.scenario.machines import Machine
from growsim.scenario.record.record import FaultRow
from growsim.study.job_minutes import moments
from growsim.study.learn.learned import HIGH, LOW, Known

PRIOR_FAILURES = 2.0


@dataclass(frozen=True)
class Life:
    """Mean running hours to failure, before and after. failures, running_hours: what was seen. log_sd: of the mean."""

    before: Known
    after: Known
    failures: int
    running_hours: float
    log_mean: float
    log_sd: float
    shape: float


def alike(machines: Sequence[Machine]) -> list[list[Machine]]:
    """Machines of one kind that the room file gives the same life: they are learned about together."""
    groups: list[list[Machine]] = []
    for machine in machines:
        if machine.reliability.running_hours_to_failure is None:
            continue
        for group in groups:
            first = group[0]
            same = first.reliability.running_hours_to_failure == machine.reliability.running_hours_to_failure
            if first.kind == machine.kind and same:
                group.append(machine)
                break
        else:
            groups.append([machine])
    return groups


def spells(
    machine: Machine, faults: Sequence[FaultRow], begin: dt.datetime, end: dt.datetime
) -> list[tuple[float, bool]]:
    """(running hours, whether it ended in a failure) of each spell of work in the watched time.

    With several pumps in a reservoir, nobody writes down which one failed: failures go to them in turn.
    """
    mine = sorted(
        (row for row in faults if (row.machine, row.where) == (machine.kind, machine.where)), key=lambda row: row.down
    )
    found: list[tuple[float, bool]] = []
    for number in range(machine.count):
        since = begin
        for row in mine[number :: machine.count]:
            found.append((_hours(since, row.down) * machine.share, True))
            since = min(row.repaired or row.down, end)
        found.append((_hours(since, end) * machine.share, False))
    return found


def _hours(begin: dt.datetime, end: dt.datetime) -> float:
    return max(0.0, (end - begin).total_seconds() / 3600.0)


def weibull_shape(reliability: Reliability) -> float | None:
    """Shape of the life: 1 for exponential, that with the same sd/mean for other families; None for a bare number."""
    life = reliability.running_hours_to_failure
    if life is None or life.distribution == "fixed":
        return None
    if life.distribution == "exponential":
        return 1.0
    if life.distribution == "weibull":
        return life.shape
    mean, sd = moments(life)
    low, high = 0.3, 20.0
    for _ in range(60):
        middle = (low + high) / 2
        cv = math.sqrt(special.gamma(1 + 2 / middle) / special.gamma(1 + 1 / middle) ** 2 - 1)
        low, high = (middle, high) if cv > sd / mean else (low, middle)
    return (low + high) / 2


def learn_life(seen: Sequence[tuple[float, bool]], mean_hours: float, shape: float) -> Life:
    """Mean life from spells of work, some of them not over. mean_hours: the room file's."""
    scale = math.gamma(1 + 1 / shape)
    a0 = PRIOR_FAILURES
    b0 = float(stats.gamma.median(a0)) * (mean_hours / scale) ** shape  # the middle of the prior is the room file's
    failures = sum(failed for _, failed in seen)
    a, b = a0 + failures, b0 + math.fsum(hours**shape for hours, _ in seen)
    log_mean = math.log(scale) + (math.log(b) - float(special.digamma(a))) / shape
    return Life(
        _life_known(a0, b0, shape), _life_known(a, b, shape), failures, math.fsum(hours for hours, _ in seen),
        log_mean, math.sqrt(float(special.polygamma(1, a))) / shape, shape,
    )  # fmt: skip


def _life_known(a: float, b: float, shape: float) -> Known:
    """Mean life when its rate (per hour to the power of the shape) is gamma(a, b)."""
    scale = math.gamma(1 + 1 / shape)
    rates = stats.gamma(a, scale=1 / b)
    q = [scale * float(rates.ppf(1 - p)) ** (-1 / shape) for p in (0.025, LOW, 0.5, HIGH, 0.975)]
    log_mean = math.log(scale) + (math.log(b) - float(special.digamma(a))) / shape
    log_sd = math.sqrt(float(special.polygamma(1, a))) / shape
    mean = math.exp(log_mean + log_sd**2 / 2)
    return Known(mean, mean * math.sqrt(math.expm1(log_sd**2)), *q)
