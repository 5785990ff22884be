"""What we do not know of this room, drawn once for a whole replication."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from growsim.room.stages import stages_here

if TYPE_CHECKING:
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
