"""What the tables of attendance and work teach: how likely it is, month by month, that somebody signed up comes, and
how long work takes.

Attendance is logistic regression with what the room file says as its starting point: all months may lie higher or lower
together (sd 0.6 in log odds), each month may differ besides (sd 0.3). So a record of half a year says something about
the other half, and a month of its own says more. Fitted by Newton steps, uncertainty from the curvature (Laplace;
Gelman et al. 2013, *Bayesian Data Analysis*, sec. 4.1 and 16.2, from memory). Counts that scatter more than a binomial
does are worth less: divided by Pearson's chi-square over its degrees of freedom, never below 1 (McCullagh & Nelder
1989, *Generalized Linear Models*, sec. 4.5, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy import stats

from growsim.scenario.people import Crew, Task
from growsim.scenario.record.record import AttendanceRow, WorkRow
from growsim.study.job_minutes import Hands, hands_of, is_long_enough, log_ratio
from growsim.study.learn.learned import HIGH, LOW, Known, Learned, Lesson
from growsim.study.learn.minutes import PRIOR_RECORDS, LogMean, learn_task
from growsim.study.learn.odd import Seen, drift_of, odd_rows
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.tasks import TASKS

_COMING = "logistic regression about the room file's chances (Gelman et al. 2013; McCullagh & Nelder 1989)"
_MINUTES = "normal-inverse-gamma on logarithms (Gelman et al. 2013; Murphy 2007)"
ALL_MONTHS_SD = 0.6
ONE_MONTH_SD = 0.3
STEPS = 50
PRETENDED = 4.0  # degrees of freedom by which the scatter starts at 1


def lesson_of_attendance(attendance: Sequence[AttendanceRow], crew: Crew, said: str) -> Lesson:
    """Chance of coming, month by month."""
    expected = crew.chance_of_coming
    seen = [
        Seen(row, row.came / row.signed_up - expected[row.date.month - 1], math.sqrt(0.2 / row.signed_up))
        for row in attendance
        if row.signed_up
    ]
    odd, out = odd_rows(seen, lambda each, _: _shift_says(each))
    kept = [row for row in attendance if row not in out]
    coming = learn_coming(kept, crew)
    figures = tuple(
        Learned(
            f"crew.chance_of_coming.{MONTHS[m].lower()}", "people", MONTHS[m], "chance of coming", "fraction",
            crew.chance_of_coming[m], coming.before[m], coming.after[m], coming.rows[m], "shifts", coming.weight,
            _COMING,
        )
        for m in range(12)
    )  # fmt: skip
    if not kept:
        return Lesson(figures)
    notes = []
    silent = [MONTHS[m] for m in range(12) if not coming.rows[m]]
    if silent:
        notes.append(
            f"No shift is written down for {', '.join(silent)}. There the chance of coming moves with the other months."
        )
    if coming.scatter > 1.3:
        notes.append(
            "People come and stay away together more than by chance (scatter "
            f"{coming.scatter:.1f} times a binomial's): each shift counts for less."
        )
    drift = drift_of(
        [each for each in seen if each.row not in out], "share who came, against the room file's month", "points",
        lambda value: 100 * value,
    )  # fmt: skip
    return Lesson(figures, ({"crew": _chances(coming, said)},), tuple(odd), tuple(drift), notes=tuple(notes))


def _shift_says(each: Seen) -> str:
    row = each.row
    assert isinstance(row, AttendanceRow)
    return f"{row.came} of {row.signed_up} signed up came; that is far from usual for {MONTHS[row.date.month - 1]}"


def _chances(coming: Coming, said: str) -> dict[str, Any]:
    return {
        "chance_of_coming": [round(min(1.0, max(0.0, known.mean)), 4) for known in coming.after],
        "chance_doubt_sd": [round(min(0.4, known.sd), 4) for known in coming.after],
        "source": f"chance of coming learned from {sum(coming.rows)} shifts ({said}); the room file's counted as "
        f"{coming.weight:.1f} shifts a month; other figures as before",
    }


def lesson_of_work(work: Sequence[WorkRow], attendance: Sequence[AttendanceRow], crew: Crew, said: str) -> Lesson:
    """Minutes of each kind of work, at a practiced pace."""
    hands = hands_of(crew, attendance)
    by_crop = [task.name for task in crew.tasks if task.by_crop]  # a row of a record names no crop
    taught = [row for row in work if row.task not in by_crop]
    lessons = [_task(task, [row for row in taught if row.task == task.name], crew, hands, said) for task in crew.tasks]
    known = {task.name for task in crew.tasks}
    strange = sorted({row.task for row in work} - known)
    notes = [f"The room file does not name the work {', '.join(strange)}; its rows teach nothing."] if strange else []
    unsaid = [name for name in by_crop if any(row.task == name for row in work)]
    if unsaid:
        notes.append(
            f"{', '.join(unsaid)}: the room file has minutes by crop, and the record does not say which crop; its rows "
            "teach nothing."
        )
    if work:
        notes.append(
            "Minutes are turned into those of practiced people: with new volunteers among them, the room file's crew "
            "takes "
            f"{hands.longer - 1:.0%} longer."
        )
    return Lesson(
        figures=tuple(figure for lesson in lessons for figure in lesson.figures),
        change=tuple(piece for lesson in lessons for piece in lesson.change),
        odd=tuple(odd for lesson in lessons for odd in lesson.odd),
        drift=tuple(drift for lesson in lessons for drift in lesson.drift),
        notes=(*(note for lesson in lessons for note in lesson.notes), *notes),
    )


def _task(task: Task, rows: Sequence[WorkRow], crew: Crew, hands: Hands, said: str) -> Lesson:
    timed = [row for row in rows if is_long_enough(row, task)]
    seen = [Seen(row, log_ratio(row, task, crew, hands), math.hypot(0.12, 1.5 / row.person_minutes)) for row in timed]
    odd, out = odd_rows(seen, _work_says)
    kept = [row for row in timed if row not in out]
    learned = learn_task(kept, task, crew, hands)
    each_unit = task.minutes_per_unit.expected()
    per = each_unit if each_unit > 0 else task.fixed_minutes.expected()
    label = f"minutes for each {TASKS[task.name].each}" if each_unit > 0 else "minutes for each job"
    figure = Learned(
        f"crew.tasks.{task.name}.minutes_per_unit", "minutes", task.name, label, "min", per,
        learned.known_before(per), learned.known(per), len(kept), "timed jobs", PRIOR_RECORDS, _MINUTES,
    )  # fmt: skip
    notes = []
    if len(timed) < len(rows):
        short = len(rows) - len(timed)
        notes.append(
            f"{task.name}: {short} jobs planned for under eight minutes are told by rounding; they teach nothing of "
            "minutes."
        )
    change = ({"crew": {"tasks": [_task_change(task, learned, len(kept), said, figure.after)]}},) if kept else ()
    drift = drift_of(
        [each for each in seen if each.row not in out], f"{task.name}: {label}", "min",
        lambda value: per * math.exp(value),
    )  # fmt: skip
    return Lesson((figure,), change, tuple(odd), tuple(drift), notes=tuple(notes))


def _work_says(each: Seen, middle: float) -> str:
    row = each.row
    assert isinstance(row, WorkRow)
    usual = row.person_minutes / math.exp(each.value - middle)
    return (
        f"{row.task} took {row.person_minutes:.0f} person-minutes for {row.units:g}; about {usual:.0f} are usual here"
    )


def _task_change(task: Task, learned: LogMean, n: int, said: str, known: Known) -> dict[str, Any]:
    """Minutes vary from job to job (drawn each time); what is not known of their mean is a factor (drawn once)."""
    factor = math.exp(learned.mean + learned.spread**2 / 2)
    source = (
        f"learned from {n} timed job{'s' if n != 1 else ''} ({said}); 8 in 10: {known.low:.3g} to {known.high:.3g}; "
        f"the room file counted as {PRIOR_RECORDS:.0f}"
    )
    change: dict[str, Any] = {"name": task.name}
    for key, figure in (("fixed_minutes", task.fixed_minutes), ("minutes_per_unit", task.minutes_per_unit)):
        expected = figure.expected()
        if expected > 0:
            cv = math.sqrt(math.expm1(learned.spread**2)) if key == "minutes_per_unit" else 0.0
            change[key] = (
                {
                    "distribution": "lognormal",
                    "mean": float(f"{expected * factor:.4g}"),
                    "sd": float(f"{expected * factor * cv:.3g}"),
                    "source": source,
                }
                if cv
                else {"value": float(f"{expected * factor:.4g}"), "source": source}
            )
    doubt = math.hypot(learned.sd, learned.extra_sd)
    change["minutes_factor"] = {
        "distribution": "lognormal",
        "mean": 1.0,
        "sd": float(f"{math.sqrt(math.expm1(doubt**2)):.3g}"),
        "source": "what is not known of the mean",
    }
    return change


@dataclass(frozen=True)
class Coming:
    """Chance by month before and after, rows by month, and how much more than binomial they scatter (1: not more)."""

    before: tuple[Known, ...]
    after: tuple[Known, ...]
    rows: tuple[int, ...]
    scatter: float
    weight: float


def learn_coming(attendance: Sequence[AttendanceRow], crew: Crew) -> Coming:
    """Chances of coming from the shifts held."""
    prior = np.clip(np.array(crew.chance_of_coming), 0.02, 0.98)
    base = np.log(prior / (1 - prior))
    # Unknowns: log odds of the twelve months, about the room file's, moving together and apart.
    doubts = np.array(crew.chance_doubt_sd or (0.0,) * 12) / (prior * (1 - prior))
    together = ALL_MONTHS_SD**2 if not doubts.any() else float((doubts**2).mean())
    apart = ONE_MONTH_SD**2 if not doubts.any() else 0.25 * together
    covariance = together * np.ones((12, 12)) + apart * np.eye(12)
    signed, came, count = np.zeros(12), np.zeros(12), [0] * 12
    for row in attendance:
        month = row.date.month - 1
        signed[month] += row.signed_up
        came[month] += row.came
        count[month] += 1
    at, spread = _fit(base, covariance, signed, came)
    scatter = _scatter(attendance, at)
    if scatter > 1.0:
        at, spread = _fit(base, covariance, signed / scatter, came / scatter)
    # These very people are a draw from all who might sign up: their own leanings do not average out with more shifts.
    places = _places(attendance)
    crew_sd = crew.chance_spread_sd / math.sqrt(places) if places else 0.0
    before = tuple(_known(base[m], math.sqrt(covariance[m, m]), 0.0) for m in range(12))
    after = tuple(_known(at[m], math.sqrt(spread[m, m]), crew_sd if signed.any() else 0.0) for m in range(12))
    return Coming(before, after, tuple(count), scatter, _weight(prior, covariance, attendance))


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


def _scatter(attendance: Sequence[AttendanceRow], at: np.ndarray) -> float:
    """Pearson's chi-square over its degrees of freedom, held towards 1 by a few pretended ones; never below 1."""
    total, shifts = 0.0, 0
    for row in attendance:
        p = 1 / (1 + math.exp(-at[row.date.month - 1]))
        if row.signed_up:
            total += (row.came - row.signed_up * p) ** 2 / (row.signed_up * p * (1 - p))
            shifts += 1
    freedom = max(0, shifts - len({row.date.month for row in attendance}))
    return max(1.0, (PRETENDED + total) / (PRETENDED + freedom)) if freedom else 1.0


def _places(attendance: Sequence[AttendanceRow]) -> float:
    """About how many different people signed up: the mean of each shift's sign-ups, summed over the shifts."""
    by_shift: dict[object, list[int]] = {}
    for row in attendance:
        by_shift.setdefault(row.shift or row.date.weekday(), []).append(row.signed_up)
    return math.fsum(math.fsum(counts) / len(counts) for counts in by_shift.values())


def _known(log_odds: float, sd: float, extra_sd: float) -> Known:
    """A chance from its log odds; `extra_sd` is added on the scale of the chance."""
    z = stats.norm.ppf([0.025, LOW, 0.5, HIGH, 0.975])
    p = 1 / (1 + np.exp(-(log_odds + sd * z)))
    middle = float(p[2])
    q = np.clip(middle + np.sign(p - middle) * np.hypot(p - middle, extra_sd * z), 0.0, 1.0)
    nodes = stats.norm.ppf((np.arange(200) + 0.5) / 200)
    chances = 1 / (1 + np.exp(-(log_odds + sd * nodes)))
    return Known(float(chances.mean()), math.hypot(float(chances.std()), extra_sd), *(float(value) for value in q))


def _weight(prior: np.ndarray, covariance: np.ndarray, attendance: Sequence[AttendanceRow]) -> float:
    """How many shifts the room file's chance of a month counts for."""
    people = sum(row.signed_up for row in attendance) / len(attendance) if attendance else 4.0
    p = float(prior.mean())
    sd = math.sqrt(covariance[0, 0]) * p * (1 - p)
    return p * (1 - p) / max(people, 1.0) / sd**2
