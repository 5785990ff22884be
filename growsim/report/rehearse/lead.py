"""The page of the answer of a rehearsal: what the room gives, what went worst, why, what brings more, how sure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import holds_back
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.tables import between, label_with_unit, shown
from growsim.report.words import (
    closed_in_vain,
    dates,
    eight_in_ten,
    mass,
    mass_range,
    number,
    percent,
    period,
    rehearsals,
)
from growsim.report.worst import kept_too_long, worst

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal
    from growsim.study.trials import Held

ROWS = (
    "orders_filled_fraction",
    "weeks_all_orders_met_fraction",
    "kg_handed_out_per_week",
    "kg_packed_per_week",
    "kg_wasted_per_week",
    "sowings_skipped",
    "crew_hours_needed_per_week",
    "crew_hours_present_per_week",
    "cost_per_week",
    "cost_per_kg",
)
MOST_WORST = 2  # sentences of what went worst


def front(rehearsal: Rehearsal, held: Held) -> Front:
    """The page of the answer."""
    days = rehearsal.plan.days
    said = holds_back.tried_advice(held, days)
    closings = holds_back.closings(held, rehearsal.scenario, days)
    return Front(
        headline(rehearsal),
        tuple(each for each in (said, closings) if each),
        table(rehearsal),
        how_sure(rehearsal),
        why=why(rehearsal, held),
    )


def why(rehearsal: Rehearsal, held: Held) -> str:
    """Why what went worst did: greens that the calendar lets grow too old, where they outweigh what waited longest."""
    scenario, days = rehearsal.scenario, rehearsal.plan.days
    wasted = rehearsal.estimates.get("kg_wasted_per_week")
    spoiled = wasted.mean * days / 7 if wasted is not None else 0.0
    heaviest = max((cause.kg for cause in held.of_closings(are=False)), default=0.0)
    return (kept_too_long(scenario) if spoiled > heaviest else "") or holds_back.first_cause(held, scenario, days)


def headline(rehearsal: Rehearsal) -> str:
    """What went worst, then orders and greens with their ranges."""
    estimates, scenario, days = rehearsal.estimates, rehearsal.scenario, rehearsal.plan.days
    packed = estimates.get("kg_packed_per_week")
    if packed is None or packed.mean <= 0:
        return f"Nothing is packed in the rehearsed {period(days)}: no plant is harvested within it."
    greens = f"The room packs {mass(packed.mean)} of greens a week{_masses(packed)}"
    filled = estimates.get("orders_filled_fraction")
    if scenario.partners and filled is not None:
        goal = scenario.goals.orders_filled_fraction
        exact = 1 if filled.mean < goal and percent(filled.mean) == percent(goal) else 0  # rounding hides no shortfall
        greens += f" and fills {percent(filled.mean, exact)} of orders{_shares(filled, exact)}, " + (
            f"short of the {percent(goal)} wanted" if filled.mean < goal else f"as wanted ({percent(goal)})"
        )
        met = estimates.get("weeks_all_orders_met_fraction")
        if met is not None and met.mean < 1.0:  # a share of all kilograms hides the Fridays that fall short
            greens += f"; in {number(100 * (1 - met.mean))} weeks of 100 some order is not met in full"
    return " ".join((f"{greens}.", *worst(rehearsal.outcomes, scenario, days)[:MOST_WORST]))


def _masses(found: Estimate) -> str:
    if found.mean_low is None or found.mean_high is None:
        return ""
    return f" ({mass_range(found.mean_low, found.mean_high)})"


def _shares(found: Estimate, exact: int) -> str:
    if found.mean_low is None or found.mean_high is None:
        return ""
    return f" ({percent(found.mean_low, exact)} to {percent(found.mean_high, exact)})"


def table(rehearsal: Rehearsal) -> AnswerTable:
    """Orders first, then greens, what is lost of them, people's hours, money; average with its range, and 8 in 10."""
    currency, days = rehearsal.scenario.prices.currency, rehearsal.plan.days
    of = "the room as it is, with its own sowing plan"
    rows = []
    for key in ROWS:
        found = rehearsal.estimates.get(key)
        if found is None:
            continue
        average = shown(key, found.mean, currency)
        if found.mean_low is not None and found.mean_high is not None:
            average += f" ({between(key, found.mean_low, found.mean_high, currency).removeprefix(f'{currency} ')})"
        unit = CATALOGUE[key].unit
        one = f"{between(key, found.p10, found.p90, currency)} ({eight_in_ten(found.of, days).split()[1]})"
        rows.append(
            Row(
                label_with_unit(key, days),
                (
                    Cell(average, found.mean, found.mean_low, found.mean_high, unit),
                    Cell(one, found.p50, found.p10, found.p90, unit),
                ),
            )
        )
    columns = (Column("on average (range)", of), Column("8 in 10 lie within", of))
    title = f"A rehearsed {period(days)} of the room, {dates(rehearsal.scenario, days)}"
    return AnswerTable(title, columns, tuple(rows), closed_in_vain(rehearsal.scenario))


def how_sure(rehearsal: Rehearsal) -> str:
    """What it rests on, what the ranges are, and a warm-up that was too short."""
    n, days = len(rehearsal.outcomes), rehearsal.plan.days
    said = f"From {rehearsals(n, days)}; a range of the average holds it with 95% confidence"
    if n == 1:
        said = f"From {rehearsals(n, days)}, too few for a range of the average"
    return f"{said}." if rehearsal.warm_up.enough else f"{said}. {rehearsal.warm_up.sentence}"
