"""`growsim.outage` and `growsim.outage_event`: the questions of `growsim outage` from Python.

import growsim

all_of_it = growsim.outage("scenarios/millrace", replications=20, workers=2)
all_of_it.to_frame()[["protection", "kg", "kg_low", "kg_high", "net"]]
event = growsim.outage_event("scenarios/millrace", machine="pump", where="wide one", day=130, hour=20, hours=24)
event.to_frame().query("measure == 'kg_missing'")
"""

from __future__ import annotations

from concurrent.futures import Executor
from pathlib import Path

from pydantic import ValidationError

from growsim.errors import InputError
from growsim.run.prepare import prepare_room
from growsim.run.rehearsers import Progress
from growsim.spec.equipment import PlannedOutage
from growsim.spec.lacking import refuse_lacking
from growsim.spec.load import LoadedRoom, load_scenario
from growsim.spec.plan import RunPlan
from growsim.study.outage import Outages, study_outages
from growsim.study.outage_event import OutageEvent, study_event


def outage(
    room: str | Path,
    *,
    seed: int | None = None,
    replications: int | None = None,
    days: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Outages:
    """Study all outages of a room: how long there is, what they cost in a year, what each protection is worth.

    What is left out is the room file's. workers: processes; executor: any concurrent.futures.Executor instead. Neither
    changes a number. Raises RoomFileError, or InputError for a number that cannot be.
    """
    loaded, plan = _opened(room, days)
    refuse_lacking(loaded)
    return study_outages(
        loaded.scenario,
        seed=_seed(loaded, seed),
        replications=replications or max(2, loaded.scenario.rehearsal.replications),
        plan=plan,
        workers=workers,
        progress=progress,
        executor=executor,
    )


def outage_event(
    room: str | Path,
    *,
    machine: str,
    where: str = "",
    day: int,
    hour: float = 0.0,
    hours: float = 24.0,
    seed: int | None = None,
    replications: int | None = None,
    days: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> OutageEvent:
    """What one outage costs, against the same year without it.

    machine: pump, timer, lights, heat pump, co2, power or tub leak. where: the tub or light bank. day: counted from 0.
    The rest as in `outage`. Raises RoomFileError, or InputError for an outage that cannot be.
    """
    loaded, plan = _opened(room, days)
    try:
        given = PlannedOutage.model_validate(
            {
                "name": "given",
                "machine": machine,
                "where": where,
                "start_day": day,
                "start_hour": hour,
                "hours": hours,
            }
        )
    except ValidationError as refused:
        first = refused.errors(include_url=False)[0]
        raise InputError(f"{first['loc'][0]}: {first['input']!r} is not possible ({first['msg']}).") from None
    return study_event(
        loaded.scenario,
        given,
        seed=_seed(loaded, seed),
        replications=replications or max(2, loaded.scenario.rehearsal.replications),
        plan=plan,
        workers=workers,
        progress=progress,
        executor=executor,
    )


def _opened(room: str | Path, days: int | None) -> tuple[LoadedRoom, RunPlan]:
    loaded = load_scenario(Path(room))
    prepare_room(loaded)  # a crop that cannot grow is said of the file and crop
    defaults = loaded.scenario.rehearsal
    return loaded, RunPlan(defaults.days if days is None else days, defaults.run_in_days)


def _seed(room: LoadedRoom, seed: int | None) -> int:
    return room.scenario.rehearsal.seed if seed is None else seed
