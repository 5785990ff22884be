"""Days of the lettuce model on its own: growsim's rates and steps, from any start, with either set of parameters."""

from __future__ import annotations

from growsim.growth.lettuce import (
    DARK_STEPS_PER_DAY,
    LIGHT_STEPS_PER_DAY,
    SECONDS_PER_HOUR,
    STANDARD,
    Lettuce,
    par_w_m2,
    rates,
    step,
)


def integrate(
    nonstructural_g_m2: float,
    structural_g_m2: float,
    days: int,
    *,
    ppfd_umol_m2_s: float,
    light_hours: float,
    air_temperature_c: float,
    co2_ppm: float,
    parameters: Lettuce = STANDARD,
    light_steps: int = LIGHT_STEPS_PER_DAY,
) -> list[tuple[float, float]]:
    """(Xn, Xs) in g/m² at the start and at the end of each day; a day is `light_hours` of light, then dark."""
    light = rates(par_w_m2(ppfd_umol_m2_s), air_temperature_c, co2_ppm, parameters)
    dark = rates(0.0, air_temperature_c, co2_ppm, parameters)
    parts = ((light, light_hours, light_steps), (dark, 24.0 - light_hours, DARK_STEPS_PER_DAY))
    states = [(nonstructural_g_m2, structural_g_m2)]
    for _ in range(days):
        now = states[-1]
        for pace, hours, steps in parts:
            for _ in range(steps if hours > 0 else 0):
                now = step(*now, pace, hours * SECONDS_PER_HOUR / steps)
        states.append(now)
    return states
