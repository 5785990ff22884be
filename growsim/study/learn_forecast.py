"""Forecasting the last weeks of a record from what came before them, and scoring the forecast.

The record is cut off at a day: nothing that was not yet known then is used, neither for learning nor for saying what
stood on the shelves. The learned room is rehearsed on from that day, with the room file's sowing plan, and its weeks
are held against those that came. Score: how many weeks fall into the range that holds eight in ten, and the pinball
loss at 10, 50 and 90 % (Koenker & Bassett 1978; Gneiting & Raftery 2007; both from memory), against 'the same as the
last four weeks': their mean, and the smallest and the largest of them as the range.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from growsim.errors import InputError
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Rehearsers
from growsim.spec.load import LoadedRoom
from growsim.spec.plan import RunPlan
from growsim.spec.records import FaultRow, Records, TrayRow
from growsim.spec.scenario import Scenario
from growsim.study.learn import Learning, learn
from growsim.study.learn_shelves import shelves_on
from growsim.study.learned import HIGH, LOW

if TYPE_CHECKING:
    from growsim.ledger.outcome import Outcome

Progress = Callable[[int, int], None]

NAIVE_WEEKS = 4
QUANTILES = (LOW, 0.5, HIGH)
FEWEST_WEEKS_BEFORE = 8


@dataclass(frozen=True)
class Week:
    """One week held back: what came, what was forecast (low, middle, high), what the last four weeks would say."""

    begins: dt.date
    came: float
    forecast: tuple[float, float, float]
    naive: tuple[float, float, float]


@dataclass(frozen=True)
class Scored:
    """One series of weeks: kilograms cut, people who came."""

    key: str
    label: str
    unit: str
    weeks: tuple[Week, ...]

    @property
    def inside(self) -> int:
        """Weeks within the forecast range."""
        return sum(week.forecast[0] <= week.came <= week.forecast[2] for week in self.weeks)

    @property
    def naive_inside(self) -> int:
        """Weeks within the range of the last four."""
        return sum(week.naive[0] <= week.came <= week.naive[2] for week in self.weeks)

    @property
    def loss(self) -> float:
        """Mean pinball loss of the forecast, in the unit of the series."""
        return float(np.mean([pinball(week.came, week.forecast) for week in self.weeks]))

    @property
    def naive_loss(self) -> float:
        """Mean pinball loss of 'the same as the last four weeks'."""
        return float(np.mean([pinball(week.came, week.naive) for week in self.weeks]))


@dataclass(frozen=True)
class HeldBack:
    """How well the last weeks were forecast. known_until: the last day that was used. lots: sowings on the shelves."""

    known_until: dt.date
    series: tuple[Scored, ...]
    seed: int
    replications: int
    lots: int


def pinball(came: float, quantiles: Sequence[float]) -> float:
    """Pinball loss of three quantiles (10, 50, 90 %), their mean: what a forecast too low or too high costs."""
    return float(
        np.mean([max(q * (came - x), (q - 1) * (came - x)) for q, x in zip(QUANTILES, quantiles, strict=True)])
    )


def hold_back(
    room: LoadedRoom,
    prepared: Prepared,
    records: Records,
    weeks: int,
    *,
    no_faults: bool = False,
    seed: int,
    replications: int,
    workers: int = 1,
    progress: Progress | None = None,
) -> HeldBack:
    """Learn from all but the last weeks, forecast those, and score the forecast.

    Raises InputError where the record is too short for that, or its trays tell of no cut in those weeks.
    """
    from_day = records.last - dt.timedelta(days=7 * weeks - 1)
    before = (from_day - records.first).days // 7
    if before < FEWEST_WEEKS_BEFORE:
        raise InputError(
            f"--hold-back {weeks}w: the record has {before} weeks before that; keep at least {FEWEST_WEEKS_BEFORE} to "
            f"learn from, e.g. --hold-back {max(1, weeks + before - FEWEST_WEEKS_BEFORE)}w."
        )
    known = as_known_on(records, from_day, prepared.scenario)
    learning = learn(room, prepared, known, no_faults=no_faults)
    lots = shelves_on(from_day, known.trays, learning.scenario)
    plan = RunPlan(days=7 * weeks, start="shelves", shelves=lots)
    outcomes = _rehearsed(learning, from_day, plan, seed, replications, workers, progress)
    series = []
    if any(row.cut is not None and row.cut >= from_day and row.grams for row in records.trays):
        kg = Scored("kg_cut", "kilograms cut", "kg", ())
        series.append(_scored(kg, from_day, weekly_kg(records, from_day, weeks), outcomes, "kg_cut"))
    if any(row.date >= from_day for row in records.visits):
        people = Scored("volunteers_came", "people who came", "people", ())
        series.append(_scored(people, from_day, weekly_came(records, from_day, weeks), outcomes, "volunteers_came"))
    if not series:
        raise InputError(f"--hold-back {weeks}w: the record tells of no cut and no shift in its last {weeks} weeks.")
    return HeldBack(from_day - dt.timedelta(days=1), tuple(series), seed, replications, len(lots))


def as_known_on(records: Records, day: dt.date, scenario: Scenario) -> Records:
    """The record as it stood on the morning of a day: later rows gone, later entries of a row blank."""
    up_after = {crop.name: max(crop.emergence.days) + 1 for crop in scenario.crops}
    trays: list[TrayRow] = []
    for row in records.trays:
        if row.sown >= day or (row.cut is not None and row.cut >= day and row.cut_number > 1):
            continue
        known = row
        if (day - row.sown).days <= up_after[row.crop]:
            known = replace(known, emerged=None)
        if row.moved is not None and row.moved >= day:
            known = replace(known, moved=None)
        if row.moved_again is not None and row.moved_again >= day:
            known = replace(known, moved_again=None)
        if row.cut is None or row.cut >= day:
            known = replace(known, cut=None, plants_cut=None, grams=None, lost=None, lost_to=None)
        trays.append(known)
    faults: list[FaultRow] = []
    for fault in records.faults:
        if fault.date < day:
            late = fault.repaired is not None and fault.repaired.date() >= day
            faults.append(replace(fault, repaired=None) if late else fault)
    return replace(
        records,
        trays=tuple(trays),
        visits=tuple(row for row in records.visits if row.date < day),
        work=tuple(row for row in records.work if row.date < day),
        faults=tuple(faults),
    )


def weekly_kg(records: Records, from_day: dt.date, weeks: int) -> list[float]:
    """Kilograms cut in each week, from NAIVE_WEEKS before `from_day` on."""
    kg = [0.0] * (NAIVE_WEEKS + weeks)
    for row in records.trays:
        if row.cut is not None and row.grams:
            week = (row.cut - from_day).days // 7 + NAIVE_WEEKS
            if 0 <= week < len(kg):
                kg[week] += row.grams / 1000.0
    return kg


def weekly_came(records: Records, from_day: dt.date, weeks: int) -> list[float]:
    """People who came in each week, from NAIVE_WEEKS before `from_day` on."""
    people = [0.0] * (NAIVE_WEEKS + weeks)
    for row in records.visits:
        week = (row.date - from_day).days // 7 + NAIVE_WEEKS
        if 0 <= week < len(people):
            people[week] += row.came
    return people


def _rehearsed(
    learning: Learning,
    from_day: dt.date,
    plan: RunPlan,
    seed: int,
    replications: int,
    workers: int,
    progress: Progress | None,
) -> list[Outcome]:
    scenario = learning.scenario
    moved_on = scenario.model_copy(
        update={"room": scenario.room.model_copy(update={"start_date": from_day}), "outages": ()}
    )
    with Rehearsers(workers) as rehearsers:
        tell = progress or (lambda done, total: None)
        return rehearsers.run({"": prepare(moved_on)}, seed, range(replications), plan, tell)[""]


def _scored(series: Scored, from_day: dt.date, came: Sequence[float], outcomes: Sequence[Outcome], name: str) -> Scored:
    """The series with its weeks. name: of the weekly series of an outcome."""
    rehearsed = np.array([outcome.weeks[name] for outcome in outcomes])
    before = came[:NAIVE_WEEKS]
    naive = (min(before), float(np.mean(before)), max(before))
    weeks = []
    for week, value in enumerate(came[NAIVE_WEEKS:]):
        low, middle, high = (float(x) for x in np.quantile(rehearsed[:, week], QUANTILES))
        weeks.append(Week(from_day + dt.timedelta(days=7 * week), value, (low, middle, high), naive))
    return replace(series, weeks=tuple(weeks))
