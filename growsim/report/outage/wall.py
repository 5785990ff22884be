"""The chart for the wall: the machines in the order of time left, worst case first, from the single outages that were
rehearsed and the clock.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.report.outage import words
from growsim.report.words import of_the_room
from growsim.study.outage.clock import FIRST_DIE, of_stage
from growsim.study.outage.trials import ALL
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY, MACHINES, tried_with

if TYPE_CHECKING:
    from growsim.study.outage.clock import TimeLeft
    from growsim.study.outage.question import Outages
    from growsim.study.outage.trials import Strike

HALF = 0.5


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
        alike = not BY_KEY[machine].stops_water
        found.append(
            Urgency(machine, month, "" if alike else stage, suffer.worst, first.worst, half.worst, months[machine] > 1)
        )
    return sorted(found, key=lambda each: (_when(each.first_die), _when(each.half_dead), _when(each.suffer)))


def _when(hours: float | None) -> float:
    return math.inf if hours is None else hours


@dataclass(frozen=True)
class WallRow:
    """A row of the chart. head: where a new machine begins. shares: of the plants lost, by the hours it is repaired
    within, so never falling; None: none stand there."""

    head: str
    name: str
    shares: tuple[float | None, ...]
    first_die: str


def wall_rows(outages: Outages) -> list[WallRow]:
    """Machine by machine; by stage where that makes a difference, and by month."""
    found: list[WallRow] = []
    strikes = outages.by_hours.strikes
    for kind in MACHINES:
        here = [strike for strike in strikes if strike.machine == kind.key]
        title = of_the_room(", ".join(each.head for each in tried_with(kind)), outages.scenario).upper()
        months = list(dict.fromkeys(strike.month for strike in here))
        for month in months:
            of_month = [strike for strike in here if strike.month == month]
            head = title + (f", {MONTHS[month].upper()}" if len(months) > 1 else "")
            if kind.stops_water:
                stages = dict.fromkeys(stage for strike in of_month for stage in strike.stages)
                rows = [_row(outages, of_month, stage, stage) for stage in stages]
            else:
                rows = [_row(outages, of_month, ALL, "all plants")]
            found += [
                WallRow(head if place == 0 else "", r.name, r.shares, r.first_die) for place, r in enumerate(rows)
            ]
    return found


def half_lost(outages: Outages, machine: str, month: int) -> tuple[str, float] | None:
    """(row of the chart, hours until repaired) by which half of the plants of a row are lost first; None: of none."""
    strikes = [s for s in outages.by_hours.strikes if (s.machine, s.month) == (machine, month)]
    names = dict.fromkeys(stage for strike in strikes for stage in strike.stages)
    stages = names if BY_KEY[machine].stops_water else {ALL: None}
    rows = [_row(outages, strikes, stage, stage or "all plants") for stage in stages] if strikes else []
    for place, hours in enumerate(outages.by_hours.trials.hours):
        for row in rows:
            if (row.shares[place] or 0.0) >= HALF:
                return row.name, hours
    return None


def _row(outages: Outages, strikes: list[Strike], stage: str, name: str) -> WallRow:
    """The worse of what the rehearsed outages killed, of the plants that stood there, and of the clock's worst plant:
    a chart on a wall may tell a loss too early, never too late."""
    lines = [line for line in outages.clock if (line.machine, line.month) == (strikes[0].machine, strikes[0].month)]
    first, half = (span.worst for span in of_stage(lines, stage)[1:])
    shares: list[float | None] = []
    so_far = 0.0
    for hours in outages.by_hours.trials.hours:
        worst = [outages.by_hours.worst_share(strike, hours, stage) for strike in strikes if _has(strike, stage)]
        known = [share for share in worst if share is not None]
        by_clock = HALF if hours >= _when(half) else FIRST_DIE if hours >= _when(first) else 0.0
        so_far = max(so_far, by_clock, *known) if known else so_far
        shares.append(so_far if known else None)
    told = zip(outages.by_hours.trials.hours, shares, strict=True)
    first = min(_when(first), next((hours for hours, share in told if (share or 0.0) >= FIRST_DIE), math.inf))
    text = "7 days +" if first == math.inf else words.hours_left(first).replace("hours", "h").replace("hour", "h")
    return WallRow("", name, tuple(shares), text)


def _has(strike: Strike, stage: str) -> bool:
    return stage == ALL or stage in strike.stages
