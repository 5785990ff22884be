"""What is sown and harvested as one of a crop, in words: a plant in a cell, a pot, a tray."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.report.words import counted, grams

if TYPE_CHECKING:
    from growsim.scenario.crop import Crop


def unit_of(crop: Crop | None, unit: str = "plant") -> str:
    """The crop's own word for a cell, a seed or a plant: "pot" or "tray" where that is harvested whole."""
    is_its_own = crop is not None and crop.is_cut_whole and unit in ("cell", "seed", "plant")
    return crop.unit if crop is not None and is_its_own else unit


def seed_in_each(crop: Crop) -> str:
    """ "2 seeds", or "150 g (5.3 oz) of seed" where it goes by weight."""
    if crop.seed_g_each is None:
        return counted(crop.seeds_per_cell, "seed")
    return f"{grams(crop.seed_g_each)} of seed"
