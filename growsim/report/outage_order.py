"""The machines in the order of time left, worst case first."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.study.outage_clock import of_stage

if TYPE_CHECKING:
    from growsim.study.outage import Outages
    from growsim.study.outage_clock import TimeLeft

DISPLAYED_STAGES_WITH = ("pump", "power")  # where a stage makes a difference


@dataclass(frozen=True)
class Urgency:
    """How urgent one machine's outage is, in the worst case. Hours; None: not within a week.

    stage: the stage that dies first, "" where all die alike. by_month: whether another month tells otherwise.
    """

    machine: str
    month: int
    stage: str
    suffer: float | None
    first_die: float | None
    half_dead: float | None
    by_month: bool


def by_urgency(outages: Outages) -> list[Urgency]:
    """Every machine, and month where it matters, that with least time left first."""
    groups: dict[tuple[str, int], list[TimeLeft]] = {}
    for line in outages.clock:
        groups.setdefault((line.machine, line.month), []).append(line)
    months = {machine: len({month for name, month in groups if name == machine}) for machine, _ in groups}
    found = []
    for (machine, month), lines in groups.items():
        stages = list(dict.fromkeys(line.stage for line in lines))
        stage = min(stages, key=lambda each: _when(of_stage(lines, each)[1].worst))
        suffer, first, half = of_stage(lines, stage)
        alike = machine not in DISPLAYED_STAGES_WITH
        found.append(
            Urgency(machine, month, "" if alike else stage, suffer.worst, first.worst, half.worst, months[machine] > 1)
        )
    return sorted(found, key=lambda each: (_when(each.first_die), _when(each.half_dead), _when(each.suffer)))


def _when(hours: float | None) -> float:
    return math.inf if hours is None else hours
