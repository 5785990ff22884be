"""What holds the room back: a rule that can be read, over figures of the rehearsal. No words; see sentences.

The rule. Each cause has a strain: the largest of these ratios, each 1 where the room begins to run at a limit.

  slots     trays waiting for a slot / 2 % of all slots;  share full of the racks open to a stage, in its fullest month
            / 95 %;  seedlings thrown away for want of a slot / 2 %
  hands     tasks done late / the share of late tasks the planner's goal allows;  hours falling due in the busiest month
            / 95 % of the hours present;  seedlings lost overgrown / 2 %
  machines  seedlings dried out or lost to heat / 2 %

Causes with a strain of 1 or more hold the room back, the most strained first. Where there is none, the sowing plan is
the limit if orders fall short of the goal, and the orders are if they do not. The thresholds are ours. The rule reads
one rehearsal; what a change would bring is for a comparison to say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.spec.scenario import Scenario

Cause = Literal["slots", "hands", "machines", "plan", "orders"]

WAITING_SHARE = 0.02
FULL = 0.95
SHARE_LOST = 0.02


@dataclass(frozen=True)
class FullestStage:
    """The stage and month in which the racks open to that stage are fullest, whatever stands in them."""

    stage: str
    month: str
    share: float


@dataclass(frozen=True)
class HoldsBack:
    """The finding and the figures it rests on.

    strains: by cause, see the rule. shares: cause -> plants lost to it as a share of those that came up. short_months:
    more hours of work falling due than present; tight_months: 95 % of them or more. latest_task: the kind of work most
    often late. fullest: None where the room has no shelves or no whole week.
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
    came_up = sum(fates.values()) - fates["not_emerged"] - fates["thinned"]
    lost: dict[Cause, float] = {
        "slots": fates["no_room"],
        "hands": fates["overgrown"],
        "machines": fates["dried_out"] + fates["heat"],
    }
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
    due, present = (sum(of_month[i] for of_month in hours.values()) for i in (0, 1))
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
    )


def _late_strain(on_time: float, goal: float) -> float:
    """Late tasks against those the goal allows; a goal of no late task at all counts as one in a thousand."""
    return max(0.0, 1.0 - on_time) / max(1.0 - goal, 0.001)
