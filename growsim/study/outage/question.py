"""What does a machine that is down cost, how long have we got, and what is worth buying?

Three looks at the same room: the clock (arithmetic: hours until plants suffer and die), single outages rehearsed by the
hours until they are repaired, and whole years with each machine that cannot fail and each protection.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from growsim.errors import InputError
from growsim.run.intervals import Estimate, summarize
from growsim.run.prepare import Prepared, prepare
from growsim.run.progress import SharedProgress, SoFar
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.outage import hours as outage_hours
from growsim.study.outage import year as outage_year
from growsim.study.outage.air import air_after, cold_after
from growsim.study.outage.check import by_single_outages
from growsim.study.outage.clock import TimeLeft, times_left, wet_plug_hours
from growsim.study.outage.trials import LossByHours, Strike, Trials, strikes_for
from growsim.study.outage.year import OutageYear

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Outages:
    """The answer to all of it.

    clock: hours until plants suffer and die, for every machine in its months. by_hours: plants and kilograms lost by
    the hours until it is repaired. year: risks and protections. plants_by_single_outages: machine -> plants a year it
    kills, by another road (`outage_check`). warming: month -> hours until the air passes what the tenderest crop bears
    once the heat pump has failed (lights on, lights off); None: never. cooling: month -> hours until it is colder than
    the tenderest crop bears. wet_plug_hours: reservoir -> stage -> hours of light a wet plug
    lasts its thirstiest plants.
    """

    scenario: Scenario
    plan: RunPlan
    seed: int
    replications: int
    estimates: dict[str, Estimate]
    clock: tuple[TimeLeft, ...]
    by_hours: LossByHours
    year: OutageYear
    plants_by_single_outages: dict[str, float]
    warming: dict[int, tuple[float | None, float | None]]
    cooling: dict[int, float | None]
    wet_plug_hours: dict[str, dict[str, float]]
    seconds: float = field(default=0.0, compare=False)

    def to_frame(self) -> pd.DataFrame:
        """One row a protection, best first; `machines_frame`, `hours_frame` and `clock_frame` have the rest."""
        from growsim.study.outage.frames import protections_frame

        return protections_frame(self.year)

    def hours_frame(self) -> pd.DataFrame:
        """One row a single outage that was rehearsed, and stage: machine, month, start hour, hours, share lost."""
        from growsim.study.outage.frames import hours_frame

        return hours_frame(self.by_hours)

    def clock_frame(self) -> pd.DataFrame:
        """One row a machine, month, crop and stage: hours until plants suffer, the first die, half are dead."""
        from growsim.study.outage.frames import clock_frame

        return clock_frame(self.clock)

    def machines_frame(self) -> pd.DataFrame:
        """One row a machine: failures a year and what is lost because it can fail."""
        from growsim.study.outage.frames import machines_frame

        return machines_frame(self.year, self.plants_by_single_outages)


def study_outages(
    scenario: Scenario,
    *,
    seed: int,
    replications: int,
    plan: RunPlan,
    trials: Trials | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Outages:
    """Study all outages of a room. replications: whole years; at least 2, or nothing could be said of chance.
    trials: of single outages; the usual ones where None.

    Raises InputError for numbers that cannot be, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    if replications < 2:
        raise InputError(f"replications: {replications} is not possible here; give 2 or more.")
    if plan.days < 7:
        raise InputError(f"days: {plan.days} is not possible here; give 7 or more.")
    prepared, trials = prepare(scenario), trials or Trials()
    strikes = strikes_for(prepared)
    expected = outage_hours.runs_for(strikes, trials) + outage_year.runs_at_most(scenario, replications)
    shared = SharedProgress(progress, expected)
    with Rehearsers(workers, executor=executor) as rehearsers:
        today = SoFar("today ")
        as_it_is = rehearsers.run({"": prepared}, seed, range(replications), plan, shared.more(replications), today.see)
        by_hours = outage_hours.losses_by_hours(prepared, strikes, rehearsers, seed, trials, shared)
        year = outage_year.outage_year(prepared, rehearsers, seed, as_it_is[""], plan, shared)
    months = tuple(dict.fromkeys(strike.month for strike in strikes))
    return Outages(
        scenario=scenario,
        plan=plan,
        seed=seed,
        replications=replications,
        estimates=summarize(year.outcomes, never=cannot_happen(scenario)),
        clock=clock_of(prepared, strikes),
        by_hours=by_hours,
        year=year,
        plants_by_single_outages=by_single_outages(prepared, by_hours, year.outcomes, plan),
        warming={month: air_after(scenario, prepared.curves, month) for month in months},
        cooling={month: cold_after(scenario, prepared.curves, month) for month in months},
        wet_plug_hours=wet_plug_hours(scenario, prepared.curves),
        seconds=time.perf_counter() - began,
    )


def clock_of(prepared: Prepared, strikes: Sequence[Strike]) -> tuple[TimeLeft, ...]:
    """The clock of every machine in the months it is tried in; timer and leaking reservoir are as the pump."""
    lines: list[TimeLeft] = []
    for machine, month in dict.fromkeys((strike.machine, strike.month) for strike in strikes):
        lines += times_left(prepared.scenario, prepared.curves, machine, month)
    return tuple(lines)
