"""Single outages to be tried, and what came of them: the strikes of a room, plants and kilograms lost by the hours.

Floods that a failed timer or a leaking reservoir misses are those a failed pump misses, so the pump stands for all
three.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.run.prepare import Prepared
from growsim.scenario.machines import is_there
from growsim.scenario.place import Rack
from growsim.scenario.scenario import Scenario
from growsim.study.outage.clock import of_stage, times_left
from growsim.study.pay_back import Range
from growsim.vocabulary.machines import BY_KEY, MACHINES, MachineKind, Month

ALL = ""  # every stage


@dataclass(frozen=True)
class Trials:
    """What is tried: hours until repaired, hours of the day, and in how many replications.

    Plants lost hardly differ from one replication to the next; for kilograms the replications take turns with the hours
    of the day.
    """

    hours: tuple[float, ...] = (1.0, 2.0, 4.0, 8.0, 12.0, 24.0, 48.0, 72.0)
    start_hours: tuple[float, ...] = (0.0, 6.0, 12.0, 18.0)
    plant_replications: int = 4
    kg_replications: int = 8


@dataclass(frozen=True)
class Strike:
    """An outage to be tried. where: the reservoir or light bank that stands for `like_it` of its kind; "" for the
    room's own.
    month: 0 for January. stages: those that stand where it strikes."""

    machine: str
    where: str
    like_it: int
    month: int
    stages: tuple[str, ...]

    @property
    def row(self) -> MachineKind:
        """What is true of machines of that kind."""
        return BY_KEY[self.machine]


@dataclass(frozen=True)
class Loss:
    """Plants that one outage costs, repaired after `hours`, of those of one stage or of ALL.

    standing: plants that stood where it struck, on average. lost_share: share of them that dried or overheated; None
    where none stood there.
    """

    strike: Strike
    start_hour: float
    hours: float
    stage: str
    standing: float
    lost_share: Range | None


@dataclass(frozen=True)
class KgLoss:
    """Kilograms fewer handed out after one outage, until all is made up that can be; over all hours of the day."""

    strike: Strike
    hours: float
    kg: Range


@dataclass(frozen=True)
class LossByHours:
    """Every case that was rehearsed."""

    trials: Trials
    losses: tuple[Loss, ...]
    kilograms: tuple[KgLoss, ...]

    @property
    def strikes(self) -> tuple[Strike, ...]:
        """The outages tried, each once, in order."""
        return tuple(dict.fromkeys(loss.strike for loss in self.losses))

    def of(self, strike: Strike, stage: str = ALL) -> dict[tuple[float, float], Loss]:
        """(hours, start hour) -> loss, for one strike and stage."""
        return {
            (loss.hours, loss.start_hour): loss for loss in self.losses if loss.strike == strike and loss.stage == stage
        }

    def worst_share(self, strike: Strike, hours: float, stage: str = ALL) -> float | None:
        """Share of plants lost at the worst hour of the day; None where none stand there."""
        shares = [
            loss.lost_share.mean
            for (repaired, _), loss in self.of(strike, stage).items()
            if repaired == hours and loss.lost_share is not None
        ]
        return max(shares) if shares else None


def strikes_for(prepared: Prepared) -> tuple[Strike, ...]:
    """What to try: each kind there is, in its months, at one reservoir or light bank of each sort where it has such."""
    scenario = prepared.scenario
    return tuple(
        Strike(row.key, name, like_it, month, stages)
        for row in MACHINES
        if is_there(scenario, row)
        for month in dict.fromkeys(_month(prepared, row, when) for when in row.tried)
        for name, like_it, stages in _kinds(scenario, row.place.rack)
    )


def _month(prepared: Prepared, row: MachineKind, when: Month) -> int:
    """The warmest or coldest month outdoors, or that in which plants last least."""
    outdoor = prepared.scenario.room.outdoor_temperature_c
    if when == "worst":
        return worst_month(prepared, row.key)
    return outdoor.index(max(outdoor) if when == "warmest" else min(outdoor))


def worst_month(prepared: Prepared, machine: str) -> int:
    """Month in which the first plants die soonest, by the clock; the warmest of equals."""
    outdoor = prepared.scenario.room.outdoor_temperature_c

    def lasts(month: int) -> tuple[float, float]:
        _, first, _ = of_stage(times_left(prepared.scenario, prepared.curves, machine, month))
        return (math.inf if first.worst is None else first.worst, -outdoor[month])

    return min(range(12), key=lasts)


def _kinds(scenario: Scenario, key: str) -> list[tuple[str, int, tuple[str, ...]]]:
    """Reservoirs or light banks that serve the same stages: the first of each kind, how many there are, the stages; no
    name for the whole room (key "")."""
    if not key:
        return [("", 1, _stages_on(scenario, scenario.racks))]
    kinds: dict[tuple[str, ...], list[str]] = {}
    for name in dict.fromkeys(getattr(rack, key) for rack in scenario.racks):
        racks = [rack for rack in scenario.racks if getattr(rack, key) == name]
        kinds.setdefault(_stages_on(scenario, racks), []).append(name)
    return [(members[0], len(members), stages) for stages, members in kinds.items()]


def _stages_on(scenario: Scenario, racks: Sequence[Rack]) -> tuple[str, ...]:
    """Stages that may stand on these racks, in the order crops go through them."""
    may = {stage for rack in racks for group in rack.shelves if group.total_slots for stage in group.stages}
    names = dict.fromkeys(stage.name for crop in scenario.crops for stage in crop.stages_in_order())
    return tuple(name for name in names if name in may)
