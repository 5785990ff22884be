"""What is particular to each reservoir on a sheet of what to do: whom it waters, how often and how long, how full and
how strong. Reservoirs of which the same is true are told of together; of the only one in a room its name is left out.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim.report.outage import words as outage_words
from growsim.report.words import listed, number, volume

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.scenario.equipment import Reservoir
    from growsim.scenario.scenario import Scenario
    from growsim.study.outage.question import Outages


def by_hand(outages: Outages) -> str:
    """Watering by hand: how often and in which order, reservoir by reservoir, the thirstiest plants first."""
    thirst = {name: stages for name, stages in outages.wet_plug_hours.items() if stages}
    names = sorted(thirst, key=lambda name: min(thirst[name].values()))
    ends = "Turning the lights off makes them last longer."
    pour = "Until it runs: pour solution over the trays by hand until every plug is wet"
    if len(names) == 1:
        (stages,) = thirst.values()
        soonest = min(stages.values())
        return (
            f"{pour}, {listed(thirst_order(stages), 'then')} in this order. A wet plug lasts the thirstiest of them "
            f"{outage_words.hours_left(soonest)} in the light: do it {_often(soonest)}. {ends}"
        )
    each = "; ".join(
        f"{name} ({listed(thirst_order(thirst[name]), 'then')}) {_often(min(thirst[name].values()))}" for name in names
    )
    return f"{pour}, in this order: {each}. A wet plug lasts the thirstiest plants little longer in the light. {ends}"


def floods_by_hand(outages: Outages) -> str:
    """For how many minutes and how often a pump is switched on where the timer does not do it."""
    timed = [reservoir for reservoir in outages.scenario.reservoirs if not reservoir.flows_always]
    if not timed:
        return "No pump of this room waits for a timer: see that they all run."

    def says(reservoir: Reservoir) -> str:
        return (
            f"switch the pump on for {number(reservoir.flood_minutes)} minutes, then again every "
            f"{number(reservoir.flood_every_hours)} hours"
        )

    told = _told(outages, timed, says)
    return f"Flood by hand now, by day and by night: {told}. Write on the door who does it next."


def refill(outages: Outages) -> str:
    """How much goes in and how strong it is."""

    def says(reservoir: Reservoir) -> str:
        return f"{volume(reservoir.capacity_l)} at {number(reservoir.fill_ec_ms_cm, 1)} mS/cm"

    told = _told(outages, outages.scenario.reservoirs, says)
    return (
        "Repair or replace the reservoir while it is empty: never lift or shift a filled one. Back in its place fill "
        f"it: {told}."
    )


def flood_at_once(scenario: Scenario) -> str:
    """Water now, for the timer may not give any for long."""
    pauses = sorted({reservoir.flood_every_hours for reservoir in scenario.reservoirs if not reservoir.flows_always})
    if not pauses:
        return "See the water run before you leave."
    longest = number(pauses[-1]) if len(pauses) == 1 else f"{number(pauses[0])} to {number(pauses[-1])}"
    return f"Flood at once by hand; the timer's next flood may be {longest} hours off."


def thirst_order(stages: dict[str, float]) -> list[str]:
    """Stages, the one whose plugs are dry soonest first."""
    return sorted(stages, key=lambda stage: stages[stage])


def _often(hours: float) -> str:
    """An hour before the plug is dry; half an hour where it lasts less than two."""
    if hours < 2:
        return "every half hour"
    return f"every {number(math.floor(hours) - 1)} hours" if hours >= 3 else "every hour"


def _told(
    outages: Outages, reservoirs: list[Reservoir] | tuple[Reservoir, ...], says: Callable[[Reservoir], str]
) -> str:
    """What is said of each reservoir, with its name and plants where the room has more than one."""
    if len(outages.scenario.reservoirs) == 1:
        return says(reservoirs[0])
    alike: dict[str, list[str]] = {}
    for reservoir in reservoirs:
        stages = outages.wet_plug_hours.get(reservoir.name, {})
        plants = f" ({listed(list(stages))})" if stages else ""
        alike.setdefault(says(reservoir), []).append(f"{reservoir.name}{plants}")
    return "; ".join(f"{listed(names)}: {said}" for said, names in alike.items())
