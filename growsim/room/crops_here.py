"""The crops as they are in one replication: what is not known of them, drawn once for all of it, and their stages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from growsim.growth.germination import relative_emergence
from growsim.scenario.place import Tray

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from growsim.chance.streams import Luck
    from growsim.scenario.crop import Crop, Stage
    from growsim.scenario.scenario import Scenario


class NotKnown:
    """Figures in doubt by crop: germination (chance of a seed), typical mass against its expectation, pace of growth,
    and its stages, with what is lost in handling."""

    def __init__(self, scenario: Scenario, luck: Luck) -> None:
        def drawn(name: str, figure: Any) -> float:
            return float(figure.expected() if figure.is_fixed else luck.stream(f"parameter.{name}").figure(figure))

        crops = scenario.crops
        self.germination = {
            crop.name: min(1.0, max(0.0, drawn(f"{crop.name}.germination_fraction", crop.germination_fraction)))
            for crop in crops
        }
        self.mass = {
            crop.name: drawn(f"{crop.name}.typical_mass_g", crop.typical_mass_g) / crop.typical_mass_g.expected()
            for crop in crops
        }
        self.pace = {crop.name: drawn(f"{crop.name}.growth_pace", crop.growth_pace) for crop in crops}

        def handling_loss(crop: Crop, stage: Stage) -> float:
            return min(1.0, max(0.0, drawn(f"{crop.name}.{stage.name}.loss_fraction", stage.loss_fraction)))

        trays = {tray.name: tray for tray in scenario.trays}
        self.stages = {crop.name: stages_here(crop, trays, handling_loss) for crop in crops}


def usual_share(crop: Crop, scenario: Scenario) -> float:
    """Share of the seed that germinates at the room's set-point, on average: that for which the typical mass holds."""
    table = crop.emergence
    relative = relative_emergence(scenario.climate.air_temperature_c, table.temperature_c, table.relative_fraction)
    return min(1.0, crop.germination_fraction.expected() * relative)


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
