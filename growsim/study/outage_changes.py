"""The room with a machine that cannot fail: a new Scenario each time, and the machines a change is about.

In a year in which none of the machines a change is about fails, it changes nothing, cell by cell: failures come from
streams of luck of their own. Such a year need not be lived through twice.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from growsim.spec.equipment import Reliability
from growsim.spec.scenario import Scenario

MACHINES = ("pump", "timer", "lights", "heat pump", "co2", "power")
"""What can fail by chance."""

Change = Callable[[Scenario], Scenario]


def reliabilities(scenario: Scenario, machine: str) -> tuple[Reliability, ...]:
    """How each machine of that kind fails; none for mains power."""
    return {
        "pump": tuple(tub.pump.reliability for tub in scenario.tubs),
        "timer": tuple(tub.timer.reliability for tub in scenario.tubs),
        "lights": tuple(bank.reliability for bank in scenario.lights),
        "heat pump": (scenario.climate.reliability,),
        "co2": (scenario.co2.reliability,),
    }.get(machine, ())


def can_fail(scenario: Scenario, machine: str) -> bool:
    """Whether a machine of that kind can fail by chance in this room."""
    if machine == "power":
        return scenario.power.cuts_per_year > 0
    return any(each.running_hours_to_failure is not None for each in reliabilities(scenario, machine))


def with_reliability(scenario: Scenario, machine: str, **changes: Any) -> Scenario:
    """The room with those figures of the reliability of every machine of that kind. Raises KeyError for power."""

    def changed(holder: Any) -> Any:
        return holder.model_copy(update={"reliability": holder.reliability.model_copy(update=changes)})

    if machine in ("pump", "timer"):
        return with_tubs(scenario, lambda tub: {machine: changed(getattr(tub, machine))})
    if machine == "lights":
        return scenario.model_copy(update={"lights": tuple(changed(bank) for bank in scenario.lights)})
    key = {"heat pump": "climate", "co2": "co2"}[machine]
    return scenario.model_copy(update={key: changed(getattr(scenario, key))})


def with_tubs(scenario: Scenario, update: Callable[[Any], dict[str, Any]]) -> Scenario:
    """The room with every tub changed: `update` gives the keys that differ."""
    tubs = tuple(tub.model_copy(update=update(tub)) for tub in scenario.tubs)
    return scenario.model_copy(update={"tubs": tubs})


def never_failing(scenario: Scenario, machine: str) -> Scenario:
    """The room in which that kind of machine never fails."""
    if machine == "power":
        return scenario.model_copy(update={"power": scenario.power.model_copy(update={"cuts_per_year": 0.0})})
    return with_reliability(scenario, machine, running_hours_to_failure=None)


def undisturbed(scenario: Scenario) -> Scenario:
    """The room in which nothing fails and no outage is made to happen."""
    for machine in MACHINES:
        scenario = never_failing(scenario, machine)
    return scenario.model_copy(update={"outages": ()})
