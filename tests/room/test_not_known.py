"""What is not known of a room is drawn once a replication, and without it nothing moves."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from statistics import mean, stdev
from typing import Any

import pytest

from growsim.ledger.events import Harvested, ShiftHeld, TaskDue, WentDown
from growsim.run.prepare import Prepared, prepare
from growsim.run.replicate import replicate, replicate_on_paper, trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
PLAN = RunPlan(days=112, warm_up_days=56)


def doubt(sd: float, center: float = 1.0) -> Uncertain:
    """A factor not known."""
    return Uncertain(distribution="lognormal", mean=center, sd=sd)


def with_crops(**change: Any) -> Scenario:
    """The tiny room, every crop changed."""
    return TINY.model_copy(update={"crops": tuple(crop.model_copy(update=change) for crop in TINY.crops)})


def with_crew(**change: Any) -> Scenario:
    """The tiny room, its crew changed."""
    return TINY.model_copy(update={"crew": TINY.crew.model_copy(update=change)})


def with_tasks(**change: Any) -> Scenario:
    """The tiny room, every task changed."""
    return with_crew(tasks=tuple(task.model_copy(update=change) for task in TINY.crew.tasks))


def with_lights(**change: Any) -> Scenario:
    """The tiny room, how its lights fail changed."""
    (bank,) = TINY.lights
    life = {"running_hours_to_failure": Uncertain(distribution="exponential", mean=200.0)}
    reliability = bank.reliability.model_copy(update={**life, **change})
    return TINY.model_copy(update={"lights": (bank.model_copy(update={"reliability": reliability}),)})


def days_to_harvest(prepared: Prepared, i: int) -> float:
    """Days from sowing to harvest in one replication."""
    return mean((cut.minute - cut.sown_minute) / 1440 for cut in trace(prepared, 5, i, PLAN).of(Harvested))


def minutes_a_cell(prepared: Prepared, i: int) -> float:
    """Minutes of sowing for each cell in one replication."""
    due = [task for task in trace(prepared, 5, i, PLAN).of(TaskDue) if task.task == "sow"]
    return sum(task.minutes for task in due) / sum(task.units for task in due)


def share_coming(prepared: Prepared, i: int) -> float:
    """Share of those signed up who come in one replication."""
    held = list(trace(prepared, 5, i, PLAN).of(ShiftHeld))
    return sum(shift.came for shift in held) / sum(shift.signed_up for shift in held)


def failures(prepared: Prepared, i: int) -> float:
    """Failures of the lights in one replication."""
    return float(sum(1 for down in trace(prepared, 5, i, PLAN).of(WentDown) if down.machine == "lights"))


@pytest.mark.parametrize(
    ("known", "not_known", "measured", "at_least"),
    [
        (with_crops(days_spread_cv=0.0), with_crops(days_spread_cv=0.0, growth_pace=doubt(0.15)), days_to_harvest, 1.5),
        (TINY, with_tasks(minutes_factor=doubt(0.3)), minutes_a_cell, 0.02),
        (with_crew(chance_of_coming=(0.6,) * 12), with_crew(chance_of_coming=(0.6,) * 12, chance_doubt_sd=(0.2,) * 12),
         share_coming, 0.1),
        (with_lights(), with_lights(hours_factor=doubt(1.0)), failures, 5.0),
    ],
    ids=["growth", "minutes", "coming", "failures"],
)  # fmt: skip
def test_replications_differ_by_what_is_not_known(
    known: Scenario, not_known: Scenario, measured: Callable[[Prepared, int], float], at_least: float
) -> None:
    """One draw a replication does not average out over a year: the spread between years is far wider."""
    sure, unsure = prepare(known), prepare(not_known)
    narrow = stdev(measured(sure, i) for i in range(12))
    wide = stdev(measured(unsure, i) for i in range(12))

    assert wide > max(at_least, 1.5 * narrow)


@pytest.mark.parametrize(
    "same",
    [
        with_crops(growth_pace=Uncertain(value=1.0)),
        with_tasks(minutes_factor=Uncertain(value=1.0)),
        with_crew(chance_doubt_sd=(0.0,) * 12),
        with_tasks(minutes_factor=doubt(0.0)),
        with_crops(growth_pace=doubt(0.0)),
    ],
)
def test_what_is_known_changes_nothing(same: Scenario) -> None:
    """A factor that is exactly 1, or a doubt of nothing, gives the same room to the last bit."""
    plan = RunPlan(days=56, warm_up_days=28)

    assert replicate(prepare(same), 5, 0, plan) == replicate(prepare(TINY), 5, 0, plan)


def test_on_paper_what_is_not_known_is_at_its_mean() -> None:
    """Luck switched off: the doubt has no say, the mean has."""
    plan = RunPlan(days=112, warm_up_days=56)
    paper = replicate_on_paper(prepare(TINY), plan).measures
    doubtful = replicate_on_paper(prepare(with_crops(growth_pace=doubt(0.3))), plan).measures
    slower = replicate_on_paper(prepare(with_crops(growth_pace=Uncertain(value=0.8))), plan).measures

    assert doubtful == paper
    assert slower["days_sown_to_harvest_mean"] > paper["days_sown_to_harvest_mean"] + 3


def test_a_tenth_slower_takes_a_tenth_longer_to_grow() -> None:
    """Days of growing go as one over the pace: 35 planned days less some 3 to germinate, to the next harvest day."""
    fast = with_crops(days_spread_cv=0.0)
    slow = with_crops(days_spread_cv=0.0, growth_pace=Uncertain(value=0.9))
    longer = mean(days_to_harvest(prepare(slow), i) for i in range(4)) - mean(
        days_to_harvest(prepare(fast), i) for i in range(4)
    )
    mean_days = mean(crop.typical_days for crop in TINY.crops) - 3

    assert math.isclose(longer, mean_days * (1 / 0.9 - 1), abs_tol=1.5)
