"""Which task is late first: the late share of every task as the crew shrinks from ample to the fewest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.ledger.outcome import Outcome

MOST_TASKS = 3  # that are told of the last people
FOR_THEM = 0.01  # a task whose late share rises by less without them does not need them
CLEARLY_MORE = 0.05  # a task's late share this far above its share with an ample crew is no accident


@dataclass(frozen=True)
class Rung:
    """One size of crew, the whole year round.

    places: sign-ups a week, by season. hours: volunteer hours that come a week, on average. orders, on_time: means over
    the years, None where they do not exist. late: task -> share of its jobs that are late.
    """

    places: tuple[int, ...]
    hours: float
    orders: float | None
    on_time: float | None
    kg: float | None
    late: dict[str, float]
    years: int


@dataclass(frozen=True)
class LateFirst:
    """The task whose late share rises first as the crew shrinks, and how far it has risen there.

    rung: index into the rungs given. None for all where no share rises clearly.
    """

    task: str | None
    rung: int | None
    share: float | None
    share_with_ample: float | None


def rung_of(places: tuple[int, ...], outcomes: Sequence[Outcome], days: int) -> Rung:
    """What many years with one size of crew come to."""
    n = len(outcomes)

    def mean(key: str) -> float | None:
        found = [outcome.measures[key] for outcome in outcomes if key in outcome.measures]
        return math.fsum(found) / len(found) if found else None

    return Rung(
        places,
        math.fsum(outcome.accounts.get("hours:volunteers", 0.0) for outcome in outcomes) / n / days * 7,
        mean("orders_filled_fraction"),
        mean("tasks_on_time_fraction"),
        mean("kg_handed_out_per_week"),
        late_shares(outcomes),
        n,
    )


def late_shares(outcomes: Sequence[Outcome], weeks: Sequence[int] | None = None) -> dict[str, float]:
    """Task -> late jobs for each job, over all years, in some of their weeks or all."""
    done: dict[str, float] = {}
    late: dict[str, float] = {}
    for outcome in outcomes:
        for name, series in outcome.weeks.items():
            kind, _, task = name.partition(":")
            if kind in ("done", "late"):
                total = done if kind == "done" else late
                counted = series if weeks is None else [series[week] for week in weeks]
                total[task] = total.get(task, 0.0) + math.fsum(counted)
    return {task: late.get(task, 0.0) / jobs for task, jobs in sorted(done.items()) if jobs > 0}


def last_people(
    outcomes: Sequence[Outcome], with_fewer: Sequence[Outcome], weeks: Sequence[int]
) -> tuple[tuple[str, float, float], ...]:
    """What the last people of a season are there for: (task, late share with them, without them), in these weeks.

    with_fewer: the same years without them. The tasks that rise most, at most MOST_TASKS.
    """
    with_all, without = late_shares(outcomes, weeks), late_shares(with_fewer, weeks)
    rises = [(task, with_all.get(task, 0.0), share) for task, share in without.items()]
    rises = [each for each in rises if each[2] - each[1] >= FOR_THEM]
    return tuple(sorted(rises, key=lambda each: (each[1] - each[2], each[0]))[:MOST_TASKS])


def late_first(rungs: Sequence[Rung]) -> LateFirst:
    """From the largest crew down: the first task to be late clearly more often than with the largest.

    rungs: smallest crew first. Where several rise at the same step, the one that rises most.
    """
    ample = rungs[-1].late
    for number in range(len(rungs) - 2, -1, -1):
        rises = {task: share - ample.get(task, 0.0) for task, share in rungs[number].late.items()}
        task = max(rises, key=lambda name: (rises[name], name), default=None)
        if task is not None and rises[task] >= CLEARLY_MORE:
            return LateFirst(task, number, rungs[number].late[task], ample.get(task, 0.0))
    return LateFirst(None, None, None, None)
