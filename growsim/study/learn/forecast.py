"""Forecasting the last weeks of a record from what came before them, and scoring the forecast.

The forecast begins with what stood on the shelves that day, by the table of trays: sowings not yet harvested for the
last time.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from growsim.errors import InputError
from growsim.growth.germination import days_to_emerge
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Rehearsers
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.load import LoadedRoom
from growsim.scenario.placing import place
from growsim.scenario.plan import RunPlan, ShelfLot
from growsim.scenario.record.record import FaultRow, PlantingRow, Records
from growsim.scenario.scenario import Scenario
from growsim.study.learn.learned import QUANTILES, ForecastCheck, Scored, Week
from growsim.study.learn.question import Learning, learn

if TYPE_CHECKING:
    from growsim.ledger.outcome import Outcome

Progress = Callable[[int, int], None]

NAIVE_WEEKS = 4
FEWEST_WEEKS_BEFORE = 8


def forecast_last(
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
) -> ForecastCheck:
    """Learn from all but the last weeks, forecast those, and score the forecast.

    Raises InputError where the record is too short for that, or its trays tell of no harvest in those weeks.
    """
    from_day = records.last - dt.timedelta(days=7 * weeks - 1)
    before = (from_day - records.first).days // 7
    if before < FEWEST_WEEKS_BEFORE:
        raise InputError(
            f"--forecast-last {weeks}w: the record has {before} weeks before that; keep at least "
            f"{FEWEST_WEEKS_BEFORE} to learn from, "
            f"e.g. --forecast-last {max(1, weeks + before - FEWEST_WEEKS_BEFORE)}w."
        )
    known = as_known_on(records, from_day, prepared.scenario)
    learning = learn(room, prepared, known, no_faults=no_faults)
    lots = shelves_on(from_day, known.plantings, learning.scenario)
    plan = RunPlan(days=7 * weeks, start="shelves", shelves=lots)
    outcomes = _rehearsed(learning, from_day, plan, seed, replications, workers, progress)
    series = []
    if any(row.harvested is not None and row.harvested >= from_day and row.grams for row in records.plantings):
        kg = Scored("kg_packed", "greens harvested", "kg", ())
        series.append(_scored(kg, from_day, weekly_kg(records, from_day, weeks), outcomes, "kg_packed"))
    if any(row.date >= from_day for row in records.attendance):
        people = Scored("volunteers_came", "people who came", "people", ())
        series.append(_scored(people, from_day, weekly_came(records, from_day, weeks), outcomes, "volunteers_came"))
    if not series:
        raise InputError(
            f"--forecast-last {weeks}w: the record tells of no harvest and no shift in its last {weeks} weeks."
        )
    return ForecastCheck(from_day - dt.timedelta(days=1), tuple(series), seed, replications, len(lots))


def as_known_on(records: Records, day: dt.date, scenario: Scenario) -> Records:
    """The record as it stood on the morning of a day: later rows gone, later entries of a row blank."""
    up_after = {crop.name: max(crop.emergence.days) + 1 for crop in scenario.crops}
    trays: list[PlantingRow] = []
    for row in records.plantings:
        if row.sown >= day or (row.harvested is not None and row.harvested >= day and row.harvest_number > 1):
            continue
        known = row
        if (day - row.sown).days <= up_after[row.crop]:
            known = replace(known, emerged=None)
        if row.transplanted is not None and row.transplanted >= day:
            known = replace(known, transplanted=None)
        if row.transplanted_again is not None and row.transplanted_again >= day:
            known = replace(known, transplanted_again=None)
        if row.harvested is None or row.harvested >= day:
            known = replace(known, harvested=None, plants_harvested=None, grams=None, lost=None, lost_to=None)
        trays.append(known)
    faults: list[FaultRow] = []
    for fault in records.faults:
        if fault.date < day:
            late = fault.repaired is not None and fault.repaired.date() >= day
            faults.append(replace(fault, repaired=None) if late else fault)
    return replace(
        records,
        plantings=tuple(trays),
        attendance=tuple(row for row in records.attendance if row.date < day),
        work=tuple(row for row in records.work if row.date < day),
        faults=tuple(faults),
    )


def weekly_kg(records: Records, from_day: dt.date, weeks: int) -> list[float]:
    """Greens harvested in each week, from NAIVE_WEEKS before `from_day` on."""
    kg = [0.0] * (NAIVE_WEEKS + weeks)
    for row in records.plantings:
        if row.harvested is not None and row.grams:
            week = (row.harvested - from_day).days // 7 + NAIVE_WEEKS
            if 0 <= week < len(kg):
                kg[week] += row.grams / 1000.0
    return kg


def weekly_came(records: Records, from_day: dt.date, weeks: int) -> list[float]:
    """People who came in each week, from NAIVE_WEEKS before `from_day` on."""
    people = [0.0] * (NAIVE_WEEKS + weeks)
    for row in records.attendance:
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


def shelves_on(day: dt.date, trays: Sequence[PlantingRow], scenario: Scenario) -> tuple[ShelfLot, ...]:
    """Lots that stand there on the morning of `day`, as a shelves file would have them; nothing of later days is used.

    Plants are those that germinated less those known lost, or the cells sown while nothing is up. A sowing that ought
    to have been harvested long ago, and of which no harvest is written, is taken as gone. Trays for which the room has
    no slot are left out.
    """
    crops = {crop.name: crop for crop in scenario.crops}
    sowings: dict[tuple[dt.date, str], list[PlantingRow]] = defaultdict(list)
    for row in trays:
        if row.sown < day:
            sowings[row.sown, row.crop].append(row)
    lots: list[ShelfLot] = []
    for (sown, name), rows in sorted(sowings.items()):
        lots += _lots(day, sown, crops[name], rows, scenario)
    placing = place(lots, scenario)
    places = {tray.name: tray.places for tray in scenario.trays}
    fitting = []
    for lot, left_over in zip(lots, placing.left_over, strict=True):
        stage = next(stage for stage in crops[lot.crop].stages if stage.name == lot.stage)
        plants = (
            lot.plants if not left_over else (-(-lot.plants // places[stage.tray]) - left_over) * places[stage.tray]
        )
        if plants > 0:
            fitting.append(replace(lot, plants=min(plants, lot.plants)))
    return tuple(fitting)


def _lots(day: dt.date, sown: dt.date, crop: Crop, rows: Sequence[PlantingRow], scenario: Scenario) -> list[ShelfLot]:
    """The sowings of one crop on one day: plants not harvested yet, and plants harvested but not for the last time."""
    age = (day - sown).days
    found: list[ShelfLot] = []
    standing = 0
    for row in rows:
        if row.cells and row.harvested is None and row.harvest_number == 1:
            standing += _plants(row, age, crop, scenario)
        elif (
            row.cells and row.emerged is not None and row.harvest_number == 1
        ):  # harvested in several goes: what is left
            standing += row.emerged - (row.lost or 0)
    standing -= sum(row.plants or 0 for row in rows if row.harvested is not None and row.harvest_number == 1)
    if standing > 0 and age <= crop.typical_days * 1.3 + crop.overgrown_after_days:
        found.append(ShelfLot(f"{sown} {crop.name}", crop.name, _stage(crop, rows, age), age, standing))
    harvests = max((row.harvest_number for row in rows if row.harvested is not None), default=0)
    if 0 < harvests < crop.harvests:
        last = max(row.harvested for row in rows if row.harvested is not None and row.harvest_number == harvests)
        plants = sum(row.plants or 0 for row in rows if row.harvested is not None and row.harvest_number == harvests)
        if plants > 0 and (day - last).days <= crop.regrowth_days * 1.3 + crop.overgrown_after_days:
            stage = crop.stages_in_order()[-1].name
            found.append(ShelfLot(f"{sown} {crop.name} again", crop.name, stage, age, plants, harvests=harvests))
    return found


def _plants(row: PlantingRow, age: int, crop: Crop, scenario: Scenario) -> int:
    table = crop.emergence
    temperature = scenario.climate.air_temperature_c
    cells = row.cells or 0
    if age < days_to_emerge(temperature, table.temperature_c, table.days) + 0.5:
        return cells
    if row.emerged is not None:
        return max(0, row.emerged - (row.lost or 0))
    return round(cells * on_paper.filled_fraction(crop, temperature))


def _stage(crop: Crop, rows: Sequence[PlantingRow], age: int) -> str:
    """The stage it stands in: moved as written, or as planned for a later move of which nothing is written."""
    stages = crop.stages_in_order()
    moved = any(row.transplanted is not None for row in rows)
    again = any(row.transplanted_again is not None for row in rows) and len(stages) > 2
    if len(stages) == 1 or not (moved or again):
        return stages[0].name
    planned, index = stages[0].days, 2 if again else 1
    for number, stage in enumerate(stages[1:-1], start=1):
        planned += stage.days
        if age > planned:
            index = max(index, number + 1)
    return stages[index].name
