"""Every sentence of a rehearsal's answer, made in one place. A number never travels alone: range, unit, what it is of.

Two ranges are kept apart by name: "the average is known to within ..." (95 % range of the mean over replications; it
narrows with more of them) and "one week in practice" or "one year in practice" (8 in 10; it does not narrow).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.holds_back import HoldsBack
from growsim.report.words import (
    counted,
    listed,
    mass,
    mass_range,
    number,
    per_period,
    percent,
    period,
)
from growsim.spec.scenario import Scenario

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal

    Estimates = Mapping[str, Estimate]

CAUSE_WORDS = {
    "no_room": "thrown away for want of a slot",
    "dried_out": "dried out",
    "heat": "lost to heat",
    "overgrown": "overgrown because hands came too late",
    "handling": "lost when moved",
    "too_small": "too small to hand out",
}
ANSWER_HEADS = ("Output", "Orders", "What holds the room back", "Where plants are lost", "People")


def in_practice(estimate: Estimate, days: int) -> str:
    """ "one week in practice" or "one year in practice": what p10 to p90 are of."""
    return "one week in practice" if estimate.of == "one week" else f"one {period(days)} in practice"


def eight_in_ten(estimate: Estimate, days: int) -> str:
    """The range of one week or one year, in the measure's own unit."""
    measure = CATALOGUE[estimate.key]
    if measure.unit == "fraction":
        return f"{in_practice(estimate, days)}: {percent(estimate.p10)} to {percent(estimate.p90)}, eight times in ten"
    low, high = (number(value, measure.decimals) for value in (estimate.p10, estimate.p90))
    unit = per_period(measure.unit, days).split("/")[0]
    return f"{in_practice(estimate, days)}: {low} to {high} {unit}, eight times in ten"


def of_the_average(estimate: Estimate, days: int) -> str:
    """The range of the average, or why there is none."""
    if estimate.mean_low is None or estimate.mean_high is None:
        return f"from a single rehearsed {period(days)}, so how far to trust it cannot be said"
    measure = CATALOGUE[estimate.key]
    rehearsed = f"from {counted(estimate.n, 'rehearsed ' + period(days))}"
    if measure.unit == "fraction":
        low, high = percent(estimate.mean_low, 1), percent(estimate.mean_high, 1)
        return f"the average itself is known to within {low} to {high}, {rehearsed}"
    if measure.unit.startswith("kg/"):
        return f"the average itself is known to within {mass_range(estimate.mean_low, estimate.mean_high)}, {rehearsed}"
    low, high = (number(value, measure.decimals) for value in (estimate.mean_low, estimate.mean_high))
    return f"the average itself is known to within {low} to {high}, {rehearsed}"


def output(estimates: Estimates, days: int) -> str:
    """Greens, plants and servings a week with both ranges."""
    packed = estimates.get("kg_cut_per_week")
    if packed is None or packed.mean <= 0:
        return f"Nothing is packed in the rehearsed {period(days)}: no plant is cut within it."
    beside = []
    if "plants_cut_per_week" in estimates:
        beside.append(counted(estimates["plants_cut_per_week"].mean, "plant"))
    if "servings_per_week" in estimates:
        beside.append(counted(estimates["servings_per_week"].mean, "serving"))
    about = f", about {listed(beside)}" if beside else ""
    return (
        f"The room packs {mass(packed.mean)} of greens a week on average{about}; "
        f"{in_practice(packed, days)} it is {mass_range(packed.p10, packed.p90)}, eight times in ten "
        f"({of_the_average(packed, days)})."
    )


def orders(estimates: Estimates, scenario: Scenario, days: int) -> str:
    """Orders filled, weeks with every order met, and what is left over."""
    surplus = estimates.get("kg_surplus_per_week")
    left = f"{mass(surplus.mean)} a week on average goes to open distribution" if surplus else ""
    filled = estimates.get("orders_filled_fraction")
    if not scenario.partners or filled is None:
        return f"No partner has a standing order{'; ' + left if left else ''}."
    words = (
        f"Partners receive {percent(filled.mean)} of the kilograms they order ({eight_in_ten(filled, days)}; "
        f"the goal is {percent(scenario.goals.orders_filled_fraction)})"
    )
    met = estimates.get("weeks_all_orders_met_fraction")
    if met is not None:
        words += f", and every order is met in {number(100 * met.mean)} weeks of 100"
    return f"{words}{'; ' + left if left and surplus and surplus.mean > 0.005 else ''}."


def _slots_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> str:
    parts = []
    waiting = estimates.get("slots_waiting_mean")
    if waiting is not None and waiting.mean > 0.005:
        parts.append(f"{counted(waiting.mean, 'tray', decimals=1)} wait for a slot on average")
    if finding.fullest is not None:
        fullest = finding.fullest
        parts.append(f"slots for the {fullest.stage} stage are {percent(fullest.share)} full in {fullest.month}")
    lost = estimates.get("plants_lost_no_room")
    if lost is not None and lost.mean >= 0.5:
        parts.append(f"{counted(lost.mean, 'plant')} a {period(days)} find no slot ({eight_in_ten(lost, days)})")
    return listed(parts)


def _hands_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> str:
    parts = []
    on_time = estimates.get("tasks_on_time_fraction")
    if on_time is not None:
        parts.append(f"{percent(1 - on_time.mean)} of the tasks are done late")
    if finding.short_months:
        parts.append(f"more work falls due than there are hours present in {months_named(finding.short_months)}")
    elif finding.hours_used_share is not None:
        parts.append(f"the work falling due takes {percent(finding.hours_used_share)} of the hours present")
    lost = estimates.get("plants_lost_overgrown")
    if lost is not None and lost.mean >= 0.5:
        parts.append(f"{counted(lost.mean, 'plant')} a {period(days)} are lost overgrown ({eight_in_ten(lost, days)})")
    return listed(parts)


def _machines_evidence(estimates: Estimates, days: int) -> str:
    parts = []
    for key, words in (("plants_lost_dried_out", "dry out"), ("plants_lost_heat", "are lost to heat")):
        lost = estimates.get(key)
        if lost is not None and lost.mean >= 0.5:
            parts.append(f"{counted(lost.mean, 'plant')} a {period(days)} {words} ({eight_in_ten(lost, days)})")
    failures = estimates.get("machine_failures")
    if failures is not None:
        parts.append(f"machines fail {number(failures.mean, 1)} times a {period(days)} on average")
    return listed(parts)


def months_named(months: Sequence[str]) -> str:
    """Months in words; a run of more than four as "n months of the year, from .. on"."""
    return listed(months) if len(months) <= 6 else f"{len(months)} months ({', '.join(months)})"


def holds_back(finding: HoldsBack, estimates: Estimates, days: int) -> str:
    """What holds the room back, with the figures the rule saw."""
    evidence = {
        "slots": lambda: _slots_evidence(finding, estimates, days),
        "hands": lambda: _hands_evidence(finding, estimates, days),
        "machines": lambda: _machines_evidence(estimates, days),
    }
    named = {
        "slots": "room on the shelves",
        "hands": "hands: there is more work than the crew can do in time",
        "machines": "machines standing still",
    }
    if finding.first in evidence:
        also = f"; {listed([ALSO[cause] for cause in finding.others])} tight as well" if finding.others else ""
        return f"What holds the room back first is {named[finding.first]}: {evidence[finding.first]()}{also}."
    slack = []
    if finding.slots_used_share is not None:
        slack.append(f"{percent(finding.slots_used_share)} of the slots are in use on average")
    if finding.hours_used_share is not None:
        slack.append(f"the work falling due takes {percent(finding.hours_used_share)} of the hours present")
    seen = f": {listed(slack)}" if slack else ""
    if finding.first == "plan":
        return f"Neither slots, hands nor machines hold the room back; the sowing plan is what limits it{seen}."
    return f"Nothing in the room holds it back at present: orders are met with slots and hands to spare{seen}."


ALSO = {"slots": "slots are", "hands": "hands are", "machines": "machines are"}


def losses(estimates: Estimates, outcomes: Sequence[Outcome], on_paper: Outcome, days: int) -> str:
    """Where plants are lost, and what the plan on paper promised."""
    fates = summaries.all_crops(summaries.fate_means(outcomes))
    sown = sum(fates.values())
    if sown <= 0:
        return f"No seed is sown in the rehearsed {period(days)}."
    cut, away, pulled = (100 * fates[fate] / sown for fate in ("cut", "not_emerged", "thinned"))
    words = (
        f"Of 100 seeds sown {number(cut)} are cut as plants, {number(away)} do not come up and {number(pulled)} are "
        "pulled as extra seedlings"
    )
    largest = sorted((fate for fate in CAUSE_WORDS if fates[fate] >= 0.5), key=lambda fate: -fates[fate])[:2]
    if largest:
        named = []
        for fate in largest:
            estimate = estimates.get(f"plants_lost_{fate}")
            spread = f"; {eight_in_ten(estimate, days)}" if estimate is not None else ""
            named.append(f"{CAUSE_WORDS[fate]} ({number(fates[fate])} a {period(days)}{spread})")
        words += f"; the other plants lost are mostly {listed(named)}"
    else:
        words += "; hardly any other plant is lost"
    return f"{words}. {paper(estimates, on_paper, days)}"


def paper(estimates: Estimates, on_paper: Outcome, days: int) -> str:
    """The plan with luck switched off against the rehearsed average."""
    planned = on_paper.measures.get("kg_cut_per_week", 0.0)
    packed = estimates.get("kg_cut_per_week")
    if planned <= 0 or packed is None:
        return "On paper, with luck switched off, the plan gives no greens either."
    gap = packed.mean / planned - 1
    stated = f"On paper, with luck switched off, the same plan gives {mass(planned)} a week"
    if abs(gap) < 0.005:
        return f"{stated}, the same as rehearsed."
    return f"{stated}: a {period(days)} with ordinary luck gives {percent(abs(gap))} {'less' if gap < 0 else 'more'}."


def people(rehearsal: Rehearsal, finding: HoldsBack) -> str:
    """Volunteer hours a week, work falling due, the busiest shift and the short months."""
    estimates, outcomes, scenario = rehearsal.estimates, rehearsal.outcomes, rehearsal.scenario
    days = rehearsal.plan.days
    if not scenario.crew.shifts:
        return "No shift is held: nobody works in this room."
    hours = [outcome.accounts.get("hours:volunteers", 0.0) / days * 7 for outcome in outcomes]
    low, _, high = summaries.percentiles(hours)
    given = f"Volunteers give {number(sum(hours) / len(hours), 1)} hours a week on average"
    if len(hours) > 1:
        given += f" (one {period(days)} in practice: {number(low, 1)} to {number(high, 1)}, eight times in ten)"
    needed = estimates.get("crew_hours_needed_per_week")
    if needed is not None:
        given += (
            f"; with the lead's hours, {number(needed.mean, 1)} hours of work fall due a week "
            f"({eight_in_ten(needed, days)})"
        )
    busiest = busiest_shift(outcomes, scenario)
    if busiest is not None:
        name, came = busiest
        given += f"; the busiest shift is {name}, to which {counted(came, 'volunteer', decimals=1)} come on average"
    if finding.short_months:
        return f"{given}; hands are short in {months_named(finding.short_months)}."
    if finding.tight_months:
        return f"{given}; hands are only just enough in {months_named(finding.tight_months)}."
    return f"{given}; on average no month has less hands than work."


def busiest_shift(outcomes: Sequence[Outcome], scenario: Scenario) -> tuple[str, float] | None:
    """The shift with most volunteer hours present on average: its name and mean attendance; None with no whole week."""
    if not summaries.week_count(outcomes):
        return None
    came = {
        shift.name: float(summaries.matrix(outcomes, f"came:{shift.name}").mean()) for shift in scenario.crew.shifts
    }
    best = max(scenario.crew.shifts, key=lambda shift: came[shift.name] * shift.hours)
    return best.name, came[best.name]


def answer(rehearsal: Rehearsal, finding: HoldsBack) -> list[str]:
    """What the report opens with, in the order of ANSWER_HEADS."""
    estimates, outcomes, scenario = rehearsal.estimates, rehearsal.outcomes, rehearsal.scenario
    days = rehearsal.plan.days
    return [
        output(estimates, days),
        orders(estimates, scenario, days),
        holds_back(finding, estimates, days),
        losses(estimates, outcomes, rehearsal.on_paper, days),
        people(rehearsal, finding),
    ]
