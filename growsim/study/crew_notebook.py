"""`growsim.crew`: the question about people from Python.

import growsim

found = growsim.crew("scenarios/millrace", replications=40, workers=2)
found.to_frame().pivot(index="shift", columns="month", values="people_needed")
"""

from __future__ import annotations

from concurrent.futures import Executor
from pathlib import Path
from typing import Literal

from growsim.run.rehearsers import Progress
from growsim.spec.load import load_scenario
from growsim.spec.plan import RunPlan
from growsim.study.crew import MARGIN, ZONE, CrewStudy
from growsim.study.crew import crew as crew_of
from growsim.study.crew_goals import ON_TIME, ORDERS


def crew(
    room: str | Path,
    *,
    tasks_on_time_fraction: float | None = None,
    orders_filled_fraction: float | None = None,
    seed: int | None = None,
    replications: int | None = None,
    precision_percent: float | None = None,
    days: int | None = None,
    start: Literal["filled", "empty"] = "filled",
    zone: float = ZONE,
    margin: float = MARGIN,
    at_least: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> CrewStudy:
    """The smallest sign-up by shift and month that meets the goals, with what it rests on.

    What is left out is the room file's. replications: fresh years of the proof; the search takes more. zone, margin:
    fractions, see `growsim crew --help`. workers: processes; executor: any concurrent.futures.Executor instead. Neither
    changes a number. Raises RoomFileError, or InputError for a number that cannot be.
    """
    loaded = load_scenario(Path(room))
    defaults = loaded.scenario.rehearsal
    given = {ON_TIME: tasks_on_time_fraction, ORDERS: orders_filled_fraction}
    return crew_of(
        loaded,
        plan=RunPlan(defaults.days if days is None else days, defaults.run_in_days, start),
        seed=defaults.seed if seed is None else seed,
        replications=replications,
        precision_percent=precision_percent,
        goals={key: goal for key, goal in given.items() if goal is not None},
        zone=zone,
        margin=margin,
        at_least=at_least,
        workers=workers,
        progress=progress,
        executor=executor,
    )
