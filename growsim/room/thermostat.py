"""The thermostat that keeps the lights out while the air is too warm, where there is one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from growsim.room.racks import Bank
    from growsim.scenario.equipment import Climate

CUT_OUT_BAND_C: Final = 2.0  # the lights are let on again this far below the limit


class Thermostat:
    """Puts all banks out above its limit, and lets them on again somewhat below; does nothing without a limit."""

    def __init__(self, climate: Climate, banks: list[Bank]) -> None:
        self._limit_c = climate.lights_off_above_c
        self._wanted_c = climate.air_temperature_c
        self._banks = banks

    @property
    def holds_lights_out(self) -> bool:
        """Whether it keeps any lights out at present."""
        return any(bank.is_cut_out for bank in self._banks)

    def feel(self, air_c: float, now: int) -> None:
        """Act on the air as it is."""
        limit = self._limit_c
        if limit is None:
            return
        for bank in self._banks:
            if air_c > limit:
                bank.is_cut_out = True
            elif air_c < self._on_again_c(limit):
                bank.is_cut_out = False
            bank.refresh(now)

    def waits_for_c(self) -> list[float]:
        """Temperature at which it acts next, or none."""
        limit = self._limit_c
        if limit is None:
            return []
        return [self._on_again_c(limit) if self.holds_lights_out else limit]

    def _on_again_c(self, limit: float) -> float:
        """The lights are let on below this: a band under the limit, but above what the heat pump holds."""
        return max(limit - CUT_OUT_BAND_C, (limit + self._wanted_c) / 2.0)
