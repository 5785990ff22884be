"""Every sentence of a rehearsal's answer, made in one place. A number never travels alone: range, unit, what it is of.

Two ranges are kept apart by name: "the average itself lies between ..." (95 % range of the mean over
replications; it narrows with more of them) and "eight weeks in ten: ..." or "eight years in ten: ..." (10th to 90th
percentile of one week or one year; it does not narrow).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from growsim.ledger.outcome import Outcome
from growsim.report import holds_back, summaries
from growsim.report.words import (
    counted,
    eight_in_ten,
    hour_of_day,
    in_practice,
    listed,
    mass,
    number,
    percent,
    period,
)
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import NAME_OF_WEEKDAY
from growsim.vocabulary.losses import GROWING_AT_END, HARVESTED, LOSSES, PLANT_LOSSES

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal

    Estimates = Mapping[str, Estimate]

NO_MONTH = "In no month is there more work than there are hours."
GIVEN_AWAY = 0.5  # of the kilograms that partners lack: with less given away it is mostly too little that grows


def orders(estimates: Estimates, scenario: Scenario, days: int) -> str:
    """Orders filled, weeks with every order met, and what is left over."""
    surplus = estimates.get("kg_surplus_per_week")
    left = surplus is not None and surplus.mean >= 0.005
    goes = f"{mass(surplus.mean)} a week on average goes to open distribution" if surplus and left else ""
    filled = estimates.get("orders_filled_fraction")
    if not scenario.partners or filled is None:
        none = (
            "No partner has a standing order"
            if not scenario.partners
            else "No pick-up with an order falls into these days"
        )
        return f"{none}{'; ' + goes if goes else ''}."
    goal = scenario.goals.orders_filled_fraction
    hidden = filled.mean < goal and percent(filled.mean) == percent(goal)
    exact = 1 if hidden else 0  # rounding must not hide a shortfall
    words = (
        f"Partners receive {percent(filled.mean, exact)} of the greens they order ({in_practice(filled, days)}), "
        f"{'short of' if filled.mean < goal else 'which meets'} the goal of {percent(goal)}"
    )
    met = estimates.get("weeks_all_orders_met_fraction")
    if met is not None:
        words += f". Every order is met in {number(100 * met.mean)} weeks of 100"
    return f"{words}{'; ' + goes if goes else ''}.{_given_away(estimates, scenario)}"


def _given_away(estimates: Estimates, scenario: Scenario) -> str:
    """That greens are given away while partners go short, where it is a good part of what they lack.

    More of everything would then be the wrong remedy. "" where orders meet the goal, or little is given away.
    """
    filled, received = estimates["orders_filled_fraction"].mean, estimates.get("kg_to_partners_per_week")
    surplus = estimates.get("kg_surplus_per_week")
    if received is None or surplus is None or not 0 < filled < scenario.goals.orders_filled_fraction:
        return ""
    missing = received.mean * (1 / filled - 1)
    if surplus.mean < max(0.05, GIVEN_AWAY * missing):
        return ""
    harvest = scenario.harvest
    when = f"on {NAME_OF_WEEKDAY[harvest.surplus_weekday]}s at {hour_of_day(harvest.surplus_hour)}"
    return (
        f" While partners lack {mass(missing)} a week, {mass(surplus.mean)} are given away {when}: it is not only too "
        "little that grows, some is of the wrong crop or comes on the wrong day. `growsim sow` looks for a plan that "
        "brings the two together."
    )


def losses(estimates: Estimates, outcomes: Sequence[Outcome], on_paper: Outcome, days: int) -> str:
    """Where plants are lost, and what the plan on paper promised."""
    fates = summaries.all_crops(summaries.fate_means(outcomes))
    sown = math.fsum(fates.values())
    if sown <= 0:
        return f"No seed is sown in the rehearsed {period(days)}."
    shares = {key: 100 * plants / sown for key, plants in fates.items()}
    parts = [f"{number(shares[HARVESTED.key])} are harvested as plants"]
    parts += [f"{number(shares[loss.key])} {loss.clause}" for loss in LOSSES if loss not in PLANT_LOSSES]
    at_end = shares[GROWING_AT_END.key]
    if at_end >= 0.5:  # the seeds of the last weeks: neither harvested nor lost
        parts.append(f"{number(at_end)} still grow when counting ends")
    words = f"Of 100 seeds sown {listed(parts)}"
    ranked = sorted(PLANT_LOSSES, key=lambda loss: -fates[loss.key])
    largest = [told for loss in ranked if (told := holds_back.lost_to(loss, estimates, days))][:2]
    most = f"The largest losses: {listed(largest)}" if largest else "Hardly any plant is lost"
    return f"{words}. {most}. {paper(estimates, on_paper, days)}"


def paper(estimates: Estimates, on_paper: Outcome, days: int) -> str:
    """The plan with luck switched off against the rehearsed average."""
    planned = on_paper.measures.get("kg_packed_per_week", 0.0)
    packed = estimates.get("kg_packed_per_week")
    if planned <= 0 or packed is None:
        return "On paper, with luck switched off, the plan gives no greens either."
    gap = packed.mean / planned - 1
    stated = f"On paper, with luck switched off, the same plan gives {mass(planned)} a week"
    if abs(gap) < 0.005:
        return f"{stated}, as much as with ordinary luck."
    return f"{stated}; with ordinary luck it is {percent(abs(gap))} {'less' if gap < 0 else 'more'}."


def people(rehearsal: Rehearsal) -> str:
    """Volunteer hours a week, work falling due, the busiest shift and the short months."""
    estimates, outcomes, days = rehearsal.estimates, rehearsal.outcomes, rehearsal.plan.days
    if not rehearsal.scenario.crew.shifts:
        return "No shift is held: nobody works in this room."
    hours = [outcome.accounts.get("hours:volunteers", 0.0) / days * 7 for outcome in outcomes]
    words = f"Volunteers give {number(math.fsum(hours) / len(hours), 1)} hours a week on average"
    if len(hours) > 1:
        low, _, high = summaries.percentiles(hours)
        words += f" ({eight_in_ten('one year', days)}: {number(low, 1)} to {number(high, 1)} h)"
    needed, present = (estimates.get(f"crew_hours_{kind}_per_week") for kind in ("needed", "present"))
    if needed is not None and present is not None:
        words += (
            f". With the leads, the crew is there for {number(present.mean, 1)} hours a week "
            f"({in_practice(present, days)}), and {number(needed.mean, 1)} hours of work fall due "
            f"({in_practice(needed, days)})"
        )
    busiest = busiest_shift(outcomes, rehearsal.scenario)
    if busiest is not None:
        name, came = busiest
        words += f". The busiest shift is {name}, to which {counted(came, 'volunteer', decimals=1)} come on average"
    short = short_months(outcomes, rehearsal.scenario)
    return f"{words}. {f'More work falls due than there are hours in {months_named(short)}.' if short else NO_MONTH}"


def short_months(outcomes: Sequence[Outcome], scenario: Scenario) -> tuple[str, ...]:
    """Months in which more hours of work fall due than are present, means over replications."""
    needed, present = (summaries.weekly_mean(outcomes, f"crew_hours_{kind}") for kind in ("needed", "present"))
    months = summaries.months(scenario, summaries.week_count(outcomes))
    return tuple(
        month.label
        for month in months
        if needed[list(month.weeks)].mean() > present[list(month.weeks)].mean()
        and not summaries.is_closed(month, scenario)
    )


def months_named(months: Sequence[str]) -> str:
    """Months in words; many of them with their number first."""
    return listed(months) if len(months) <= 6 else f"{len(months)} months ({', '.join(months)})"


def busiest_shift(outcomes: Sequence[Outcome], scenario: Scenario) -> tuple[str, float] | None:
    """The shift with most volunteer hours on average: its name and mean attendance. None with no whole week."""
    if not summaries.week_count(outcomes):
        return None
    came = {
        shift.name: float(summaries.matrix(outcomes, f"came:{shift.name}").mean()) for shift in scenario.crew.shifts
    }
    best = max(scenario.crew.shifts, key=lambda shift: came[shift.name] * shift.hours)
    return best.name, came[best.name]
