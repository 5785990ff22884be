"""The two ranges a figure travels with, in words: of one week or year, and of the average."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.ledger.catalogue import CATALOGUE
from growsim.report.words import eight_in_ten, mass_range, number, per_period, percent, rehearsals

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate


def in_practice(estimate: Estimate, days: int) -> str:
    """The range of one week or one year: "eight weeks in ten: 4.9 to 8.1 h"."""
    name = eight_in_ten(estimate.of, days)
    measure = CATALOGUE[estimate.key]
    if measure.unit == "fraction":
        return f"{name}: {percent(estimate.p10)} to {percent(estimate.p90)}"
    if measure.unit.startswith("kg/"):
        return f"{name}: {mass_range(estimate.p10, estimate.p90)}"
    low, high = (number(value, measure.decimals) for value in (estimate.p10, estimate.p90))
    return f"{name}: {low} to {high} {per_period(measure.unit, days).split('/')[0]}"


def of_the_average(estimate: Estimate, days: int) -> str:
    """The range of the average, or why there is none."""
    rehearsed = rehearsals(estimate.n, days)
    if estimate.mean_low is None or estimate.mean_high is None:
        return f"how well the average is known cannot be said from {rehearsed}"
    return (
        f"the average itself lies between {mass_range(estimate.mean_low, estimate.mean_high, 'and')}, with 95% "
        f"confidence from {rehearsed}"
    )
