"""Why a change brings what it brings: the same change where people, or slots, are no limit.

A change is rehearsed again in a room that has twice the people in every shift, and in one whose shelves never run out.
If it brings more there, that limit eats part of the gain today; if it brings less there, the change helps by easing
that limit. Only the kilograms handed out are compared: the extra people and shelves are a thought, not a plan, and cost
nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.scenario.equipment import LightBank, Pump, Reliability, Reservoir, Timer
from growsim.scenario.place import Rack
from growsim.scenario.scenario import Scenario
from growsim.study.pay_back import KG, Range

Limit = Literal["people", "slots"]
LIMITS: tuple[Limit, ...] = ("people", "slots")
Part = Literal["eats", "helps", "neither", "open"]

NO_LIMIT_PEOPLE = 500
TIMES_MORE_PEOPLE = 2
TIMES_MORE_SLOTS = 10
COSTS_NOTHING = 1e12  # light given per joule by lamps that are there only in thought


@dataclass(frozen=True)
class Relief:
    """What a change brings where one limit is lifted. Kilograms handed out a week, ranges as the comparison's.

    without: the gain where the limit is lifted both before and after the change. eaten: that less the gain today.
    lifted: what lifting the limit alone brings to today's room. part: "eats" (the limit eats part of the gain), "helps"
    (the change helps by easing the limit), "neither", "open".
    """

    limit: Limit
    today: Range
    without: Range
    eaten: Range
    lifted: Range
    part: Part

    @property
    def share_eaten(self) -> float | None:
        """Share of the gain that the limit eats; None where it eats none, or there is none to eat."""
        return self.eaten.mean / self.without.mean if self.part == "eats" and self.without.mean > 0 else None


def without_limit(scenario: Scenario, limit: Limit) -> Scenario:
    """The room with one limit lifted."""
    return _more_people(scenario) if limit == "people" else _more_slots(scenario)


def _more_people(scenario: Scenario) -> Scenario:
    shifts = tuple(
        shift.model_copy(
            update={
                "people": shift.people * TIMES_MORE_PEOPLE,
                "people_by_month": tuple(people * TIMES_MORE_PEOPLE for people in shift.people_by_month),
            }
        )
        for shift in scenario.crew.shifts
    )
    return scenario.model_copy(
        update={
            "crew": scenario.crew.model_copy(update={"shifts": shifts}),
            "room": scenario.room.model_copy(update={"people_at_once": NO_LIMIT_PEOPLE}),
        }
    )


def _more_slots(scenario: Scenario) -> Scenario:
    """Every rack once more, ten times as large, as a spare: used only when the others are full.

    It has light of the same strength that uses no electricity and a reservoir that fills itself and never fails: room
    to stand, and nothing else, is added.
    """
    racks = tuple(_rack_in_thought(rack) for rack in scenario.racks)
    return scenario.model_copy(
        update={
            "racks": scenario.racks + racks,
            "reservoirs": scenario.reservoirs
            + tuple(_reservoir_in_thought(reservoir) for reservoir in scenario.reservoirs),
            "lights": scenario.lights + tuple(_lights_in_thought(bank) for bank in scenario.lights),
        }
    )


def _in_thought(name: str) -> str:
    return f"{name} (in thought)"


def _rack_in_thought(rack: Rack) -> Rack:
    return rack.model_copy(
        update={
            "name": _in_thought(rack.name),
            "reservoir": _in_thought(rack.reservoir),
            "lights": _in_thought(rack.lights),
            "spare": True,
            "shelves": tuple(
                group.model_copy(update={"count": group.count * TIMES_MORE_SLOTS}) for group in rack.shelves
            ),
        }
    )


def _reservoir_in_thought(reservoir: Reservoir) -> Reservoir:
    return reservoir.model_copy(
        update={
            "name": _in_thought(reservoir.name),
            "capacity_l": reservoir.capacity_l * TIMES_MORE_SLOTS,
            "top_up": "float valve",
            "change_every_weeks": 0,
            "pump": Pump(power_w=0.0),
            "timer": Timer(),
        }
    )


def _lights_in_thought(bank: LightBank) -> LightBank:
    return bank.model_copy(
        update={
            "name": _in_thought(bank.name),
            "efficacy_umol_j": COSTS_NOTHING,
            "reliability": Reliability(),
        }
    )


def kilograms(outcomes: Sequence[Outcome]) -> dict[int, float]:
    """Replication -> kilograms handed out a week; all that is kept of a rehearsal in thought."""
    return {outcome.replication: outcome.measures.get(KG, 0.0) for outcome in outcomes}


def relief_of(
    limit: Limit,
    today: Mapping[int, float],
    changed: Mapping[int, float],
    today_lifted: Mapping[int, float],
    changed_lifted: Mapping[int, float],
    margin: float,
    doubt: float,
) -> Relief:
    """What lifting a limit does to the gain of a change, replication by replication. Each argument: see `kilograms`."""
    keys = sorted(set(today) & set(changed) & set(today_lifted) & set(changed_lifted))

    def over(values: Sequence[float]) -> Range:
        return Range(*mean_interval(values, 1.0 - doubt))

    gain = [changed[i] - today[i] for i in keys]
    without = [changed_lifted[i] - today_lifted[i] for i in keys]
    eaten = over([relieved - now for relieved, now in zip(without, gain, strict=True)])
    return Relief(
        limit, over(gain), over(without), eaten, over([today_lifted[i] - today[i] for i in keys]), _part(eaten, margin)
    )


def _part(eaten: Range, margin: float) -> Part:
    if eaten.low is None or eaten.high is None:
        return "open"
    if -margin <= eaten.low and eaten.high <= margin:
        return "neither"
    if eaten.low > 0:
        return "eats"
    return "helps" if eaten.high < 0 else "open"
