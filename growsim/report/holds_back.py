"""What holds the room back: a rule that can be read, over figures of the rehearsal; and in words, with the figures the
rule saw and, where it is so, the days it happens on.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.words import a_period, counted, in_practice, listed, number, percent, period, short_date
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.losses import DRIED_OUT, LOSSES, PLANT_LOSSES, Loss

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate

    Estimates = Mapping[str, Estimate]

Cause = Literal["slots", "hands", "reservoirs", "machines", "plan", "orders"]
WAITING_SHARE = 0.02
FULL = 0.95
SHARE_LOST = 0.02
# Losses have a season of their own where so many weeks in a row, of so many at least, hold so much of them.
MOST_WEEKS, FEWEST_WEEKS, MOST_OF_IT = 3, 26, 2 / 3


@dataclass(frozen=True)
class FullestStage:
    """The stage and month in which the racks open to that stage are fullest, whatever stands in them."""

    stage: str
    month: str
    share: float


@dataclass(frozen=True)
class WorstDays:
    """A few weeks in which most of a loss happens. share: of all such plants; closed_days: of the room, in them."""

    first: dt.date
    last: dt.date
    share: float
    closed_days: int


@dataclass(frozen=True)
class HoldsBack:
    """The finding and the figures it rests on.

    strains: by cause, see the rule. shares: cause -> plants lost to it as a share of those that germinated.
    short_months: more hours of work falling due than present; tight_months: 95 % of them or more. latest_task: the kind
    of work most often late. fullest: None where the room has no shelves or no whole week. dried_low_reservoir_share: of
    the plants dried out in the window, those whose reservoir had not been filled up. worst_days: fate -> few weeks with
    most of it, if any.
    """

    first: Cause
    others: tuple[Cause, ...]
    strains: dict[Cause, float]
    shares: dict[Cause, float]
    fullest: FullestStage | None
    short_months: tuple[str, ...]
    tight_months: tuple[str, ...]
    slots_used_share: float | None
    hours_used_share: float | None
    latest_task: str
    dried_low_reservoir_share: float
    worst_days: dict[str, WorstDays]


def fullest_stage(outcomes: Sequence[Outcome], scenario: Scenario) -> FullestStage | None:
    """Stage and month whose racks are fullest; the later stage among equals, for it holds up the earlier ones."""
    months = summaries.months(scenario, summaries.week_count(outcomes))
    racks = summaries.racks_used(summaries.slots_used(outcomes, scenario), scenario)
    best: FullestStage | None = None
    for stage in summaries.stages_of(scenario):
        open_to_it = [racks[name] for name in racks if summaries.slots_for(scenario, name, stage)]
        slots = sum(has for _, has in open_to_it)
        if not slots:
            continue
        total = sum((used for used, _ in open_to_it[1:]), open_to_it[0][0])
        for month in months:
            share = float(total[list(month.weeks)].mean()) / slots
            if best is None or share >= best.share:
                best = FullestStage(stage, month.label, share)
    return best


def latest_task(outcomes: Sequence[Outcome]) -> str:
    """The kind of work with most late tasks; "" where none is late."""
    late = {
        task: float(summaries.matrix(outcomes, f"late:{task}").sum())
        for task in summaries.series_under(outcomes, "late:")
    }
    worst = max(late, key=lambda task: late[task], default="")
    return worst if late.get(worst) else ""


def worst_days(outcomes: Sequence[Outcome], scenario: Scenario, loss: Loss) -> WorstDays | None:
    """The fewest weeks in a row, at most three, with two thirds of a loss; None where there are none."""
    lost = summaries.weekly_mean(outcomes, loss.series)
    total, weeks = float(lost.sum()), len(lost)
    if total <= 0 or weeks < FEWEST_WEEKS:
        return None
    for length in range(1, MOST_WEEKS + 1):
        begin = max(range(weeks - length + 1), key=lambda week: float(lost[week : week + length].sum()))
        share = float(lost[begin : begin + length].sum()) / total
        if share >= MOST_OF_IT:
            first = scenario.room.start_date + dt.timedelta(weeks=begin)
            last = first + dt.timedelta(days=7 * length - 1)
            return WorstDays(first, last, share, sum(first <= day <= last for day in set(scenario.room.closed_days)))
    return None


def low_reservoir_share(outcomes: Sequence[Outcome]) -> float:
    """Of the plants dried out, the share whose reservoir had not been filled up; 0 where none dried out."""
    dried = len(outcomes) * summaries.all_crops(summaries.fate_means(outcomes))[DRIED_OUT.key]
    low = math.fsum(outcome.measures.get("plants_dried_low_reservoir", 0.0) for outcome in outcomes)
    return low / dried if dried > 0 else 0.0


def hours_by_month(outcomes: Sequence[Outcome], scenario: Scenario) -> dict[str, tuple[float, float]]:
    """Month -> (hours falling due, hours present) a week, means over replications."""
    needed = summaries.weekly_mean(outcomes, "crew_hours_needed")
    present = summaries.weekly_mean(outcomes, "crew_hours_present")
    return {
        month.label: (float(needed[list(month.weeks)].mean()), float(present[list(month.weeks)].mean()))
        for month in summaries.months(scenario, summaries.week_count(outcomes))
    }


def what_holds_back(outcomes: Sequence[Outcome], scenario: Scenario, means: Mapping[str, float]) -> HoldsBack:
    """Apply the rule of this module. means: catalogue key -> mean over replications."""
    fates = summaries.all_crops(summaries.fate_means(outcomes))
    came_up = math.fsum(fates.values()) - math.fsum(fates[loss.key] for loss in LOSSES if loss not in PLANT_LOSSES)
    low_reservoir = low_reservoir_share(outcomes)
    causes: tuple[Cause, ...] = ("slots", "hands", "reservoirs", "machines")
    lost = {cause: math.fsum(fates[loss.key] for loss in PLANT_LOSSES if loss.limit == cause) for cause in causes}
    lost["reservoirs"] = fates[DRIED_OUT.key] * low_reservoir
    lost["machines"] -= lost["reservoirs"]
    shares = {cause: plants / came_up if came_up > 0 else 0.0 for cause, plants in lost.items()}
    fullest, hours = fullest_stage(outcomes, scenario), hours_by_month(outcomes, scenario)
    slots = sum(group.total_slots for rack in scenario.racks for group in rack.shelves)
    strains = {cause: share / SHARE_LOST for cause, share in shares.items()}
    strains["slots"] = max(
        strains["slots"],
        means.get("slots_waiting_mean", 0.0) / (WAITING_SHARE * slots) if slots else 0.0,
        fullest.share / FULL if fullest else 0.0,
    )
    strains["hands"] = max(
        strains["hands"],
        _late_strain(means.get("tasks_on_time_fraction", 1.0), scenario.goals.tasks_on_time_fraction),
        max((due / (FULL * present) for due, present in hours.values() if present > 0), default=0.0),
    )
    ranked: list[Cause] = sorted((c for c in strains if strains[c] >= 1), key=lambda cause: -strains[cause])
    if not ranked:
        orders_short = means.get("orders_filled_fraction", 1.0) < scenario.goals.orders_filled_fraction
        ranked = ["plan" if orders_short or not scenario.partners else "orders"]
    due, present = (math.fsum(of_month[i] for of_month in hours.values()) for i in (0, 1))
    return HoldsBack(
        first=ranked[0],
        others=tuple(ranked[1:]),
        strains=strains,
        shares=shares,
        fullest=fullest,
        short_months=tuple(month for month, (due, present) in hours.items() if due > present),
        tight_months=tuple(month for month, (due, present) in hours.items() if due > 0 and due >= FULL * present),
        slots_used_share=means.get("shelf_fill_fraction"),
        hours_used_share=due / present if present > 0 else None,
        latest_task=latest_task(outcomes),
        dried_low_reservoir_share=low_reservoir,
        worst_days={
            loss.key: found for loss in PLANT_LOSSES if loss.limit and (found := worst_days(outcomes, scenario, loss))
        },
    )


def _late_strain(on_time: float, goal: float) -> float:
    """Late tasks against those the goal allows; a goal of no late task at all counts as one in a thousand."""
    return max(0.0, 1.0 - on_time) / max(1.0 - goal, 0.001)


def holds_back(finding: HoldsBack, estimates: Estimates, days: int) -> str:
    """What holds the room back, with the figures the rule saw."""
    used = finding.hours_used_share
    hours = f"the work falling due takes {percent(used)} of the hours present" if used is not None else ""
    after = ""
    if finding.first == "slots":
        named, evidence = "room on the shelves", _slots_evidence(finding, estimates, days)
    elif finding.first == "hands" and (finding.tight_months or used is None):
        named, evidence = "too few hands", _hands_evidence(finding, estimates, days)
    elif finding.first == "hands":
        named = f"hands at the right moment: over the {period(days)} {hours}, yet"
        evidence = _hands_evidence(finding, estimates, days)
    elif finding.first == "reservoirs":
        named, evidence = "reservoirs that run low", _reservoirs_evidence(finding, estimates, days)
        after = " A float valve, or somebody who comes to fill them up, would keep these plants."
    elif finding.first == "machines":
        named, evidence = "machines that are down", _machines_evidence(finding, estimates, days)
    else:
        return _nothing_strained(finding, hours)
    joined = " " if named.endswith("yet") else ": "
    also = listed([_also(cause, finding, estimates) for cause in finding.others])
    besides = f" Besides, {also}." if also else ""
    return f"What holds the room back first is {named}{joined}{listed(evidence)}.{after}{besides}"


def lost_to(loss: Loss, estimates: Estimates, days: int) -> str:
    """How many plants are lost so, with the range; "" where hardly any is."""
    estimate = estimates.get(loss.measure)
    if estimate is None or estimate.mean < 0.5:
        return ""
    return f"{counted(estimate.mean, 'plant')} {a_period(days)} {loss.clause} ({in_practice(estimate, days)})"


def _lost_for(cause: Cause, finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    """What is lost for that cause, and the days on which most of it happens."""
    told = {loss: lost_to(loss, estimates, days) for loss in PLANT_LOSSES if loss.limit == cause}
    return [words + _when(loss, finding) for loss, words in told.items() if words]


def _slots_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    parts = []
    waiting = estimates.get("slots_waiting_mean")
    if waiting is not None and waiting.mean >= 0.05:
        parts.append(f"on average {counted(waiting.mean, 'tray', decimals=1)} wait for a slot")
    if finding.fullest is not None:
        fullest = finding.fullest
        parts.append(f"racks open to the {fullest.stage} stage are {percent(fullest.share)} full in {fullest.month}")
    return parts + _lost_for("slots", finding, estimates, days)


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
    return parts + _lost_for("hands", finding, estimates, days)


def _reservoirs_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    dried = lost_to(DRIED_OUT, estimates, days)
    low = f", {percent(finding.dried_low_reservoir_share)} of them because their reservoir was not filled up in time"
    return [dried + low + _when(DRIED_OUT, finding)] if dried else []


def _machines_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    parts = _lost_for("machines", finding, estimates, days)
    failures = estimates.get("machine_failures")
    if failures is not None:
        times = f"machines fail {number(failures.mean, 1)} times {a_period(days)}"
        parts.append(f"{times} ({in_practice(failures, days)})")
    return parts


def _when(loss: Loss, finding: HoldsBack) -> str:
    """The days on which most of it happens; "" where it happens all through the year."""
    worst = finding.worst_days.get(loss.key)
    return "" if worst is None else f", {_days_named(worst)}"


def _days_named(worst: WorstDays) -> str:
    named = f"most of it ({percent(worst.share)}) from {short_date(worst.first)} to {short_date(worst.last)}"
    if not worst.closed_days:
        return named
    all_of_them = worst.closed_days == (worst.last - worst.first).days + 1
    return f"{named}, {'when' if all_of_them else f'on {worst.closed_days} days of which'} the room is closed"


def months_named(months: Sequence[str]) -> str:
    """Months in words; many of them with their number first."""
    return listed(months) if len(months) <= 6 else f"{len(months)} months ({', '.join(months)})"


def _also(cause: Cause, finding: HoldsBack, estimates: Estimates) -> str:
    """A cause that holds the room back as well, in a few words."""
    waiting, on_time = estimates.get("slots_waiting_mean"), estimates.get("tasks_on_time_fraction")
    if cause == "slots":
        return "slots are tight" + (f" ({counted(waiting.mean, 'tray', decimals=1)} waiting)" if waiting else "")
    if cause == "hands":
        return "hands come too late" + (f" for {percent(1 - on_time.mean)} of the tasks" if on_time else "")
    lost = f"{percent(finding.shares[cause], 1)} of the seedlings"
    if cause == "reservoirs":
        return f"reservoirs that are not filled up in time cost {lost}"
    return f"machines that are down cost {lost}"


def _nothing_strained(finding: HoldsBack, hours: str) -> str:
    slack = [hours] if hours else []
    if finding.slots_used_share is not None:
        slack.insert(0, f"{percent(finding.slots_used_share)} of the slots are in use on average")
    seen = f": {listed(slack)}" if slack else ""
    if finding.first == "plan":
        return f"What holds the room back is the sowing plan; slots, hands and machines would allow more{seen}."
    return f"Nothing in the room holds it back at present; orders are met with slots and hands to spare{seen}."
