"""What is grown and what is promised, asked from Python: what `growsim.sow` and `growsim.promise` are.

    import datetime as dt
    import growsim

    weeks = growsim.promise("scenarios/millrace", "scenarios/millrace/shelves-2032-05-03.csv", date="2032-05-03")
    weeks.to_frame().query("partner == '' and crop == 'basil'")[["week_from", "safe_kg", "likely_kg", "possible_kg"]]
    [(late.partner, late.crop, late.date) for late in weeks.at_risk]
    plan = growsim.sow("scenarios/tiny", certainty=0.9, replications=20)
    plan.to_frame().query("week == 1")[["date", "crop", "cells"]]
    [(kept.order.partner, kept.order.crop, kept.share) for kept in plan.short]

Results are frozen; everything they rest on hangs on them. Same files, seed and numbers: same results, to the last bit.
"""

from __future__ import annotations

import datetime as dt
from concurrent.futures import Executor
from pathlib import Path

from growsim.errors import InputError
from growsim.run.rehearsers import Progress
from growsim.spec.load import load_scenario
from growsim.spec.plan import RunPlan
from growsim.spec.shelves import load_shelves
from growsim.study.promise import REPLICATIONS, Promises
from growsim.study.promise import promise as promise_for
from growsim.study.sow import CERTAINTY, TRIAL_YEARS, SowingPlan
from growsim.study.sow import sow as sow_for


def promise(
    room: str | Path,
    shelves: str | Path,
    *,
    date: str | dt.date | None = None,
    weeks: int | None = None,
    seed: int | None = None,
    replications: int = REPLICATIONS,
    rescue: bool = True,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Promises:
    """What can be promised for the coming weeks from what stands on the shelves.

    shelves: the file of today's count. date: the morning of it, today where None. weeks: as many as the slowest crop
    takes where None. rescue: also try what would save deliveries at risk. workers: processes; executor: any
    concurrent.futures.Executor instead. Neither changes a number. progress: called with (done, total). Raises
    RoomFileError with every fault of a file, or InputError for a number or date that cannot be.
    """
    loaded = load_scenario(Path(room))
    day = date_from(date)
    return promise_for(
        loaded,
        load_shelves(Path(shelves), loaded.scenario, day),
        date=day,
        seed=loaded.scenario.rehearsal.seed if seed is None else seed,
        weeks=weeks,
        replications=replications,
        rescue=rescue,
        workers=workers,
        progress=progress,
        executor=executor,
    )


def sow(
    room: str | Path,
    *,
    certainty: float = CERTAINTY,
    seed: int | None = None,
    replications: int | None = None,
    trial_years: int = TRIAL_YEARS,
    days: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> SowingPlan:
    """The sowing plan of least seed that meets every standing order with a certainty, or the best there is.

    What is left out is the room file's. certainty: share of its weeks in which each order is met in full. replications:
    fresh years for the proof; trial_years: in which plans are tried. The rest as in `promise`. Raises RoomFileError, or
    InputError for a number that cannot be.
    """
    loaded = load_scenario(Path(room))
    defaults = loaded.scenario.rehearsal
    return sow_for(
        loaded,
        plan=RunPlan(defaults.days if days is None else days, defaults.run_in_days),
        seed=defaults.seed if seed is None else seed,
        certainty=certainty,
        replications=replications,
        trial_years=trial_years,
        workers=workers,
        progress=progress,
        executor=executor,
    )


def date_from(given: str | dt.date | None) -> dt.date:
    """A date as such or as text (2031-01-06), today where None. Raises InputError."""
    if given is None:
        return dt.date.today()
    if isinstance(given, dt.date):
        return given
    try:
        return dt.date.fromisoformat(given)
    except ValueError:
        raise InputError(f"date: {given!r} is no date of the calendar; give one such as '2031-01-06'.") from None
