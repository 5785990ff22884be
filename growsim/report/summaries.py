"""Many replications brought down to what a picture or a table shows. Numbers in, numbers out; no words."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from growsim.ledger.outcome import Outcome
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import SHORT_MONTHS
from growsim.vocabulary.losses import FATES, PLANT_LOSSES

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Band:
    """A weekly series over replications: median, mean and the range 8 in 10 replications fall in, week by week."""

    low: Array
    median: Array
    high: Array
    mean: Array


@dataclass(frozen=True)
class Month:
    """A calendar month of the window and the weeks that belong to it.

    label: "Jan 2031". short: "Jan".
    """

    label: str
    short: str
    weeks: tuple[int, ...]


def week_count(outcomes: Sequence[Outcome]) -> int:
    """Whole weeks measured."""
    return min((min(map(len, outcome.weeks.values())) for outcome in outcomes if outcome.weeks), default=0)


def week_starts(scenario: Scenario, weeks: int) -> list[dt.date]:
    """First day of each counted week."""
    return [scenario.room.start_date + dt.timedelta(weeks=week) for week in range(weeks)]


def is_closed(month: Month, scenario: Scenario) -> bool:
    """Whether the room is closed on all days of its weeks: nothing is late then."""
    starts = week_starts(scenario, max(month.weeks) + 1)
    closed = set(scenario.room.closed_days)
    return all(starts[week] + dt.timedelta(days=day) in closed for week in month.weeks for day in range(7))


def last_day(scenario: Scenario, days: int) -> dt.date:
    """The last of so many counted days."""
    return scenario.room.start_date + dt.timedelta(days=days - 1)


def months(scenario: Scenario, weeks: int) -> list[Month]:
    """Calendar months in order; a week belongs to the month its fourth day falls in."""
    found: dict[tuple[int, int], list[int]] = {}
    for week, start in enumerate(week_starts(scenario, weeks)):
        middle = start + dt.timedelta(days=3)
        found.setdefault((middle.year, middle.month), []).append(week)
    return [
        Month(f"{SHORT_MONTHS[month - 1]} {year}", SHORT_MONTHS[month - 1], tuple(members))
        for (year, month), members in found.items()
    ]


def matrix(outcomes: Sequence[Outcome], name: str) -> Array:
    """Replications x weeks of a series; a replication in which the thing never happened counts as zero."""
    weeks = week_count(outcomes)
    nothing = (0.0,) * weeks
    return np.array([outcome.weeks.get(name, nothing)[:weeks] for outcome in outcomes], dtype=float).reshape(
        len(outcomes), weeks
    )


def band(outcomes: Sequence[Outcome], name: str) -> Band:
    """The series' 10th, 50th and 90th percentile and mean over replications, week by week."""
    values = matrix(outcomes, name)
    low, median, high = np.quantile(values, (0.1, 0.5, 0.9), axis=0)
    return Band(low, median, high, values.mean(axis=0))


def weekly_mean(outcomes: Sequence[Outcome], name: str, weights: Sequence[float] = ()) -> Array:
    """Mean over replications, week by week. weights: of each, where they do not weigh alike."""
    return mean_over(matrix(outcomes, name), weights)


def mean_over(values: Array, weights: Sequence[float] = ()) -> Array:
    """Mean over replications (the rows). weights: of each, where they do not weigh alike; they add up to 1."""
    return np.asarray(np.array(weights) @ values if weights else values.mean(axis=0), dtype=float)


def series_under(outcomes: Sequence[Outcome], prefix: str) -> list[str]:
    """Names after `prefix` of all weekly series that have it, in order of first sight."""
    seen: dict[str, None] = {}
    for outcome in outcomes:
        for name in outcome.weeks:
            if name.startswith(prefix):
                seen[name.removeprefix(prefix)] = None
    return list(seen)


def fate_means(outcomes: Sequence[Outcome]) -> dict[str, dict[str, float]]:
    """Crop -> fate -> plants, mean over replications, in the order of the fates; crops as first met."""
    crops: dict[str, None] = {crop: None for outcome in outcomes for crop, _ in outcome.fates}
    return {
        crop: {
            fate.key: sum(outcome.fates.get((crop, fate.key), 0) for outcome in outcomes) / len(outcomes)
            for fate in FATES
        }
        for crop in crops
    }


def all_crops(fates: dict[str, dict[str, float]]) -> dict[str, float]:
    """Fate -> plants over all crops."""
    return {fate.key: math.fsum(of_crop[fate.key] for of_crop in fates.values()) for fate in FATES}


def lost(fates: dict[str, float]) -> float:
    """Plants lost once they were up, of a crop's fates or of all."""
    return math.fsum(fates[loss.key] for loss in PLANT_LOSSES)


def accounts_per_week(outcomes: Sequence[Outcome], days: int) -> dict[str, float]:
    """Account -> amount a week, mean over replications."""
    names: dict[str, None] = {name: None for outcome in outcomes for name in outcome.accounts}
    weeks = days / 7
    return {
        name: math.fsum(outcome.accounts.get(name, 0.0) for outcome in outcomes) / len(outcomes) / weeks
        for name in names
    }


def typical(outcomes: Sequence[Outcome]) -> Outcome:
    """The replication whose weekly output is the (lower) median; the lowest number among equals."""
    ranked = sorted(outcomes, key=lambda o: (o.measures.get("kg_packed_per_week", 0.0), o.replication))
    return ranked[(len(ranked) - 1) // 2]


def slots_for(scenario: Scenario, rack: str, stage: str) -> int:
    """Slots of a rack that may hold a stage."""
    return sum(
        group.total_slots
        for each in scenario.racks
        if each.name == rack
        for group in each.shelves
        if stage in group.stages
    )


def stages_of(scenario: Scenario) -> list[str]:
    """Names of all stages, in the order crops go through them."""
    names: dict[str, None] = {}
    for crop in scenario.crops:
        for stage in crop.stages_in_order():
            names[stage.name] = None
    return list(names)


def slots_used(outcomes: Sequence[Outcome], scenario: Scenario) -> dict[tuple[str, str], Array]:
    """(rack, stage) -> mean slots in use week by week, for every pair that may hold or does hold something."""
    used: dict[tuple[str, str], Array] = {}
    for rack in scenario.racks:
        for stage in stages_of(scenario):
            series = weekly_mean(outcomes, f"slots:{rack.name}:{stage}")
            if slots_for(scenario, rack.name, stage) or series.any():
                used[(rack.name, stage)] = series
    return used


def racks_used(used: dict[tuple[str, str], Array], scenario: Scenario) -> dict[str, tuple[Array, int]]:
    """Rack -> (mean slots in use by anything, week by week; slots it has). used: from `slots_used`."""
    found = {}
    for rack in scenario.racks:
        rows = [series for (its_rack, _), series in used.items() if its_rack == rack.name]
        if rows:
            found[rack.name] = (np.sum(rows, axis=0), sum(group.total_slots for group in rack.shelves))
    return found


def percentiles(values: Sequence[float]) -> tuple[float, float, float]:
    """10th, 50th and 90th percentile."""
    low, median, high = np.quantile(np.asarray(values, dtype=float), (0.1, 0.5, 0.9))
    return float(low), float(median), float(high)
