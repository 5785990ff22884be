"""What is grown and what is promised, asked from Python: what `growsim.promise` is.

    import datetime as dt
    import growsim

    weeks = growsim.promise("scenarios/millrace", "scenarios/millrace/shelves-2032-05-03.csv", date="2032-05-03")
    weeks.to_frame().query("partner == '' and crop == 'basil'")[["week_from", "safe_kg", "likely_kg", "possible_kg"]]
    [(late.partner, late.crop, late.date) for late in weeks.at_risk]

Results are frozen; everything they rest on hangs on them. Same files, seed and numbers: same results, to the last bit.
"""

from __future__ import annotations

import datetime as dt
from concurrent.futures import Executor
from pathlib import Path

from growsim.errors import InputError
from growsim.run.rehearsers import Progress
from growsim.spec.load import load_scenario
from growsim.spec.shelves import load_shelves
from growsim.study.promise import REPLICATIONS, Promises
from growsim.study.promise import promise as promise_for


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
    day = _date(date)
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


def _date(given: str | dt.date | None) -> dt.date:
    if given is None:
        return dt.date.today()
    if isinstance(given, dt.date):
        return given
    try:
        return dt.date.fromisoformat(given)
    except ValueError:
        raise InputError(f"date: {given!r} is no date of the calendar; give one such as '2031-01-06'.") from None
