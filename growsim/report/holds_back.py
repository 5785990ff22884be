"""What holds the room back: a rule that can be read, over figures of the rehearsal. No words; see sentences.

The rule. A cause is *strained* where the room runs at a limit because of it:

  slots     trays wait for a slot (half a tray or more on average), or some stage fills 95 % or more of the slots that
            may hold it in some month, or 2 % or more of the seedlings are thrown away for want of a slot
  hands     tasks done in time fall short of the planner's goal, or in some month the work falling due is 95 % or more
            of the hours present, or 2 % or more of the seedlings are lost overgrown
  machines  2 % or more of the seedlings dry out or are lost to heat

Of the strained causes the one that costs most plants is named first; with no plants lost, slots before hands before
machines. With none strained, the plan itself is the limit where orders fall short of the goal, and the orders are where
they do not. The rule reads one rehearsal; what a change would bring is for a comparison to say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.spec.scenario import Scenario

Cause = Literal["slots", "hands", "machines", "plan", "orders"]

WAITING_TRAYS = 0.5
FULL = 0.95
SHARE_LOST = 0.02


@dataclass(frozen=True)
class FullestStage:
    """The stage that fills most of its slots in some month: mean share over that month."""

    stage: str
    month: str
    share: float


@dataclass(frozen=True)
class HoldsBack:
    """The finding and the figures it rests on.

    shares: cause -> plants lost to it as a share of those that came up. short_months: months in which the hours of work
    falling due exceed the hours present. fullest: None where the room has no shelves or no whole week.
    """

    first: Cause
    others: tuple[Cause, ...]
    shares: dict[str, float]
    fullest: FullestStage | None
    short_months: tuple[str, ...]
    tight_months: tuple[str, ...]
    slots_used_share: float | None
    hours_used_share: float | None


def fullest_stage(outcomes: Sequence[Outcome], scenario: Scenario) -> FullestStage | None:
    """Stage and month with the highest share of slots in use, over the whole room."""
    months = summaries.months(scenario, summaries.week_count(outcomes))
    best: FullestStage | None = None
    used = summaries.slots_used(outcomes, scenario)
    for stage in summaries.stages_of(scenario):
        slots = sum(summaries.slots_for(scenario, rack.name, stage) for rack in scenario.racks)
        rows = [series for (_, its_stage), series in used.items() if its_stage == stage]
        if not slots or not rows:
            continue
        total = sum(rows[1:], rows[0])
        for month in months:
            share = float(total[list(month.weeks)].mean()) / slots
            if best is None or share > best.share:
                best = FullestStage(stage, month.label, share)
    return best


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
    lost = {
        "slots": fates["no_room"],
        "hands": fates["overgrown"],
        "machines": fates["dried_out"] + fates["heat"],
    }
    shares = {cause: plants / came_up if came_up > 0 else 0.0 for cause, plants in lost.items()}
    fullest = fullest_stage(outcomes, scenario)
    hours = hours_by_month(outcomes, scenario)
    tight = tuple(month for month, (due, present) in hours.items() if due > 0 and due >= FULL * present)
    short = tuple(month for month, (due, present) in hours.items() if due > present)
    goals = scenario.goals
    strained: dict[Cause, bool] = {
        "slots": means.get("slots_waiting_mean", 0.0) >= WAITING_TRAYS
        or (fullest is not None and fullest.share >= FULL)
        or shares["slots"] >= SHARE_LOST,
        "hands": means.get("tasks_on_time_fraction", 1.0) < goals.tasks_on_time_fraction
        or bool(tight)
        or shares["hands"] >= SHARE_LOST,
        "machines": shares["machines"] >= SHARE_LOST,
    }
    ranked = sorted((cause for cause, is_so in strained.items() if is_so), key=lambda cause: -shares[cause])
    if not ranked:
        orders_short = means.get("orders_filled_fraction", 1.0) < goals.orders_filled_fraction
        ranked = ["plan" if orders_short or not scenario.partners else "orders"]
    due = sum(of_month[0] for of_month in hours.values())
    present = sum(of_month[1] for of_month in hours.values())
    return HoldsBack(
        first=ranked[0],
        others=tuple(ranked[1:]),
        shares=shares,
        fullest=fullest,
        short_months=short,
        tight_months=tight,
        slots_used_share=means.get("shelf_fill_fraction"),
        hours_used_share=due / present if present > 0 else None,
    )
