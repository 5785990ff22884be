"""The record and the weeks ahead, asked from Python: what `growsim.learn`, `.promise`, `.sheet` and `.sow` are.

    import growsim

    learned = growsim.learn("scenarios/millrace", "records")
    learned.to_frame().query("records > 0")[["label", "what", "stated", "after", "after_low", "after_high"]]
    [aside for aside in learned.records.set_aside]
    weeks = growsim.promise("scenarios/millrace", "scenarios/millrace/shelves-2032-05-03.csv", date="2032-05-03")
    weeks.to_frame().query("partner == '' and crop == 'basil'")[["week_from", "safe_kg", "likely_kg", "possible_kg"]]
    [(late.partner, late.crop, late.date) for late in weeks.at_risk]
    week = growsim.sheet("scenarios/millrace", week="2032-05-03")
    week.to_frame().groupby(["date", "shift"])["minutes"].sum()
    plan = growsim.sow("scenarios/tiny", certainty=0.9, replications=20)
    plan.to_frame().query("week == 1")[["date", "crop", "cells"]]
    [(kept.order.partner, kept.order.crop, kept.share) for kept in plan.short]

Results are frozen; everything they rest on hangs on them. Same files, seed and numbers: same results, to the last bit.
"""

from __future__ import annotations

import datetime as dt
from concurrent.futures import Executor
from pathlib import Path
from typing import Literal

from growsim.errors import InputError
from growsim.run.prepare import prepare_room
from growsim.run.rehearsers import Progress
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.shelves import load_shelves
from growsim.study.learn.question import Learning
from growsim.study.learn.question import learn as learn_from
from growsim.study.promise.answer import Promises
from growsim.study.promise.question import promise as promise_for
from growsim.study.review.question import Review
from growsim.study.review.question import review as review_for
from growsim.study.sow.answer import SowingPlan
from growsim.study.sow.question import CERTAINTY
from growsim.study.sow.question import sow as sow_for
from growsim.study.standing import RECORDS, SHELVES, counts_in
from growsim.study.week.question import WeekPlan, this_week, week_plan
from growsim.vocabulary.questions import BY_NAME, PLANNED_WEEKS, POSSIBLE_FUTURES


def promise(
    room: str | Path,
    shelves: str | Path,
    *,
    date: str | dt.date | None = None,
    weeks: int | None = None,
    seed: int | None = None,
    replications: int = POSSIBLE_FUTURES,
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
    days: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> SowingPlan:
    """The sowing plan of least seed that meets every standing order with a certainty, or the best there is.

    What is left out is the room file's. certainty: share of its weeks in which each order is met in full. replications:
    fresh years for the proof. The rest as in `promise`. Raises RoomFileError, or InputError for what cannot be.
    """
    loaded = load_scenario(Path(room))
    defaults = loaded.scenario.rehearsal
    return sow_for(
        loaded,
        run=RunPlan(defaults.days if days is None else days, defaults.warm_up_days),
        seed=defaults.seed if seed is None else seed,
        certainty=certainty,
        replications=replications,
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


def review(
    room: str | Path,
    records: str | Path | None = None,
    *,
    week: str | dt.date | None = None,
    seed: int | None = None,
    replications: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Review:
    """The week that was, held against what the room as described gives for it.

    records: the folder `records` beside the room file where None. week: a day of it; the record's last where None. The
    rest as in `growsim.promise`. Raises RoomFileError with every fault of a file, or InputError for a week of which
    nothing is on record.
    """
    loaded = load_scenario(Path(room))
    home = loaded.path.parent
    kept = read_records(home / RECORDS if records is None else Path(records), loaded.scenario)
    years = BY_NAME["review"].years
    assert years is not None
    return review_for(
        loaded,
        kept,
        week=None if week is None else date_from(week),
        counts=counts_in(home / SHELVES, loaded.scenario),
        learn=lambda known: learn_from(loaded, prepare_room(loaded), known).change,
        seed=loaded.scenario.rehearsal.seed if seed is None else seed,
        replications=years.unless_said(replications, loaded.scenario.rehearsal.replications),
        workers=workers,
        progress=progress,
        executor=executor,
    )


def sheet(
    room: str | Path,
    *,
    week: str | dt.date | None = None,
    shelves: str | Path | None = None,
    date: str | dt.date | None = None,
    seed: int | None = None,
    replications: int = PLANNED_WEEKS,
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
