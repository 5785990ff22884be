"""How a learned figure is written: its value with its unit, and its range."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.words import number, percent, sensible

if TYPE_CHECKING:
    from growsim.study.learn.learned import Learned

GROUPS: dict[str, str] = {
    "seeds": "Seeds that germinate",
    "days": "Days from sowing to harvest weight",
    "mass": "Mass of a plant",
    "losses": "Plants lost in moving",
    "people": "Chance of coming",
    "minutes": "Minutes of work",
    "machines": "How long machines run",
    "mending": "How long repair takes",
    "spreads": "How much sowings differ",
}


def value_text(figure: Learned, value: float) -> str:
    """A value of the figure with its unit."""
    if figure.unit == "fraction":
        return percent(value, 1)
    if figure.unit == "days":
        return f"{number(value, 1 if value < 100 else 0)} days"
    if figure.unit == "h":
        return f"{number(value, 1 if value < 100 else 0)} h"
    if figure.unit == "g":
        return f"{enough(units.amount(value, figure.unit))} {units.unit(figure.unit)}"
    return f"{enough(value)} {figure.unit}"


def range_text(figure: Learned, low: float, high: float) -> str:
    """ "40.6 to 41.8 days", "131 to 142 g"."""
    one, two = value_text(figure, low), value_text(figure, high)
    unit = f" {units.unit(figure.unit)}"
    return f"{one.removesuffix(unit)} to {two}" if figure.unit != "fraction" else f"{one} to {two}"


def enough(value: float) -> str:
    """Three figures, without thousands of decimals: 0.489, 7.75, 26.8, 137."""
    if value == 0 or not math.isfinite(value):
        return sensible(value)
    return number(value, max(0, 2 - math.floor(math.log10(abs(value)))))


def capital(text: str) -> str:
    """The text with a capital first."""
    return text[:1].upper() + text[1:]
