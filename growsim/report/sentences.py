"""Every sentence of a rehearsal's answer, made in one place. A number never travels alone: range, unit, what it is of.

Two ranges are kept apart by name: "the average itself lies between ..." (95 % range of the mean over
replications; it narrows with more of them) and "eight weeks in ten: ..." or "eight years in ten: ..." (10th to 90th
percentile of one week or one year; it does not narrow).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.holds_back import HoldsBack
from growsim.report.words import (
    a_period,
    counted,
    eight_in_ten,
    listed,
    mass,
    mass_range,
    number,
    per_period,
    percent,
    period,
    rehearsals,
)
from growsim.spec.scenario import Scenario

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal

    Estimates = Mapping[str, Estimate]

ANSWER_HEADS = ("Output", "Orders", "What holds the room back", "Where plants are lost", "People")
LOST = {
    "no_room": "thrown away for want of a slot",
    "dried_out": "dried out",
    "heat": "lost to heat",
    "overgrown": "overgrown because hands came too late",
    "handling": "lost when moved",
    "too_small": "too small to hand out",
}


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


def output(estimates: Estimates, days: int) -> str:
    """Greens, plants and servings a week with both ranges."""
    packed = estimates.get("kg_cut_per_week")
    if packed is None or packed.mean <= 0:
        return f"Nothing is packed in the rehearsed {period(days)}: no plant is cut within it."
    beside = [
        counted(estimates[key].mean, noun)
        for key, noun in (("plants_cut_per_week", "plant"), ("servings_per_week", "serving"))
        if key in estimates
    ]
    about = f": about {listed(beside)}" if beside else ""
    return (
        f"The room packs {mass(packed.mean)} of greens a week on average{about}. A single week brings "
        f"{mass_range(packed.p10, packed.p90)} eight times in ten; {of_the_average(packed, days)}."
    )


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
        f"Partners receive {percent(filled.mean, exact)} of the kilograms they order ({in_practice(filled, days)}), "
        f"{'short of' if filled.mean < goal else 'which meets'} the goal of {percent(goal)}"
    )
    met = estimates.get("weeks_all_orders_met_fraction")
    if met is not None:
        words += f". Every order is met in {number(100 * met.mean)} weeks of 100"
    return f"{words}{'; ' + goes if goes else ''}."


def _plants_a_year(estimate: Estimate | None, words: str, days: int) -> list[str]:
    if estimate is None or estimate.mean < 0.5:
        return []
    return [f"{counted(estimate.mean, 'plant')} {a_period(days)} {words} ({in_practice(estimate, days)})"]


def _slots_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    parts = []
    waiting = estimates.get("slots_waiting_mean")
    if waiting is not None and waiting.mean >= 0.05:
        parts.append(f"on average {counted(waiting.mean, 'tray', decimals=1)} wait for a slot")
    if finding.fullest is not None:
        fullest = finding.fullest
        parts.append(f"racks open to the {fullest.stage} stage are {percent(fullest.share)} full in {fullest.month}")
    return parts + _plants_a_year(estimates.get("plants_lost_no_room"), "find no slot", days)


def _hands_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    parts = []
    on_time = estimates.get("tasks_on_time_fraction")
    if on_time is not None:
        most = f", {finding.latest_task} most often" if finding.latest_task else ""
        parts.append(
            f"{percent(1 - on_time.mean)} of the tasks are done late ({in_practice(on_time, days)} in time{most})"
        )
    if finding.short_months:
        parts.append(f"more work falls due than there are hours present in {months_named(finding.short_months)}")
    return parts + _plants_a_year(estimates.get("plants_lost_overgrown"), "are lost overgrown", days)


def _machines_evidence(estimates: Estimates, days: int) -> list[str]:
    parts = _plants_a_year(estimates.get("plants_lost_dried_out"), "dry out", days)
    parts += _plants_a_year(estimates.get("plants_lost_heat"), "are lost to heat", days)
    failures = estimates.get("machine_failures")
    if failures is not None:
        times = f"machines fail {number(failures.mean, 1)} times {a_period(days)}"
        parts.append(f"{times} ({in_practice(failures, days)})")
    return parts


def months_named(months: Sequence[str]) -> str:
    """Months in words; many of them with their number first."""
    return listed(months) if len(months) <= 6 else f"{len(months)} months ({', '.join(months)})"


def holds_back(finding: HoldsBack, estimates: Estimates, days: int) -> str:
    """What holds the room back, with the figures the rule saw."""
    used = finding.hours_used_share
    hours = f"the work falling due takes {percent(used)} of the hours present" if used is not None else ""
    if finding.first == "slots":
        named, evidence = "room on the shelves", _slots_evidence(finding, estimates, days)
    elif finding.first == "hands" and (finding.tight_months or used is None):
        named, evidence = "too few hands", _hands_evidence(finding, estimates, days)
    elif finding.first == "hands":
        named = f"hands at the right moment: over the {period(days)} {hours}, yet"
        evidence = _hands_evidence(finding, estimates, days)
    elif finding.first == "machines":
        named, evidence = "machines that stand still", _machines_evidence(estimates, days)
    else:
        return _nothing_strained(finding, hours)
    joined = " " if named.endswith("yet") else ": "
    also = listed([_also(cause, finding, estimates) for cause in finding.others])
    return f"What holds the room back first is {named}{joined}{listed(evidence)}.{f' Besides, {also}.' if also else ''}"


def _also(cause: str, finding: HoldsBack, estimates: Estimates) -> str:
    """A cause that holds the room back as well, in a few words."""
    waiting, on_time = estimates.get("slots_waiting_mean"), estimates.get("tasks_on_time_fraction")
    if cause == "slots":
        return "slots are tight" + (f" ({counted(waiting.mean, 'tray', decimals=1)} waiting)" if waiting else "")
    if cause == "hands":
        return "hands come too late" + (f" for {percent(1 - on_time.mean)} of the tasks" if on_time else "")
    return f"machines that stand still cost {percent(finding.shares['machines'], 1)} of the seedlings"


def _nothing_strained(finding: HoldsBack, hours: str) -> str:
    slack = [hours] if hours else []
    if finding.slots_used_share is not None:
        slack.insert(0, f"{percent(finding.slots_used_share)} of the slots are in use on average")
    seen = f": {listed(slack)}" if slack else ""
    if finding.first == "plan":
        return f"What holds the room back is the sowing plan; slots, hands and machines would allow more{seen}."
    return f"Nothing in the room holds it back at present; orders are met with slots and hands to spare{seen}."


def losses(estimates: Estimates, outcomes: Sequence[Outcome], on_paper: Outcome, days: int) -> str:
    """Where plants are lost, and what the plan on paper promised."""
    fates = summaries.all_crops(summaries.fate_means(outcomes))
    sown = sum(fates.values())
    if sown <= 0:
        return f"No seed is sown in the rehearsed {period(days)}."
    cut, away, pulled = (number(100 * fates[fate] / sown) for fate in ("cut", "not_emerged", "thinned"))
    at_end = 100 * fates["growing_at_end"] / sown
    parts = [f"{cut} are cut as plants", f"{away} do not come up", f"{pulled} are pulled as extra seedlings"]
    if at_end >= 0.5:  # the seeds of the last weeks: neither cut nor lost
        parts.append(f"{number(at_end)} still grow when counting ends")
    words = f"Of 100 seeds sown {listed(parts)}"
    largest = sorted((fate for fate in LOST if fates[fate] >= 0.5), key=lambda fate: -fates[fate])[:2]
    named = []
    for fate in largest:
        estimate = estimates.get(f"plants_lost_{fate}")
        spread = f"; {in_practice(estimate, days)}" if estimate is not None else ""
        named.append(f"{LOST[fate]} ({number(fates[fate])} {a_period(days)}{spread})")
    most = f"Of the plants that are lost, most are {', then '.join(named)}" if named else "Hardly any plant is lost"
    return f"{words}. {most}. {paper(estimates, on_paper, days)}"


def paper(estimates: Estimates, on_paper: Outcome, days: int) -> str:
    """The plan with luck switched off against the rehearsed average."""
    planned = on_paper.measures.get("kg_cut_per_week", 0.0)
    packed = estimates.get("kg_cut_per_week")
    if planned <= 0 or packed is None:
        return "On paper, with luck switched off, the plan gives no greens either."
    gap = packed.mean / planned - 1
    stated = f"On paper, with luck switched off, the same plan gives {mass(planned)} a week"
    if abs(gap) < 0.005:
        return f"{stated}, as much as with ordinary luck."
    return f"{stated}; with ordinary luck it is {percent(abs(gap))} {'less' if gap < 0 else 'more'}."


def people(rehearsal: Rehearsal, finding: HoldsBack) -> str:
    """Volunteer hours a week, work falling due, the busiest shift and the short months."""
    estimates, outcomes, days = rehearsal.estimates, rehearsal.outcomes, rehearsal.plan.days
    if not rehearsal.scenario.crew.shifts:
        return "No shift is held: nobody works in this room."
    hours = [outcome.accounts.get("hours:volunteers", 0.0) / days * 7 for outcome in outcomes]
    words = f"Volunteers give {number(sum(hours) / len(hours), 1)} hours a week on average"
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
    if finding.short_months:
        return f"{words}; hands are short in {months_named(finding.short_months)}."
    if finding.tight_months:
        return f"{words}; hands are only just enough in {months_named(finding.tight_months)}."
    return f"{words}; in no month is there more work than there are hours."


def busiest_shift(outcomes: Sequence[Outcome], scenario: Scenario) -> tuple[str, float] | None:
    """The shift with most volunteer hours on average: its name and mean attendance. None with no whole week."""
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
