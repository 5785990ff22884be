"""The reservoir's solution: its strength as water comes and goes. Strength (EC, mS/cm) is taken as proportional to
salt.
"""

from __future__ import annotations


def mixed_ec(level_l: float, ec_ms_cm: float, added_l: float, added_ec_ms_cm: float) -> float:
    """Strength (mS/cm) after mixing `added_l` into `level_l`. Salt is neither made nor lost."""
    total_l = level_l + added_l
    if total_l <= 0.0:
        return ec_ms_cm
    return (level_l * ec_ms_cm + added_l * added_ec_ms_cm) / total_l


def ec_after_uptake(level_l: float, ec_ms_cm: float, taken_l: float, uptake_ec_ms_cm: float) -> float:
    """Strength (mS/cm) of what is left once plants took `taken_l` at the strength they take up.

    Plants that take less salt than the reservoir holds leave it stronger, and the other way round; never below 0. A
    reservoir drunk dry keeps the strength it had: nothing is left to measure.
    """
    left_l = level_l - taken_l
    if left_l <= 0.0:
        return ec_ms_cm
    return max(0.0, (level_l * ec_ms_cm - taken_l * uptake_ec_ms_cm) / left_l)
