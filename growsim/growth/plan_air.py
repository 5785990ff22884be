"""The room's air with the plants of its plan in it, as `check` tells of it: how thin, what that costs, what helps."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from growsim.growth.canopy import canopy_by_bank, gained_g_by_bank, settled
from growsim.growth.carbon import Exchange
from growsim.growth.crops import Curves
from growsim.growth.curves import Environment, growth_pace
from growsim.growth.pace import Environments, environments_at, room_co2_ppm
from growsim.growth.room_co2 import RoomCo2
from growsim.scenario.scenario import Scenario

COARSE_HALVINGS: Final = 12  # air changes are told to two digits
MOST_AIR_CHANGES: Final = 60.0  # as the room file allows


@dataclass(frozen=True)
class CanopyAir:
    """A room's CO2 on paper.

    uptake_kg_per_day: CO2 the plants take up for good. reckoned_ppm: CO2 that there would be without plants. lit_ppm:
    what there is while the lights are on, mean over the day as leaves fix it. growth: speed at that CO2 against that
    without plants (1). kept: speed at it against that at which typical days were found; below 1 where so little air
    comes in that they cannot be. supply_kg_per_day: what a supply has to be able to give to hold the CO2 that there
    would be without plants, at the hour at which most is taken.
    """

    uptake_kg_per_day: float
    reckoned_ppm: float
    lit_ppm: float
    growth: float
    kept: float
    supply_kg_per_day: float


def canopy_air(scenario: Scenario, curves: Curves) -> CanopyAir:
    """CO2 of the room with the plants of its plan in it, each crop at its pace."""
    canopy = canopy_by_bank(scenario, curves.environments, curves.growth_rate)
    gained_g, reckoned_ppm = gained_g_by_bank(canopy), room_co2_ppm(scenario)
    lit_ppm = RoomCo2(scenario, curves.leaves).lit_ppm(gained_g, is_fed=True)
    held = RoomCo2(scenario, {name: replace(each, planned_ppm=reckoned_ppm) for name, each in curves.leaves.items()})
    without_plants = environments_at(scenario)
    quicker_g = gained_g_by_bank(canopy_by_bank(scenario, without_plants, curves.growth_rate))
    return CanopyAir(
        math.fsum([exchange.net_g for exchange in canopy.values()]) / 1000.0,
        reckoned_ppm,
        _mean(canopy, lit_ppm, reckoned_ppm),
        _mean(canopy, _paces(without_plants, lit_ppm), 1.0),
        _mean(canopy, _paces(curves.environments, lit_ppm), 1.0),
        held.most_short_g_per_hour(quicker_g, reckoned_ppm) * 24.0 / 1000.0,
    )


def air_changes_for(scenario: Scenario, curves: Curves, growth: float) -> float | None:
    """Air changes an hour at which plants grow at this speed against that without plants in the room; None where no
    number up to MOST_AIR_CHANGES does it."""
    canopy = canopy_by_bank(scenario, curves.environments, curves.growth_rate)
    without_plants = environments_at(scenario)

    def at(changes: float) -> float:
        room = scenario.room.model_copy(update={"air_changes_per_hour": changes})
        aired = settled(scenario.model_copy(update={"room": room}), curves.leaves, gained_g_by_bank(canopy))
        lit_ppm = dict.fromkeys(without_plants, scenario.co2.outdoor_ppm)
        lit_ppm |= {name: each.planned_ppm for name, each in aired.items()}
        return _mean(canopy, _paces(without_plants, lit_ppm), 1.0)

    low, high = scenario.room.air_changes_per_hour, MOST_AIR_CHANGES
    if low >= high or at(high) < growth:
        return None
    for _ in range(COARSE_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if at(middle) < growth else (low, middle)
    return high


def _paces(environments: Environments, lit_ppm: Mapping[str, float]) -> dict[str, float]:
    """Speed of growth under each bank at so much CO2, against that in these conditions (1)."""
    return {
        name: growth_pace(
            Environment(
                e.ppfd_umol_m2_s,
                e.light_hours,
                e.air_temperature_c,
                round(lit_ppm[name], 1),
                e.relative_humidity_percent,
            ),
            e,
        )
        for name, e in environments.items()
    }


def _mean(canopy: Mapping[str, Exchange], values: Mapping[str, float], otherwise: float) -> float:
    """Mean over the banks as the plants under them fix CO2."""
    fixed = math.fsum([exchange.fixed_g for exchange in canopy.values()])
    if fixed <= 0.0:
        return otherwise
    return math.fsum([exchange.fixed_g * values[name] for name, exchange in canopy.items()]) / fixed
