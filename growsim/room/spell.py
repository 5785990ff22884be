"""A spell of air too warm or too cold: degree-hours past each crop's limit since the air was last at its set-point, and
what they kill."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from growsim.growth.stress import surviving_fraction
from growsim.room.part import Harm

if TYPE_CHECKING:
    from growsim.chance.streams import Luck
    from growsim.growth.air import Drift
    from growsim.growth.stress import AirHarm
    from growsim.room.clock import Clock
    from growsim.room.part import Part
    from growsim.scenario.crop import Crop


class Spell:
    """The present spell. The longer it lasts the more plants it kills, by one luck for each part and spell.

    kind: what the air does to them.
    """

    def __init__(self, kind: AirHarm, crops: Iterable[Crop], clock: Clock, luck: Luck) -> None:
        self._kind, self._loss, self._cause = kind, kind.loss, kind.loss.key
        self._limits = {crop.name: (kind.limit_c(crop), kind.half_loss(crop)) for crop in crops}
        self._dose = dict.fromkeys(sorted({limit_c for limit_c, _ in self._limits.values()}), 0.0)
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
                part.harms.pop(self._cause, None)

    def add(self, drift: Drift, because: str, parts: Callable[[], Iterable[Part]]) -> None:
        """The air has drifted so; plants that stood in it all are harmed. because: the obstacle that keeps the air from
        its set-point."""
        added = {limit_c: self._kind.degree_hours(drift, limit_c) for limit_c in self._dose}
        for limit_c, degree_hours in added.items():
            self._dose[limit_c] += degree_hours
        if not any(self._dose.values()):
            return
        for part in parts():
            limit_c, half = self._limits[part.lot.crop_name]
            dose = self._dose[limit_c]
            if dose > 0.0 and part.plants > 0:
                self._harm(part, dose, dose - added[limit_c], half, because)

    def _harm(self, part: Part, dose: float, dose_before: float, half: float, because: str) -> None:
        harm = part.harms.get(self._cause)
        if harm is None:  # new to this spell: what came before it is not its own
            self._has_harmed = True
            harm = part.harms[self._cause] = Harm(part.plants, dose_before)
        share = 1.0 - surviving_fraction(dose - harm.since, half)
        luck = self._luck.stream(f"lot.{part.lot.name}.{part.number}.{self._cause}.{self._since}")
        lost = min(luck.binomial(harm.plants, share) - harm.lost, part.plants)
        if lost > 0:
            harm.lost += lost
            part.lose(self._clock.now, lost, self._loss, because)
            if part.plants == 0 and part.sleeping is not None:
                self._clock.rouse(part.sleeping)
