"""CO2 of the room with its plants in it: one well-mixed volume in steady state, from switch to switch of the lights.

Outside air brings what the plants take, or a supply does; plants in the dark breathe some out. Leaves take less where
there is less: photosynthesis of the lettuce model is a hyperbola of the CO2 there is (`lettuce.co2_response`), the same
for a thin and a closed canopy.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from itertools import pairwise
from math import fsum, inf
from typing import Any, Final

from growsim.growth import air
from growsim.growth.carbon import CO2_G_PER_G_DRY
from growsim.scenario.equipment import LightBank
from growsim.scenario.scenario import Scenario

NEAR_PPM: Final = 0.1  # a step shorter than this leaves far less: Newton's steps shrink by their squares


@dataclass(frozen=True, slots=True)
class Leaves:
    """How plants under one light bank take up CO2.

    planned_ppm: CO2 at which they gain what their curves say. compensation_ppm, half_ppm: of the hyperbola. night: CO2
    breathed out in the dark for each gram that is gone from the air for good.
    """

    planned_ppm: float
    compensation_ppm: float
    half_ppm: float
    night: float

    def __reduce__(self) -> tuple[Any, ...]:  # to workers, as curves.Environment
        return Leaves, tuple(getattr(self, field.name) for field in fields(self))

    def at_most(self, planned_g: float) -> float:
        """What they would take up where CO2 is no limit, from what they take up at the planned CO2."""
        return planned_g * (self.planned_ppm + self.half_ppm) / (self.planned_ppm - self.compensation_ppm)


Taken = list[tuple[float, float, float]]
"""Of each lit bank: (most that its plants can take up in g an hour, compensation point, half) of its hyperbola."""


class RoomCo2:
    """The balance of one room. leaves: by light bank; banks that are not among them take up nothing."""

    def __init__(self, scenario: Scenario, leaves: Mapping[str, Leaves]) -> None:
        room, spec = scenario.room, scenario.co2
        volume_m3 = room.floor_area_m2 * room.height_m
        self._outdoor_ppm, self._setpoint_ppm = spec.outdoor_ppm, spec.setpoint_ppm
        self._leak_g = air.co2_leak_kg_per_day_per_ppm(room.air_changes_per_hour, volume_m3) * 1000.0 / 24.0
        self._supply_g = spec.supply_kg_per_day * 1000.0 / 24.0
        self._hours = {bank.name: bank.hours_per_day for bank in scenario.lights}
        self._day = _day(scenario)
        self._lit = {name: self._by_light(name, leaves[name]) for name in sorted(leaves)}
        self._dark = {
            name: CO2_G_PER_G_DRY * leaves[name].night / (24.0 - self._hours[name])
            for name in sorted(leaves)
            if self._hours[name] < 24.0
        }

    def _by_light(self, name: str, leaves: Leaves) -> tuple[float, float, float]:
        """As in `Taken`, for each gram of dry mass gained a day."""
        an_hour_g = CO2_G_PER_G_DRY * (1.0 + leaves.night) / self._hours[name]
        return leaves.at_most(an_hour_g), leaves.compensation_ppm, leaves.half_ppm

    def lit_ppm(self, gained_g: Mapping[str, float], *, is_fed: bool) -> dict[str, float]:
        """CO2 (ppm) that there is under each light bank while it is lit, mean over its hours of light.

        gained_g: dry mass (g) that the plants under each bank would gain a day at their planned CO2; of banks that are
        dark all day, none. is_fed: whether the supply works.
        """
        totals = dict.fromkeys(self._hours, 0.0)
        for lit, hours in self._day.items():
            ppm = self._steady_ppm(gained_g, lit, is_fed)
            for name in lit:
                totals[name] += hours * ppm
        return {name: total / self._hours[name] for name, total in totals.items()}

    def most_short_g_per_hour(self, gained_g: Mapping[str, float], ppm: float) -> float:
        """CO2 (g an hour) that has to be given to hold so much, in the part of the day in which most is taken."""
        needed = [0.0]
        for lit in self._day:
            taken, breathed_g = self._taken(gained_g, lit)
            uptake_g = fsum([most_g * (ppm - least) / (ppm + half) for most_g, least, half in taken if ppm > least])
            needed.append(uptake_g - breathed_g - self._leak_g * (self._outdoor_ppm - ppm))
        return max(needed)

    def _steady_ppm(self, gained_g: Mapping[str, float], lit: tuple[str, ...], is_fed: bool) -> float:
        """CO2 at which what comes in is what the plants take, with these banks lit; at most what is outside.

        Where that is less than the set-point, a working supply holds the set-point or what it can.
        """
        taken, breathed_g = self._taken(gained_g, lit)
        unfed_ppm = self._balance(taken, breathed_g, self._outdoor_ppm)
        if not is_fed or self._supply_g <= 0.0 or unfed_ppm >= self._setpoint_ppm:
            return unfed_ppm
        return self._balance(taken, breathed_g + self._supply_g, self._setpoint_ppm)

    def _taken(self, gained_g: Mapping[str, float], lit: tuple[str, ...]) -> tuple[Taken, float]:
        """(what is taken under the lit banks, g an hour breathed out under the dark ones)."""
        taken = [
            (gained_g[name] * most_g, least, half)
            for name, (most_g, least, half) in self._lit.items()
            if name in lit and gained_g.get(name)
        ]
        breathed_g = 0.0
        for name, grams in self._dark.items():
            if name not in lit and gained_g.get(name):
                breathed_g += gained_g[name] * grams
        return taken, breathed_g

    def _balance(self, taken: Taken, given_g: float, most_ppm: float) -> float:
        """CO2 (ppm) at which nothing is left over of what leaks in and is given, from 0 to the most there can be.

        Newton's method. What is left over falls with CO2 and is convex above the compensation point, so that after one
        step every other comes nearer from below.
        """
        leak_g, outdoor_ppm = self._leak_g, self._outdoor_ppm
        if not taken:
            return min(most_ppm, outdoor_ppm + given_g / leak_g) if leak_g > 0.0 else most_ppm
        least_ppm = min([least for _, least, _ in taken])
        ppm, nearer_ppm = inf, most_ppm
        while abs(nearer_ppm - ppm) >= NEAR_PPM:
            ppm = nearer_ppm
            left_g, slope = leak_g * (outdoor_ppm - ppm) + given_g, leak_g
            for most_g, least, half in taken:
                if ppm > least:
                    left_g -= most_g * (ppm - least) / (ppm + half)
                    slope += most_g * (half + least) / (ppm + half) ** 2
                else:
                    slope += most_g / (least + half)
            if left_g >= 0.0 and ppm >= most_ppm:
                return most_ppm
            nearer_ppm = min(most_ppm, max(least_ppm, ppm + left_g / slope))
        return nearer_ppm


def _day(scenario: Scenario) -> dict[tuple[str, ...], float]:
    """A day by the banks that are lit at once: names -> hours; the hours in which all are dark are left out."""

    def is_lit(bank: LightBank, hour: float) -> bool:
        return (hour - bank.on_hour) % 24.0 < bank.hours_per_day

    banks = sorted(scenario.lights, key=lambda bank: bank.name)
    switches = {0.0, 24.0}
    for bank in scenario.lights:
        switches |= {bank.on_hour % 24.0, (bank.on_hour + bank.hours_per_day) % 24.0}
    day: dict[tuple[str, ...], float] = {}
    for begin, end in pairwise(sorted(switches)):
        lit = tuple(bank.name for bank in banks if is_lit(bank, (begin + end) / 2.0))
        if lit:
            day[lit] = day.get(lit, 0.0) + end - begin
    return day
