"""A power cut of two winter days: the chart for the wall, the sheet to print and the outage lived through by itself
tell the same."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import pytest

from growsim.ledger.aftermath import killed
from growsim.report.outage.sheets import sheet_of
from growsim.report.outage.wall import by_urgency, half_lost, wall_rows
from growsim.run.prepare import prepare
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.run.replicate import replicate
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.load import scenario_from
from growsim.scenario.machines import undisturbed
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.outage.air import air_after, cold_after
from growsim.study.outage.clock import FIRST_DIE, of_stage, wet_plug_hours
from growsim.study.outage.hours import losses_by_hours
from growsim.study.outage.question import Outages, clock_of
from growsim.study.outage.trials import Trials, strikes_for
from growsim.vocabulary.machines import POWER

JANUARY = 0
HOURS = (2.0, 12.0, 18.0, 48.0)
FEW = 100  # plants stood in a stage, all years together: too few to speak of a share
AT = 6.0  # hour of the day
DAY = 12
PLAN = RunPlan(DAY + 16, 70)


@pytest.fixture(scope="module")
def garage() -> Scenario:
    """The garage in January, -10 °C outside, open every day, nothing failing by chance."""
    raw = tomllib.loads((Path(__file__).parents[1] / "cases" / "garage.toml").read_text(encoding="utf-8"))
    raw["room"] |= {"start_date": dt.date(2031, 1, 3), "closed_days": []}
    return undisturbed(scenario_from(raw, "garage.toml")[0])


@pytest.fixture(scope="module")
def outages(garage: Scenario) -> Outages:
    """What is told of power cuts in January, as `outage` finds it; other machines and the years are left out."""
    prepared = prepare(garage)
    strikes = tuple(s for s in strikes_for(prepared) if (s.machine, s.month) == (POWER.key, JANUARY))
    assert strikes
    with Rehearsers(1) as rehearsers:
        trials = Trials(hours=HOURS, start_hours=(AT,), plant_replications=4, kg_replications=1)
        found = losses_by_hours(prepared, strikes, rehearsers, 5, trials, SharedProgress(None, 1))
    return Outages(
        scenario=garage,
        plan=PLAN,
        seed=5,
        replications=2,
        estimates={},
        clock=clock_of(prepared, strikes),
        by_hours=found,
        year=cast("Any", None),
        plants_by_single_outages={},
        warming={JANUARY: air_after(garage, prepared.curves, JANUARY)},
        cooling={JANUARY: cold_after(garage, prepared.curves, JANUARY)},
        wet_plug_hours=wet_plug_hours(garage, prepared.curves),
    )


def lived_shares(garage: Scenario, hours: float) -> dict[str, float]:
    """Stage -> share of its plants that one power cut kills, lived through in other years than those of the chart."""
    cut = PlannedOutage(name="cut", machine=POWER.key, start_day=DAY, start_hour=AT, hours=hours)
    quiet = prepare(garage)
    struck = replace(quiet, scenario=garage.model_copy(update={"outages": (cut,)}))
    stood, lost = dict[str, float](), dict[str, float]()
    for i in range(4):
        before = replicate(quiet, 77, i, RunPlan(DAY, PLAN.warm_up_days))
        spared, hit = replicate(quiet, 77, i, PLAN), replicate(struck, 77, i, PLAN)
        for name, plants in before.aftermath.items():
            if name.startswith("standing:"):
                stage = name.rsplit(":", 1)[1]
                stood[stage] = stood.get(stage, 0.0) + plants
        for stage in stood:
            lost[stage] = killed(hit, stage) - killed(spared, stage) + lost.get(stage, 0.0)
    return {stage: lost[stage] / plants for stage, plants in stood.items() if plants >= FEW}


def test_two_winter_days_without_power_kill_what_chart_and_sheet_say(garage: Scenario, outages: Outages) -> None:
    """Walls and air lose 73 W/K, 2,000 kJ/K cool with 7.6 h from 20 towards -8.6 °C: it freezes after some 9 h, and two
    days kill all that is tender. What the chart says of each stage and hour, a power cut in other years does, to within
    a tenth (our own margin: some hundred plants, four years each); and by the hours on the sheet hardly one is dead, or
    half are."""
    chart = {row.name: dict(zip(HOURS, row.shares, strict=True)) for row in wall_rows(outages)}
    sheet = sheet_of(POWER, outages, by_urgency(outages)[0])
    half = half_lost(outages, POWER.key, JANUARY)
    assert half is not None
    assert (sheet.time_left, half[1]) == (
        "1 plant in 20 is dead after 12 hours, at worst. "
        f"Repaired only after 18 h, half of the plants in {half[0]} are dead, or more.",
        18.0,
    )

    found = {hours: lived_shares(garage, hours) for hours in HOURS}

    assert set(found[48.0]) == {"seedling", "pots", "channel"}
    for stage in found[48.0]:
        for hours in HOURS:
            assert found[hours][stage] == pytest.approx(chart[stage][hours], abs=0.1)
        first, half_dead = of_stage(outages.clock, stage)[1:]
        assert first.worst == pytest.approx(12.8, abs=0.5)
        assert found[2.0][stage] == 0.0
        assert found[12.0][stage] <= FIRST_DIE + 0.03
        assert half_dead.best is not None and half_dead.best < 18.0 and found[18.0][stage] >= 0.5
        assert found[48.0][stage] > 0.99
