"""The lettuce model as published: slopes of its two states, and the states day by day in steady air and light."""

from __future__ import annotations

from growsim.growth.lettuce import (
    DARK_STEPS_PER_DAY,
    LIGHT_STEPS_PER_DAY,
    SECONDS_PER_HOUR,
    STANDARD,
    Lettuce,
    par_w_m2,
    rates,
    slopes,
    step,
)


def derivatives(
    nonstructural_g_m2: float,
    structural_g_m2: float,
    par_w_m2: float,
    air_temperature_c: float,
    co2_ppm: float,
    parameters: Lettuce = STANDARD,
) -> tuple[float, float]:
    """(dXn/dt, dXs/dt) in g/m²/s: the published model, states in g/m², light in W/m² PAR, CO2 in ppm."""
    return slopes(nonstructural_g_m2, structural_g_m2, rates(par_w_m2, air_temperature_c, co2_ppm, parameters))


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
    dark_steps: int = DARK_STEPS_PER_DAY,
) -> list[tuple[float, float]]:
    """(Xn, Xs) in g/m² at the start and at the end of each day; a day is `light_hours` of light, then dark."""
    light = rates(par_w_m2(ppfd_umol_m2_s), air_temperature_c, co2_ppm, parameters)
    dark = rates(0.0, air_temperature_c, co2_ppm, parameters)
    n, s = nonstructural_g_m2, structural_g_m2
    states = [(n, s)]
    for _ in range(days):
        for now, hours, steps in ((light, light_hours, light_steps), (dark, 24.0 - light_hours, dark_steps)):
            if hours > 0:
                seconds = hours * SECONDS_PER_HOUR / steps
                for _ in range(steps):
                    n, s = step(n, s, now, seconds)
        states.append((n, s))
    return states
