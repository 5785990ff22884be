"""What is in a reservoir: how much, and how strong."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.growth.solution import ec_after_uptake, mixed_ec
from growsim.growth.stress import ec_pace

if TYPE_CHECKING:
    from growsim.scenario.equipment import Reservoir


class Solution:
    """Nutrient solution. level_ml is whole milliliters, never below 0; whatever goes in or out is told by the mL.

    drunk_ml: drunk since the last reading and not yet off the level, as far as plants have settled.
    """

    def __init__(self, spec: Reservoir) -> None:
        self._fill_ec, self._uptake_ec = spec.fill_ec_ms_cm, spec.uptake_ec_ms_cm
        self._lowest_ec, self._highest_ec = spec.lowest_ec_ms_cm, spec.highest_ec_ms_cm
        self._capacity_ml = round(spec.capacity_l * 1000)
        self.fills_itself = spec.top_up == "float valve"
        self.level_ml = self._capacity_ml
        self.ec_ms_cm = spec.fill_ec_ms_cm
        self.drunk_ml = 0.0

    def read(self) -> int:
        """What plants drank goes, as far as there is so much; returns that in whole mL.

        A float valve has filled up again all the while: the level stands, the strength has drifted.
        """
        taken = round(self.drunk_ml)
        if self.fills_itself:
            drift = (self._fill_ec - self._uptake_ec) * taken / self._capacity_ml
            self.ec_ms_cm = max(0.0, self.ec_ms_cm + drift)
        else:
            taken = taken if taken < self.level_ml else self.level_ml
            self.ec_ms_cm = ec_after_uptake(self.level_ml, self.ec_ms_cm, taken, self._uptake_ec)
            self.level_ml -= taken
        self.drunk_ml -= (
            taken  # what an empty reservoir could not give, plugs take at the first flood once it is filled
        )
        return taken

    def drain(self) -> int:
        """All of it goes; returns how much."""
        drained, self.level_ml = self.level_ml, 0
        return drained

    def fill(self) -> int:
        """Fresh solution up to the brim; returns how much."""
        added = self._capacity_ml - self.level_ml
        self.ec_ms_cm = mixed_ec(self.level_ml, self.ec_ms_cm, added, self._fill_ec)
        self.level_ml += added
        return added

    @property
    def pace(self) -> float:
        """Growth pace that its strength allows (0 to 1)."""
        return ec_pace(self.ec_ms_cm, self._lowest_ec, self._highest_ec)
