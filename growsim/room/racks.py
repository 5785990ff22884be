"""A rack while the room runs: the plants that stand on it, fed by one reservoir."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim.room.part import settle_all
from growsim.room.rack_clocks import RackClocks

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.growth.curves import Environment
    from growsim.room.part import Part
    from growsim.room.rack_clocks import Bank
    from growsim.scenario.place import Rack


class RackHere(RackClocks):
    """A rack with its plants. on_other_pace: called when they drink more or less from now on."""

    def __init__(self, spec: Rack, bank: Bank, setpoint: Environment, most_co2_ppm: float, begin: int) -> None:
        super().__init__(spec, bank, setpoint, most_co2_ppm, begin)
        self.parts: dict[Part, None] = {}
        self.on_other_pace: Callable[[RackClocks], None] = lambda rack: None

    def put(self, part: Part) -> None:
        """A part stands here from now on."""
        self.parts[part] = None
        part.is_on_rack = True

    def take(self, part: Part) -> None:
        """A part stands here no longer."""
        del self.parts[part]
        part.is_on_rack = False

    def drunk_ml(self, minute: int) -> float:
        """What the plants of the rack have drunk since they last settled (mL), now or, if nothing changes, later."""
        growth, thirst = self.clocks(minute)
        return math.fsum([part.drunk_ml(minute, growth, thirst) for part in self.parts])

    def dry_grown_g(self, now: int) -> float:
        """Dry mass the plants have gained since the start (g), as far as it was gained here: differences of the sum
        over all racks are what the room's plants have grown."""
        standing = [
            part.plants * part.lot.mass * part.thickness * part.curve.dry_g(part.age(now)) for part in self.parts
        ]
        return self.dry_left_g + math.fsum(standing)

    def dry_gain_g(self, now: int, days: float) -> float:
        """Dry mass (g) a day the plants would gain in the next days at the set-points, but for those that a drought
        holds up."""
        gained, growth = 0.0, self.clocks(now)[0]
        for part in self.parts:
            if now < part.stress_minute:
                lot, curve, age = part.lot, part.curve, part.age_at(growth)
                gained += part.plants * lot.mass * (curve.dry_g(age + lot.growth * days) - curve.dry_g(age))
        return gained * self.solution.pace / days

    def settle(self, now: int) -> tuple[float, float]:
        """Let all plants take what has passed into account, and drink at their present rate from now on.

        All plants of a reservoir together: its level shifts, and its look ahead has to be planned again. Gives both
        clocks.
        """
        clocks = self.clocks(now)
        settle_all(self.parts, self.solution, now, *clocks)
        return clocks

    def set_paces(self, now: int, growth: float, thirst: float) -> None:
        """Let both clocks run on at other paces. The plants settle first, so that what has passed keeps its pace."""
        if self.is_running_at(growth, thirst):
            return
        self.settle(now)
        self.run_on(now, growth, thirst)
        for part in self.parts:
            if part.is_dry:
                part.thirst_changed(now)
        self.on_other_pace(self)
