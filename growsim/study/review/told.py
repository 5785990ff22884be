"""Figures that a record tells by itself, week by week, and the same in made-up years of the room as described.

Seedlings of the cells that were sown, people who came of those signed up, minutes of the jobs that were timed, failures
of the machines that ran: nothing of these needs the room to be rehearsed. What the room file knows as a range is drawn
once for each made-up year, as in a rehearsal.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from growsim.chance.streams import Luck
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.machines import coming, machines_of
from growsim.scenario.people import Task
from growsim.scenario.record.record import Records
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.job_minutes import PACE_DOUBT, hands_of, is_long_enough, job_log_sd, log_ratio, moments
from growsim.vocabulary.machines import CAN_FAIL
from growsim.vocabulary.tasks import TASKS

MADE_UP_YEARS = 2000
WEEK_DAYS = 7
WEEK_HOURS = 168.0
_LEARNED = re.compile(r"learned from [^(]*\((\d{4}-\d{2}-\d{2}) to ")  # as `learn` writes a source


@dataclass(frozen=True)
class Told:
    """One figure of the record. what: of which crop, task or machine. seen: (weeks,), NaN where nothing is on record.
    made_up: (years, weeks). of: how much each week's is of (cells, sign-ups, jobs; 1 for failures). stated: what the
    room file says, low and high. key: of the room file, what would explain it. seen and made_up are sums over the week,
    but for minutes: there they are means of logarithms of what it took over what was expected. learned: from which
    week on the room file's figure was learned from the record; 0 where it was not: earlier weeks are no drift from it.
    a_year: failures as described."""

    kind: str
    what: str
    unit: str
    key: str
    seen: np.ndarray
    made_up: np.ndarray
    of: np.ndarray
    stated: tuple[float, float]
    learned: int = 0
    a_year: float = 0.0

    @property
    def watched(self) -> np.ndarray:
        """(weeks,) what is watched for a drift: seen since the room file's figure holds."""
        return np.where(np.arange(len(self.seen)) < self.learned, math.nan, self.seen)


def told_by(records: Records, scenario: Scenario, first: dt.date, weeks: int, seed: int) -> list[Told]:
    """Every figure with something on record in `weeks` weeks from the Monday `first` on."""
    rng = np.random.default_rng([seed, weeks])

    def week_of(day: dt.date) -> int | None:
        week = (day - first).days // WEEK_DAYS
        return week if 0 <= week < weeks else None

    found = [_seedlings(crop, records, scenario, week_of, weeks, rng, seed) for crop in scenario.crops]
    found.append(_people(records, scenario, week_of, weeks, rng, seed))
    found += [_minutes(task, records, scenario, week_of, weeks, rng) for task in scenario.crew.tasks]
    if records.faults or any(table.table == "faults" for table in records.tables):
        found += _failures(records, scenario, week_of, weeks, rng, seed)
    told = [each for each in found if each is not None and not np.isnan(each.seen).all()]
    return [replace(each, learned=_learned_week(each, scenario, first)) for each in told]


def _learned_week(told: Told, scenario: Scenario, first: dt.date) -> int:
    """The week of the first day that the figure was learned from, by what the room file says of its source."""
    if told.kind == "seedlings":
        source = on_paper.crops_by_name(scenario)[told.what].germination_fraction.source
    elif told.kind == "people":
        source = scenario.crew.source
    elif told.kind == "minutes":
        source = next(task for task in scenario.crew.tasks if task.name == told.what).minutes_per_unit.source
    else:
        sources = (machine.reliability.running_hours_to_failure for machine in machines_of(scenario)
                   if machine.kind == told.what)  # fmt: skip
        source = next((life.source for life in sources if life is not None), "")
    named = _LEARNED.search(source or "")
    return max(0, (dt.date.fromisoformat(named[1]) - first).days // WEEK_DAYS) if named else 0


WeekOf = Callable[[dt.date], int | None]


def drawn(figure: Uncertain, name: str, seed: int, low: float = 0.0, high: float = math.inf) -> np.ndarray:
    """What each made-up year has for a figure in doubt."""
    if figure.is_fixed:
        return np.full(MADE_UP_YEARS, figure.expected())
    years = (Luck(seed, year).stream(f"review.{name}").figure(figure) for year in range(MADE_UP_YEARS))
    values: np.ndarray = np.clip(np.fromiter(years, float, MADE_UP_YEARS), low, high)
    return values


def _stated(figure: Uncertain, name: str, seed: int) -> tuple[float, float]:
    values = drawn(figure, name, seed)
    return float(np.quantile(values, 0.025)), float(np.quantile(values, 0.975))


def _sums(weeks: int) -> np.ndarray:
    return np.full(weeks, math.nan)


def _add(sums: np.ndarray, week: int, amount: float) -> None:
    sums[week] = amount if math.isnan(sums[week]) else sums[week] + amount


def _seedlings(
    crop: Crop, records: Records, scenario: Scenario, week_of: WeekOf, weeks: int, rng: np.random.Generator, seed: int
) -> Told | None:
    if crop.is_cut_whole:
        return None
    share = drawn(crop.germination_fraction, f"{crop.name}.germination", seed, 0.0, 1.0)
    relative = on_paper.emergence_at(crop, scenario.climate.air_temperature_c)[1]
    seen, of, made_up = _sums(weeks), np.zeros(weeks), np.zeros((MADE_UP_YEARS, weeks))
    for row in records.plantings:
        week = week_of(row.sown)
        if row.crop != crop.name or week is None or not row.cells or row.emerged is None:
            continue
        _add(seen, week, row.emerged)
        of[week] += row.cells
        of_lot = _beta(share, crop.germination_spread_sd, rng) * relative
        filled = 1.0 - (1.0 - np.clip(of_lot, 0.0, 1.0)) ** (row.seeds_per_cell or crop.seeds_per_cell)
        made_up[:, week] += rng.binomial(row.cells, filled)
    low, high = (1.0 - (1.0 - min(1.0, each * relative)) ** crop.seeds_per_cell
                 for each in _stated(crop.germination_fraction, f"{crop.name}.germination", seed))  # fmt: skip
    key = f"crops.{crop.name}.germination_fraction"
    return Told("seedlings", crop.name, "cells", key, seen, made_up, of, (low, high))


def _beta(mean: np.ndarray, sd: float, rng: np.random.Generator) -> np.ndarray:
    """Shares about a mean, as the room draws them for a lot."""
    if sd <= 0:
        return mean
    inside = np.clip(mean, 1e-6, 1 - 1e-6)
    size = np.maximum(inside * (1 - inside) / sd**2 - 1.0, 1e-3)
    shares: np.ndarray = rng.beta(inside * size, (1 - inside) * size)
    return shares


def _people(
    records: Records, scenario: Scenario, week_of: WeekOf, weeks: int, rng: np.random.Generator, seed: int
) -> Told:
    crew = scenario.crew
    seen, of, made_up = _sums(weeks), np.zeros(weeks), np.zeros((MADE_UP_YEARS, weeks))
    doubt = rng.standard_normal(MADE_UP_YEARS)
    places = sum(shift.people for shift in crew.shifts)
    # The people of a room stay: what they come more or less often than others is the same all year.
    own = rng.standard_normal(MADE_UP_YEARS) * crew.chance_spread_sd / math.sqrt(max(1, places))
    chances = []
    for row in records.attendance:
        week = week_of(row.date)
        if week is None or not row.signed_up:
            continue
        month = row.date.month - 1
        chance = crew.chance_of_coming[month] + doubt * (crew.chance_doubt_sd or (0.0,) * 12)[month] + own
        chances.append(chance)
        _add(seen, week, row.came)
        of[week] += row.signed_up
        made_up[:, week] += rng.binomial(row.signed_up, np.clip(chance, 0.0, 1.0))
    every = np.concatenate(chances) if chances else np.array(crew.chance_of_coming)
    stated = (float(np.quantile(every, 0.025)), float(np.quantile(every, 0.975)))
    return Told("people", "", "people", "crew.chance_of_coming", seen, made_up, of, stated)


def _minutes(
    task: Task, records: Records, scenario: Scenario, week_of: WeekOf, weeks: int, rng: np.random.Generator
) -> Told | None:
    """Means over a week of how much longer (as a logarithm) its jobs took than was expected."""
    if task.by_crop:
        return None
    crew, hands = scenario.crew, hands_of(scenario.crew, records.attendance)
    logs: dict[int, list[float]] = {}
    for row in records.timed:
        week = week_of(row.date)
        if row.task == task.name and week is not None and is_long_enough(row, task):
            logs.setdefault(week, []).append(log_ratio(row, task, crew, hands))
    seen, of, made_up = _sums(weeks), np.zeros(weeks), np.zeros((MADE_UP_YEARS, weeks))
    spread = job_log_sd(task)
    factor = task.minutes_factor
    known_sd = 0.0 if factor.is_fixed else math.log1p((moments(factor)[1] / factor.expected()) ** 2) ** 0.5
    year = rng.standard_normal(MADE_UP_YEARS) * math.hypot(known_sd, PACE_DOUBT) - spread**2 / 2
    for week, jobs in logs.items():
        seen[week] = math.fsum(jobs) / len(jobs)
        of[week] = len(jobs)
        made_up[:, week] = year + rng.standard_normal(MADE_UP_YEARS) * spread / math.sqrt(len(jobs))
    each = task.minutes_per_unit.expected() or task.fixed_minutes.expected()
    doubt = 1.96 * math.hypot(known_sd, PACE_DOUBT)
    unit = f"min for each {TASKS[task.name].each}"
    key = f"crew.tasks.{task.name}.minutes_per_unit"
    return Told("minutes", str(task.name), unit, key, seen, made_up, of,
                (each * math.exp(-doubt), each * math.exp(doubt)))  # fmt: skip


def _failures(
    records: Records, scenario: Scenario, week_of: WeekOf, weeks: int, rng: np.random.Generator, seed: int
) -> list[Told]:
    found = []
    for kind in CAN_FAIL:
        rate, key = np.zeros(MADE_UP_YEARS), ""
        if kind.comes is not None:
            rate, key = rate + coming(scenario, kind.comes)[0] / 52.0, f"{kind.comes.table}.{kind.comes.a_year}"
        for machine in machines_of(scenario):
            hours = machine.reliability.running_hours_to_failure
            if machine.kind != kind.key or hours is None or hours.expected() <= 0:
                continue
            factor = drawn(machine.reliability.hours_factor, f"{kind.key}.hours", seed, 1e-6)
            rate, key = rate + WEEK_HOURS * machine.share * machine.count / (hours.expected() * factor), key or (
                ".".join((*machine.path, "running_hours_to_failure"))
            )  # fmt: skip
        if not rate.any():
            continue
        seen = np.zeros(weeks)
        for row in records.faults:
            week = week_of(row.date)
            if row.machine == kind.key and week is not None:
                seen[week] += 1
        made_up = rng.poisson(rate[:, None], (MADE_UP_YEARS, weeks)).astype(float)
        a_year = 52.0 * rate
        stated = (float(np.quantile(a_year, 0.025)), float(np.quantile(a_year, 0.975)))
        found.append(Told("failures", kind.key, "a year", key, seen, made_up, np.ones(weeks), stated,
                          a_year=float(a_year.mean())))  # fmt: skip
    return found
