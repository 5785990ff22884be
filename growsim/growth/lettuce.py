"""A square meter of lettuce: van Henten's two-state growth model.

Source: E.J. van Henten 1994, "Validation of a dynamic lettuce growth model for greenhouse climate control",
*Agricultural Systems* 45(1):55-72. The two states are non-structural (sugars, starch) and structural dry mass, in g/m².
Equations as reproduced in Abedi et al. 2023, *Front. Plant Sci.* 14:1106576. Later reproductions disagree on the
conductances and the root share, so these are named parameters with two sets; what one state of either set gives is
checked against an independent integration.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

SECONDS_PER_HOUR: Final = 3600.0

PHOTONS_UMOL_PER_J_PAR: Final = 4.6
"""µmol of photons in a joule of light between 400 and 700 nm, for white light.

Thimijan & Heins 1983, *HortScience* 18(6):818-822, give 4.57 for sun and sky and 4.59 for cool white lamps (from
memory); white LEDs lie close by, red-blue ones near 5.
"""

LIGHT_STEPS_PER_DAY: Final = 4
DARK_STEPS_PER_DAY: Final = 2
"""Runge-Kutta steps in the light and in the dark of a day. The model's quickest change takes two days, so steps of a
few hours agree with a fine integration to better than 0.1 % (tested)."""


@dataclass(frozen=True, slots=True)
class Lettuce:
    """Parameters of the model; symbols of the paper behind the units.

    boundary_layer_m_s and stomatal_m_s are conductances to CO2; root_fraction is the share of dry mass in roots.
    """

    boundary_layer_m_s: float  # m/s, c_bnd
    stomatal_m_s: float  # m/s, c_stm
    root_fraction: float  # -, c_tau
    sugar_per_co2: float = 0.68  # g/g, c_alpha: 30/44
    yield_fraction: float = 0.8  # -, c_beta: structure made from sugar, the rest is respired
    growth_per_s: float = 5e-6  # 1/s at 20 °C, c_gr,max
    growth_half: float = 1.0  # -, c_gamma
    growth_q10: float = 1.6  # -
    shoot_respiration_per_s: float = 3.47e-7  # 1/s at 25 °C
    root_respiration_per_s: float = 1.16e-7  # 1/s at 25 °C
    respiration_q10: float = 2.0  # -
    extinction: float = 0.9  # -, c_K
    leaf_area_m2_g: float = 75e-3  # m²/g structural shoot, c_lar
    co2_g_m3_ppm: float = 1.83e-3  # g/m³ per ppm, c_omega
    compensation_ppm: float = 40.0  # ppm at 20 °C, c_Gamma
    compensation_q10: float = 2.0  # -
    light_use_g_j: float = 17e-6  # g CO2 per J PAR at very high CO2, c_epsilon
    carboxylation: tuple[float, float, float] = (-1.32e-5, 5.94e-4, -2.64e-3)  # m/s per °C², per °C, m/s


SET_A: Final = Lettuce(boundary_layer_m_s=0.007, stomatal_m_s=0.005, root_fraction=0.15)
"""Conductances as in the earlier reproductions, roots of soil-grown lettuce."""

SET_B: Final = replace(SET_A, boundary_layer_m_s=0.004, stomatal_m_s=0.007, root_fraction=0.07)
"""The other pair of conductances, roots of lettuce grown in nutrient solution."""

STANDARD: Final = SET_B
"""What growsim uses: hydroponic roots."""


@dataclass(frozen=True, slots=True)
class Rates:
    """Everything in the model that depends on light, air and parameters only, not on the plants."""

    gross_g_m2_s: float  # photosynthesis of a closed canopy, g CO2/m²/s
    cover_per_g: float  # extinction times leaf area per g structural mass, m²/g
    growth_per_s: float  # largest relative growth of structure, 1/s
    respiration_per_s: float  # upkeep per g structural mass, 1/s
    sugar_per_co2: float
    growth_cost: float  # 1/yield: sugar used per g of structure
    growth_half: float


def par_w_m2(ppfd_umol_m2_s: float) -> float:
    """Light as power (W/m² of PAR) from light as photons (µmol/m²/s)."""
    return ppfd_umol_m2_s / PHOTONS_UMOL_PER_J_PAR


def leaf_area_index(structural_g_m2: float, parameters: Lettuce = STANDARD) -> float:
    """Leaf area over ground area (m²/m²) of `structural_g_m2` of structural dry mass."""
    return parameters.leaf_area_m2_g * (1.0 - parameters.root_fraction) * structural_g_m2


def rates(par_w_m2: float, air_temperature_c: float, co2_ppm: float, parameters: Lettuce = STANDARD) -> Rates:
    """The model's rates under one light (W/m² PAR), air temperature and CO2.

    Outside about 5 to 40 °C the paper's carboxylation parabola falls below 0; there photosynthesis is 0, as it is at a
    CO2 below the compensation point.
    """
    p = parameters
    compensation = p.compensation_ppm * p.compensation_q10 ** ((air_temperature_c - 20.0) / 10.0)
    above = co2_ppm - compensation
    c1, c2, c3 = p.carboxylation
    carboxylation = c1 * air_temperature_c**2 + c2 * air_temperature_c + c3
    gross = 0.0
    if par_w_m2 > 0 and above > 0 and carboxylation > 0:
        conductance = 1.0 / (1.0 / p.boundary_layer_m_s + 1.0 / p.stomatal_m_s + 1.0 / carboxylation)
        by_light = p.light_use_g_j * above / (co2_ppm + 2.0 * compensation) * par_w_m2
        by_co2 = conductance * p.co2_g_m3_ppm * above
        gross = by_light * by_co2 / (by_light + by_co2)
    shoot = 1.0 - p.root_fraction
    upkeep = p.shoot_respiration_per_s * shoot + p.root_respiration_per_s * p.root_fraction
    return Rates(
        gross_g_m2_s=gross,
        cover_per_g=p.extinction * p.leaf_area_m2_g * shoot,
        growth_per_s=p.growth_per_s * p.growth_q10 ** ((air_temperature_c - 20.0) / 10.0),
        respiration_per_s=upkeep * p.respiration_q10 ** ((air_temperature_c - 25.0) / 10.0),
        sugar_per_co2=p.sugar_per_co2,
        growth_cost=1.0 / p.yield_fraction,
        growth_half=p.growth_half,
    )


def co2_response(
    par_w_m2: float, air_temperature_c: float, parameters: Lettuce = STANDARD
) -> tuple[float, float] | None:
    """(compensation point, half), both ppm: photosynthesis of `rates` is in proportion to (CO2 - compensation) over
    (CO2 + half). None where there is none at any CO2.

    by_light and by_co2 there share the factor above, which leaves a hyperbola.
    """
    p = parameters
    c1, c2, c3 = p.carboxylation
    carboxylation = c1 * air_temperature_c**2 + c2 * air_temperature_c + c3
    if par_w_m2 <= 0.0 or carboxylation <= 0.0:
        return None
    compensation = p.compensation_ppm * p.compensation_q10 ** ((air_temperature_c - 20.0) / 10.0)
    conductance = 1.0 / (1.0 / p.boundary_layer_m_s + 1.0 / p.stomatal_m_s + 1.0 / carboxylation)
    light_over_co2 = p.light_use_g_j * par_w_m2 / (conductance * p.co2_g_m3_ppm)
    return compensation, 2.0 * compensation + light_over_co2


def slopes(nonstructural_g_m2: float, structural_g_m2: float, now: Rates) -> tuple[float, float]:
    """(dXn/dt, dXs/dt) in g/m²/s under given rates. Without sugar nothing grows; upkeep goes on."""
    photosynthesis = now.gross_g_m2_s * (1.0 - math.exp(-now.cover_per_g * structural_g_m2))
    growth = 0.0
    if nonstructural_g_m2 > 0.0:
        share = nonstructural_g_m2 / (now.growth_half * structural_g_m2 + nonstructural_g_m2)
        growth = now.growth_per_s * share * structural_g_m2
    upkeep = now.respiration_per_s * structural_g_m2
    return now.sugar_per_co2 * photosynthesis - upkeep - now.growth_cost * growth, growth


def step(nonstructural_g_m2: float, structural_g_m2: float, now: Rates, seconds: float) -> tuple[float, float]:
    """The states after `seconds` under steady rates, by one classical Runge-Kutta step of fourth order."""
    n, s, half = nonstructural_g_m2, structural_g_m2, seconds / 2.0
    n1, s1 = slopes(n, s, now)
    n2, s2 = slopes(n + half * n1, s + half * s1, now)
    n3, s3 = slopes(n + half * n2, s + half * s2, now)
    n4, s4 = slopes(n + seconds * n3, s + seconds * s3, now)
    sixth = seconds / 6.0
    return n + sixth * (n1 + 2.0 * (n2 + n3) + n4), s + sixth * (s1 + 2.0 * (s2 + s3) + s4)
