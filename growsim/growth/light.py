"""Lamps: how much electricity a given light takes."""

from __future__ import annotations


def lamp_power_w(
    ppfd_umol_m2_s: float, area_m2: float, efficacy_umol_j: float, light_on_trays_fraction: float = 1.0
) -> float:
    """Electric power (W) of lamps that give `ppfd_umol_m2_s` on `area_m2`, with that share of their light on trays."""
    return ppfd_umol_m2_s * area_m2 / (efficacy_umol_j * light_on_trays_fraction)
