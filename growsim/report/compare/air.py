"""What changes do to the room's CO2, which the figures of a comparison leave out: the sentences."""

from __future__ import annotations

from growsim.report.words import listed, percent, plus
from growsim.study.compare.answer import Changed, Comparison
from growsim.study.pay_back import KG, Range
from growsim.study.room_air import DANGER
from growsim.units import pounds


def left_out(changed: Changed, comparison: Comparison) -> str:
    """How far a change moves the room's CO2, and what it would bring with that; "" where it moves it little."""
    air = changed.air
    if air is None:
        return ""
    said = [
        f"While the lights are on the plants would leave about {air.after.lit_ppm:.0f} ppm of CO2 in the room, on "
        f"paper, instead of today's {air.before.lit_ppm:.0f}: growth would be about {percent(abs(air.growth - 1.0))} "
        f"{'quicker' if air.growth > 1.0 else 'slower'} than is reckoned here."
    ]
    if air.gain is not None and KG in changed.verdicts:
        reckoned = _kilograms(changed.verdicts[KG].difference.mean)
        said.append(f"With that the change in greens is {_gain(air.gain)} instead of {reckoned}.")
    if changed.scenario.co2.supply_kg_per_day > comparison.scenario.co2.supply_kg_per_day:
        said.append(DANGER)
    return " ".join(said)


def in_short(comparison: Comparison) -> str:
    """Which of several changes move the room's CO2; of one change, all there is to say; "" where none does."""
    moving = [changed for changed in comparison.changes if changed.air is not None]
    if not moving or len(comparison.changes) == 1:
        return left_out(comparison.changes[0], comparison) if moving else ""
    named = [
        f"{changed.title} (growth {plus(100 * (changed.air.growth - 1.0), 0)}%)" for changed in moving if changed.air
    ]
    return (
        f"Left out of these figures is what plants do to the room's CO2. It matters for {listed(named)}: see each of "
        "them."
    )


def _gain(gain: Range) -> str:
    said = f"{_kilograms(gain.mean)} a week"
    if gain.low is None or gain.high is None:
        return said
    return f"{said} (range {plus(gain.low, 1)} to {plus(gain.high, 1)} kg)"


def _kilograms(kilograms: float) -> str:
    return f"{plus(kilograms, 1)} kg ({plus(pounds(kilograms), 1)} lb)"
