"""How long timed jobs took, against what the room file expects: for what learns from them and what watches them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.scenario.people import Crew, Task
from growsim.scenario.record.record import AttendanceRow, WorkRow
from growsim.scenario.uncertain import Uncertain

USUAL_LOG_SD = 0.3  # from job to job, where the room file gives a bare number
PACE_DOUBT = 0.03  # of how much slower than practiced the hands were, as a log sd
LONG_ENOUGH_MINUTES = 8.0  # jobs meant to be shorter are told by rounding to whole minutes


def moments(figure: Uncertain) -> tuple[float, float]:
    """Mean and standard deviation of an uncertain figure as written (limits by at_least/at_most left aside)."""
    mean = figure.expected()
    if figure.distribution == "fixed":
        return mean, 0.0
    if figure.distribution == "range":
        low, likely, high = figure.low or 0.0, figure.likely or 0.0, figure.high or 0.0
        # Variance of the triangular distribution (any handbook).
        return mean, math.sqrt(
            max(0.0, low**2 + likely**2 + high**2 - low * likely - low * high - likely * high) / 18.0
        )
    if figure.distribution == "uniform":
        return mean, ((figure.high or 0.0) - (figure.low or 0.0)) / math.sqrt(12.0)
    if figure.distribution == "exponential":
        return mean, mean
    if figure.distribution == "weibull":
        k = figure.shape or 1.0
        return mean, mean * math.sqrt(math.gamma(1 + 2 / k) / math.gamma(1 + 1 / k) ** 2 - 1.0)
    return mean, figure.sd or 0.0


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
        sum(row.there for row in attendance) / len(attendance)
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


def is_long_enough(row: WorkRow, task: Task) -> bool:
    """Whether rounding to whole minutes leaves something to learn. Judged by the plan, so that quick jobs count too."""
    return planned_minutes(row, task) >= LONG_ENOUGH_MINUTES
