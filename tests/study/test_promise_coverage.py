"""A promise is kept at the stated rate: rooms are lived in, promised from on some day, and then lived on in.

Each true year has luck of its own, as every promise has. Where several rehearsals give exactly what then happened, ties
are broken at random, so that the rates to be met are 90, 50 and 10 in 100 exactly and a test can fail on both sides.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path
from statistics import fmean, stdev

import numpy as np
import pytest
from grown import counted_on

from growsim.ledger.events import HandedOut
from growsim.run.deliveries import deliver
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.today import room_today
from growsim.units import MINUTES_PER_DAY, MINUTES_PER_WEEK

SCENARIOS = Path(__file__).parents[2] / "scenarios"
TRUTH, PROMISES = 99, 1000  # seeds apart
WARM_UP = 112
RATES = (0.9, 0.5, 0.1)
Kept = dict[float, list[float]]


def what_happened(prepared: Prepared, year: int, day: int, weeks: int) -> dict[str, list[float]]:
    """Kilograms of each crop, and of all ("kg_handed_out"), handed out in the weeks from that day on of a true year."""
    book = trace(prepared, TRUTH, year, RunPlan(day + 7 * weeks, WARM_UP))
    found = {f"kg_given:{crop.name}": [0.0] * weeks for crop in prepared.scenario.crops}
    found["kg_handed_out"] = [0.0] * weeks
    for given in book.of(HandedOut):
        week = (given.minute - day * MINUTES_PER_DAY) // MINUTES_PER_WEEK
        if 0 <= week < weeks:
            for name in (f"kg_given:{given.crop}", "kg_handed_out"):
                found[name][week] += given.grams / 1000
    return found


def rates_kept(name: str, years: int, rehearsals: int, weeks: int, first_day: int) -> dict[str, Kept]:
    """Series -> rate -> share of its weeks in which the promise of that rate was kept, true year by true year."""
    scenario = load_scenario(SCENARIOS / name).scenario
    prepared, dice = prepare(scenario), np.random.default_rng(12)
    kept: dict[str, Kept] = {}
    for year in range(years):
        day = first_day + 9 * year % 49
        today = counted_on(prepared, TRUTH, year, day, WARM_UP)
        room = room_today(scenario, scenario.room.start_date + dt.timedelta(days=day), today.lots)
        plan = RunPlan(7 * weeks, start="shelves", shelves=today.lots, cooler=today.cooler)
        there = replace(prepared, scenario=room)
        futures = [deliver(there, PROMISES + year, i, plan) for i in range(rehearsals)]
        for series, happened in what_happened(prepared, year, day, weeks).items():
            ranks = []
            for week, kg in enumerate(happened):
                rehearsed = [future.weeks[series][week] for future in futures]
                less = sum(value < kg - 1e-9 for value in rehearsed)
                same = sum(abs(value - kg) <= 1e-9 for value in rehearsed)
                ranks.append(less + 1 + dice.integers(0, same + 1))  # of the true week among all: 1 to n + 1
            for rate in RATES:
                rank = math.floor((1 - rate) * (rehearsals + 1) + 1e-9)
                kept.setdefault(series, {}).setdefault(rate, []).append(fmean(each > rank for each in ranks))
    return kept


def check(kept: dict[str, Kept], sharp: float, errors: float) -> None:
    """The mean share over true years agrees with the rate within so many standard errors, which are small enough."""
    wrong = {}
    for series, by_rate in kept.items():
        for rate, shares in by_rate.items():
            error = stdev(shares) / math.sqrt(len(shares))
            assert error < sharp, f"{series}: too few years to tell"
            if abs(fmean(shares) - rate) > errors * error:
                wrong[series, rate] = (fmean(shares), error)
    assert not wrong


def test_promises_are_kept_at_the_stated_rate() -> None:
    """The tiny room, 40 true years: 9 promises in all (3 rates of 3 series), hence 3.2 standard errors."""
    check(rates_kept("tiny", years=40, rehearsals=19, weeks=3, first_day=14), sharp=0.07, errors=3.2)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "first_day"), [("tiny", 14), ("millrace", 56)])
def test_promises_are_kept_at_the_stated_rate_over_many_years(name: str, first_day: int) -> None:
    """200 true years of each room: `pytest -m slow tests/study/test_promise_coverage.py` (some tens of minutes)."""
    check(rates_kept(name, years=200, rehearsals=39, weeks=6, first_day=first_day), sharp=0.03, errors=3.2)
