"""The record and the week, asked from Python: what `growsim.learn` and `growsim.sheet` are.

    import growsim

    learned = growsim.learn("scenarios/millrace", "records")
    learned.to_frame().query("records > 0")[["label", "what", "stated", "after", "after_low", "after_high"]]
    [aside for aside in learned.records.set_aside]
    week = growsim.sheet("scenarios/millrace", week="2032-05-03")
    week.to_frame().groupby(["date", "shift"])["minutes"].sum()

Results are frozen; everything they rest on hangs on them. Same files, seed and numbers: same results, to the last bit.
"""

from __future__ import annotations

import datetime as dt
from concurrent.futures import Executor
from pathlib import Path
from typing import Literal

from growsim.run.prepare import prepare_room
from growsim.run.rehearsers import Progress
from growsim.spec.load import load_scenario
from growsim.spec.record_files import read_records
from growsim.spec.shelves import load_shelves
from growsim.study.learn import Learning
from growsim.study.learn import learn as learn_from
from growsim.study.notebook_plans import date_from
from growsim.study.week import REPLICATIONS, WeekPlan, this_week, week_plan


def learn(
    room: str | Path,
    records: str | Path,
    *,
    dates: Literal["day-first", "month-first"] | None = None,
    since: str | dt.date | None = None,
    until: str | dt.date | None = None,
    no_faults: bool = False,
) -> Learning:
    """What the room's own record says about it: a folder of tables, or one file (CSV or XLSX).

    dates: how dates such as 3/4/2031 are meant. since, until: use rows from and up to that day. no_faults: an empty
    table of faults means that nothing failed. Rows that cannot be used are in `.records.set_aside`, by line. Raises
    RoomFileError with every fault of a file, or InputError for a date that cannot be.
    """
    loaded = load_scenario(Path(room))
    kept = read_records(
        Path(records),
        loaded.scenario,
        order=dates,
        since=None if since is None else date_from(since),
        until=None if until is None else date_from(until),
    )
    return learn_from(loaded, prepare_room(loaded), kept, no_faults=no_faults)


def sheet(
    room: str | Path,
    *,
    week: str | dt.date | None = None,
    shelves: str | Path | None = None,
    date: str | dt.date | None = None,
    seed: int | None = None,
    replications: int = REPLICATIONS,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> WeekPlan:
    """What the team does in a week, shift by shift.

    week: a day of the week wanted; where None, that of the count, else today's if the room file's time holds it, else
    the room's first. shelves: the file of today's count, taken on the
    morning of `date` (today where None); without it the plan has been running for a while. The rest as in
    `growsim.promise`. Raises RoomFileError with every fault of a file, or InputError for a date that cannot be.
    """
    loaded = load_scenario(Path(room))
    counted = None if shelves is None else date_from(date)
    if week is None and counted is None:
        week = this_week(loaded.scenario, date_from(None))
    return week_plan(
        loaded,
        week=None if week is None else date_from(week),
        today=None if counted is None or shelves is None else load_shelves(Path(shelves), loaded.scenario, counted),
        date=counted,
        seed=loaded.scenario.rehearsal.seed if seed is None else seed,
        replications=replications,
        workers=workers,
        progress=progress,
        executor=executor,
    )
