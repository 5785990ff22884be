"""Lamps: how much electricity a given light takes. µmol per joule is mol per MJ; a kWh is 3.6 MJ."""

from __future__ import annotations

from typing import Final

MEGAJOULES_PER_KWH: Final = 3.6


def mol_per_kwh(efficacy_umol_j: float) -> float:
    """Mol of photons from a kWh of electricity: 3.6 times the efficacy (µmol/J)."""
    return efficacy_umol_j * MEGAJOULES_PER_KWH


def lamp_power_w(
    ppfd_umol_m2_s: float, area_m2: float, efficacy_umol_j: float, light_on_trays_fraction: float = 1.0
) -> float:
    """Electric power (W) of lamps that give `ppfd_umol_m2_s` on `area_m2`, with that share of their light on trays."""
    return ppfd_umol_m2_s * area_m2 / (efficacy_umol_j * light_on_trays_fraction)
