"""A warm spell: degree-hours above each crop's limit since the air was last at its set-point, and what they kill."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from growsim.growth.stress import surviving_fraction
from growsim.vocabulary.losses import HEAT

if TYPE_CHECKING:
    from growsim.chance.streams import Luck
    from growsim.room.clock import Clock
    from growsim.room.part import Part


class WarmSpell:
    """The present spell. The longer it lasts the more plants it kills, by one luck for each part and spell."""

    def __init__(self, limits_c: Iterable[float], clock: Clock, luck: Luck) -> None:
        self._dose = dict.fromkeys(sorted(set(limits_c)), 0.0)
        self._clock = clock
        self._luck = luck
        self._since = clock.now
        self._has_harmed = False

    def end(self, parts: Callable[[], Iterable[Part]]) -> None:
        """The air is at its set-point: whatever comes next is another spell."""
        self._since = self._clock.now
        self._dose = dict.fromkeys(self._dose, 0.0)
        if self._has_harmed:
            self._has_harmed = False
            for part in parts():
                part.heat_plants = part.heat_lost = 0

    def add(self, minutes: int, mean_c: float, parts: Callable[[], Iterable[Part]]) -> None:
        """So many minutes at this mean temperature have passed; plants that stood in it all are harmed."""
        added = {limit: max(0.0, mean_c - limit) * minutes / 60.0 for limit in self._dose}
        for limit, degree_hours in added.items():
            self._dose[limit] += degree_hours
        if not any(self._dose.values()):
            return
        for part in parts():
            crop = part.lot.crop
            dose = self._dose[crop.heat_limit_c]
            if dose > 0.0 and part.plants > 0:
                self._harm(part, dose, dose - added[crop.heat_limit_c])

    def _harm(self, part: Part, dose: float, dose_before: float) -> None:
        if part.heat_plants == 0:  # new to this spell: what came before it is not its own
            self._has_harmed = True
            part.heat_plants, part.heat_from = part.plants, dose_before
        now, crop = self._clock.now, part.lot.crop
        share = 1.0 - surviving_fraction(dose - part.heat_from, crop.heat_half_loss_degree_hours)
        luck = self._luck.stream(f"lot.{part.lot.name}.{part.number}.heat.{self._since}")
        lost = min(luck.binomial(part.heat_plants, share) - part.heat_lost, part.plants)
        if lost > 0:
            part.heat_lost += lost
            part.lose(now, lost, HEAT)
            if part.plants == 0 and part.sleeping is not None:
                self._clock.rouse(part.sleeping)
