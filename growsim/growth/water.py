"""Water in the air and out of the leaves.

Sources: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998) for vapour pressures; Graamans et al. 2017, "Plant
factories; crop transpiration and energy balance", *Agricultural Systems* 153:138-147, for closed rooms (formulas as
several independent reproductions give them; the paper's text was not read).
"""

from __future__ import annotations

import math
from typing import Final

from growsim.growth.lettuce import par_w_m2

LATENT_HEAT_J_PER_G: Final = 2450.0
"""Heat to evaporate a gram of water: 2.45 MJ/kg at about 20 °C, FAO-56 annex 3."""

PSYCHROMETRIC_KPA_PER_C: Final = 0.665e-3 * 101.3
"""FAO-56 eq. 8, at sea level."""

AIR_HEAT_J_PER_M3_K: Final = 1.2 * 1005.0
"""Density times specific heat of air at 20 °C and sea level (from memory, any handbook)."""

LEAF_AIR_RESISTANCE_S_M: Final = 100.0
"""Resistance of the air layer on the leaf with fans running; Graamans et al. 2017 as reproduced."""

LIGHT_REFLECTED_FRACTION: Final = 0.05
"""Share of lamp light a canopy throws back; Graamans et al. 2017 as reproduced (0.05-0.08)."""

COVER_EXTINCTION: Final = 0.9
"""How quickly leaf area covers the tray; van Henten 1994 (c_K)."""

ACTIVE_LEAF_AREA_INDEX: Final = 3.0
"""Leaf area that can transpire at full cover; Graamans et al. 2017 work with 3. Leaves beneath are still and shaded."""


def saturation_vapour_pressure_kpa(temperature_c: float) -> float:
    """Most water vapour air can hold (kPa). FAO-56 eq. 11."""
    return 0.6108 * math.exp(17.27 * temperature_c / (temperature_c + 237.3))


def slope_kpa_per_c(temperature_c: float) -> float:
    """Slope of the saturation curve (kPa/°C). FAO-56 eq. 13."""
    return 4098.0 * saturation_vapour_pressure_kpa(temperature_c) / (temperature_c + 237.3) ** 2


def vapour_pressure_deficit_kpa(temperature_c: float, relative_humidity_percent: float) -> float:
    """What the air lacks to be saturated (kPa): saturation less actual vapour pressure, FAO-56 eq. 10 and 11."""
    return saturation_vapour_pressure_kpa(temperature_c) * (1.0 - relative_humidity_percent / 100.0)


def stomatal_resistance_s_m(ppfd_umol_m2_s: float) -> float:
    """Resistance of lettuce leaf pores (s/m): 60 (1500 + PPFD) / (200 + PPFD). Graamans et al. 2017 as reproduced."""
    return 60.0 * (1500.0 + ppfd_umol_m2_s) / (200.0 + ppfd_umol_m2_s)


def active_leaf_area_index(leaf_area_index: float) -> float:
    """Leaf area that transpires (m²/m²): all of a young stand, levelling off at 3 in a deep one.

    The levelling is an assumption of ours (no source): the published model is used at a leaf area index near 3.
    """
    return -ACTIVE_LEAF_AREA_INDEX * math.expm1(-leaf_area_index / ACTIVE_LEAF_AREA_INDEX)


def transpiration_g_m2_h(
    leaf_area_index: float, ppfd_umol_m2_s: float, air_temperature_c: float, relative_humidity_percent: float
) -> float:
    """Water given off by a square meter of canopy (g/m²/h), in light or dark (PPFD 0).

    Penman-Monteith for closed rooms (Graamans et al. 2017): leaf and air exchange heat over the layer of still air and
    vapour over that and the pores, each over the active leaf area, and both together balance the light absorbed. With
    the saturation curve taken straight between air and leaf that has the closed form used here.
    """
    if leaf_area_index <= 0.0:
        return 0.0
    absorbed_w_m2 = (
        (1.0 - LIGHT_REFLECTED_FRACTION) * par_w_m2(ppfd_umol_m2_s) * -math.expm1(-COVER_EXTINCTION * leaf_area_index)
    )
    slope = slope_kpa_per_c(air_temperature_c)
    deficit = vapour_pressure_deficit_kpa(air_temperature_c, relative_humidity_percent)
    drying = active_leaf_area_index(leaf_area_index) * AIR_HEAT_J_PER_M3_K * deficit / LEAF_AIR_RESISTANCE_S_M
    pores = 1.0 + stomatal_resistance_s_m(ppfd_umol_m2_s) / LEAF_AIR_RESISTANCE_S_M
    latent_w_m2 = (slope * absorbed_w_m2 + drying) / (slope + PSYCHROMETRIC_KPA_PER_C * pores)
    return max(0.0, latent_w_m2) * 3600.0 / LATENT_HEAT_J_PER_G
