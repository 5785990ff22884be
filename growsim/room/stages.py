"""The stages of a crop as they are in one replication: what the room file says, read once, and what was drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.scenario.place import Tray

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from growsim.scenario.crop import Crop, Stage


@dataclass(frozen=True, slots=True)
class StageHere:
    """One stage of a crop.

    due_minutes: from midnight of the planned day of sowing to that of the move into it. latest_minutes: past that,
    plants still waiting to move are thrown away. handling_loss: share of plants lost in transplanting into it (0 to 1).
    """

    name: str
    tray: Tray
    places: int
    days: float
    due_minutes: int
    latest_minutes: int
    handling_loss: float


def stages_here(
    crop: Crop, trays: Mapping[str, Tray], handling_loss: Callable[[Crop, Stage], float]
) -> tuple[StageHere, ...]:
    """Stages of a crop, first to last."""
    stages, days_before = [], 0.0
    for stage in crop.stages_in_order():
        tray = trays[stage.tray]
        stages.append(
            StageHere(
                stage.name, tray, tray.places, stage.days, round(1440 * days_before),
                round(1440 * stage.latest_days), handling_loss(crop, stage),
            )
        )  # fmt: skip
        days_before += stage.days
    return tuple(stages)
