"""The answer about people as tidy tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from growsim.study.rota import people_today

if TYPE_CHECKING:
    from growsim.study.crew.question import CrewStudy

SIGN_UP_COLUMNS = [
    "shift", "weekday", "month", "season", "chance_of_coming", "people_today", "people_needed", "people_to_add",
    "people_expected_to_come",
]  # fmt: skip
ONE_LESS_COLUMNS = ["shift", "measure", "difference", "low", "high", "n"]
CREW_COLUMNS = ["crew", "season", "places", "volunteer_hours_per_week", "orders_filled_fraction",
                "tasks_on_time_fraction", "kg_handed_out_per_week", "years"]  # fmt: skip
LATE_COLUMNS = ["crew", "volunteer_hours_per_week", "task", "late_fraction"]
SEASON_COLUMNS = ["season", "months", "measure", "goal", "asked", "hangs_on_ample", "mean", "low", "high", "proven"]


def sign_up_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a shift and month (1 to 12); seasons are numbered from 1, the one of least need first."""
    season_of = {m: number for number, each in enumerate(study.seasons, start=1) for m in each.season.months}
    chances = study.scenario.crew.chance_of_coming
    rows = []
    for number, shift in enumerate(study.scenario.crew.shifts):
        needed, today = study.people(number), people_today(shift)
        for month in range(12):
            come = needed[month] * chances[month]
            rows.append(
                (shift.name, shift.weekday, month + 1, season_of[month], chances[month], today[month], needed[month],
                 needed[month] - today[month], round(come, 6))
            )  # fmt: skip
    return pd.DataFrame(rows, columns=SIGN_UP_COLUMNS)


def one_less_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a shift and figure: paired difference with one person less, ranges holding all at once at 95 %."""
    rows = [
        (less.shift, key, found.mean, found.low, found.high, found.n)
        for less in study.one_less
        for key, found in less.differences.items()
    ]
    return pd.DataFrame(rows, columns=ONE_LESS_COLUMNS).astype({"low": float, "high": float})


def crews_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a size of crew and season: its sign-ups there, and what it brings over the year."""
    rows = [
        (name, season, places, rung.hours, rung.orders, rung.on_time, rung.kg, rung.years)
        for name, rung in study.named_rungs()
        for season, places in enumerate(rung.places, start=1)
    ]
    return pd.DataFrame(rows, columns=CREW_COLUMNS)


def late_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a size of crew and task: share of its jobs that are late."""
    rows = [(name, rung.hours, task, share) for name, rung in study.named_rungs() for task, share in rung.late.items()]
    return pd.DataFrame(rows, columns=LATE_COLUMNS)


def seasons_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a season and figure: the goal, what was asked, what the answer gives, whether it was proven."""
    rows = [
        (number, " ".join(str(month + 1) for month in each.season.months), key, target.wanted, target.asked,
         target.below_ample is not None, *each.values.get(key, (None, None, None)), each.end == "proven")
        for number, each in enumerate(study.seasons, start=1)
        for key, target in each.targets.items()
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=SEASON_COLUMNS).astype({"mean": float, "low": float, "high": float})
