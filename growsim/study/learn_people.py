"""What the tables of visits and work teach: who comes, and how long work takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from growsim.spec.people import TASK_UNITS, Crew, Task
from growsim.spec.records import VisitRow, WorkRow
from growsim.study.learn_coming import Coming, learn_coming
from growsim.study.learn_minutes import (
    PRIOR_RECORDS,
    Hands,
    LogMean,
    hands_of,
    is_long_enough,
    learn_task,
    log_ratio,
)
from growsim.study.learn_odd import Seen, drift_of, odd_rows
from growsim.study.learned import Known, Learned, Lesson

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip
_COMING = "logistic regression about the room file's chances (Gelman et al. 2013; McCullagh & Nelder 1989)"
_MINUTES = "normal-inverse-gamma on logarithms (Gelman et al. 2013; Murphy 2007)"


def lesson_of_visits(visits: Sequence[VisitRow], crew: Crew, said: str) -> Lesson:
    """Chance of coming, month by month."""
    expected = crew.chance_of_coming
    seen = [
        Seen(row, row.came / row.signed_up - expected[row.date.month - 1], math.sqrt(0.2 / row.signed_up))
        for row in visits
        if row.signed_up
    ]
    odd, out = odd_rows(seen, lambda each, _: _shift_says(each))
    kept = [row for row in visits if row not in out]
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
            f"No shift is written down for {', '.join(silent)}: there the chance of coming moves only as far as the "
            "other months move it."
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
    assert isinstance(row, VisitRow)
    return f"{row.came} of {row.signed_up} signed up came; that is far from usual for {MONTHS[row.date.month - 1]}"


def _chances(coming: Coming, said: str) -> dict[str, Any]:
    return {
        "chance_of_coming": [round(min(1.0, max(0.0, known.mean)), 4) for known in coming.after],
        "chance_doubt_sd": [round(min(0.4, known.sd), 4) for known in coming.after],
        "source": f"chance of coming learned from {sum(coming.rows)} shifts ({said}); the room file's counted as "
        f"{coming.weight:.1f} shifts a month; other figures as before",
    }


def lesson_of_work(work: Sequence[WorkRow], visits: Sequence[VisitRow], crew: Crew, said: str) -> Lesson:
    """Minutes of each kind of work, at a practised pace."""
    hands = hands_of(crew, visits)
    lessons = [_task(task, [row for row in work if row.task == task.name], crew, hands, said) for task in crew.tasks]
    known = {task.name for task in crew.tasks}
    strange = sorted({row.task for row in work} - known)
    notes = [f"The room file does not name the work {', '.join(strange)}; its rows teach nothing."] if strange else []
    if work:
        notes.append(
            "Minutes are turned into those of practised hands: with beginners among them, the room file's crew takes "
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
    unit = TASK_UNITS[task.name]
    each_unit = task.minutes_per_unit.expected()
    per = each_unit if each_unit > 0 else task.fixed_minutes.expected()
    label = f"minutes for each {unit}" if each_unit > 0 else "minutes for each job"
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
