"""A room in which the truth about crews is known: work gets done by a rule, with luck of a known size on top.

Importable by name in a worker process.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

from growsim.chance.streams import Luck
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.rota import months_of_weeks

ROOM = Path(__file__).parents[1] / "scenarios" / "tiny"
WORTH = (0.10, 0.06, 0.03)  # what each person on a shift takes away of the lateness, by their number there
SPREAD = 0.03  # of a week's share on time, from week to week
DAYS = 182


@cache
def tiny() -> LoadedRoom:
    """The tiny room."""
    return load_scenario(ROOM)


def true_on_time(people: tuple[int, ...], chance: float) -> float:
    """True mean share on time: each shift's people help, the first most; days are not alike."""
    missing = 0.5
    for shift, number in enumerate(people):
        weight = 1.0 if shift == 0 else 0.7
        missing -= weight * chance * sum(WORTH[min(k, 2)] for k in range(number))
    return 1.0 - max(0.0, missing)


def lived(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """A replication by the rule: its luck is the same whoever is signed up."""
    scenario = prepared.scenario
    luck = Luck(seed, i).stream("weeks")
    weeks = plan.days // 7
    on_time = []
    for month in months_of_weeks(scenario, plan.days):
        people = tuple(shift.signed_up(month) for shift in scenario.crew.shifts)
        share = true_on_time(people, scenario.crew.chance_of_coming[month])
        on_time.append(share + SPREAD * luck.deviation())
    ordered, filled = (10.0,) * weeks, tuple(10.0 * min(1.0, share + 0.02) for share in on_time)
    late = tuple(100.0 * (1.0 - share) for share in on_time)
    series = {
        "tasks_done": (100.0,) * weeks,
        "tasks_late": late,
        "done:wash": (60.0,) * weeks,
        "late:wash": tuple(0.8 * each for each in late),
        "done:harvest": (40.0,) * weeks,
        "late:harvest": tuple(0.2 * each for each in late),
        "kg_ordered": ordered,
        "kg_to_partners": filled,
        "crew_hours_needed": (8.0,) * weeks,
    }
    mean = sum(on_time) / weeks
    measures = {
        "tasks_on_time_fraction": mean,
        "orders_filled_fraction": sum(filled) / sum(ordered),
        "kg_handed_out_per_week": sum(filled) / weeks,
        "kg_packed_per_week": sum(filled) / weeks,
    }
    return Outcome(i, measures, series, {}, {"hours:volunteers": 4.0 * weeks})
