"""Single outages to be tried, and what came of them: the strikes of a room, plants and kilograms lost by the hours.

Floods that a dead timer or a leaking reservoir misses are those a dead pump misses, so the pump stands for all three.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from growsim.run.prepare import Prepared
from growsim.scenario.place import Rack
from growsim.scenario.scenario import Scenario
from growsim.study.outage.clock import of_stage, times_left
from growsim.study.pay_back import Range

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


@dataclass(frozen=True)
class Loss:
    """Plants that one outage costs, repaired after `hours`, of those of one stage or of ALL.

    standing: plants that stood where it struck, on average. lost_share: share of them that drought, heat or cold
    killed; None where none stood there.
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
            for (mended, _), loss in self.of(strike, stage).items()
            if mended == hours and loss.lost_share is not None
        ]
        return max(shares) if shares else None


def strikes_for(prepared: Prepared) -> tuple[Strike, ...]:
    """What to try: a pump and a light bank of each kind; the power in the month in which plants last least; the heat
    pump in such a month and in the coldest, or else the warmest; CO2 where there is a supply."""
    scenario = prepared.scenario
    outdoor = scenario.room.outdoor_temperature_c
    warm, cold = outdoor.index(max(outdoor)), outdoor.index(min(outdoor))
    every = _stages_on(scenario, scenario.racks)
    found = [Strike("pump", *kind[:2], warm, kind[2]) for kind in _kinds(scenario, "reservoir")]
    found.append(Strike("power", "", 1, worst_month(prepared, "power"), every))
    worst = worst_month(prepared, "heat pump")
    heat = dict.fromkeys((worst, cold) if worst != cold else (cold, warm))
    found += [Strike("heat pump", "", 1, month, every) for month in heat]
    found += [Strike("lights", *kind[:2], warm, kind[2]) for kind in _kinds(scenario, "lights")]
    if scenario.co2.supply_kg_per_day > 0 and scenario.co2.setpoint_ppm > scenario.co2.outdoor_ppm:
        found.append(Strike("co2", "", 1, warm, every))
    return tuple(found)


def worst_month(prepared: Prepared, machine: str) -> int:
    """Month in which the first plants die soonest, by the clock; the warmest of equals."""
    outdoor = prepared.scenario.room.outdoor_temperature_c

    def lasts(month: int) -> tuple[float, float]:
        _, first, _ = of_stage(times_left(prepared.scenario, prepared.curves, machine, month))
        return (math.inf if first.worst is None else first.worst, -outdoor[month])

    return min(range(12), key=lasts)


def kills(strike: Strike) -> bool:
    """Whether plants can die of it; in the dark and without extra CO2 they only grow more slowly, or not at all."""
    return strike.machine not in ("lights", "co2")


def _kinds(scenario: Scenario, key: str) -> list[tuple[str, int, tuple[str, ...]]]:
    """Reservoirs or light banks that serve the same stages: the first of each kind, how many there are, the stages."""
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
