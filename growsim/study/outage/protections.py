"""What can be bought or done against outages: each protection as a change of the room, added or taken away; and the
room with a machine that cannot fail. A new Scenario each time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from growsim.scenario.calendar import minute_of
from growsim.scenario.equipment import Protection, Pump, Reliability, Reservoir
from growsim.scenario.people import WEEKDAYS, WalkThrough
from growsim.scenario.scenario import Scenario

MACHINES = ("pump", "timer", "lights", "heat pump", "co2", "power")
"""What can fail by chance."""
Change = Callable[[Scenario], Scenario]
ALARM_MINUTES = 10.0
BATTERY_HOURS = 8.0
BELOW_HEAT_LIMIT_C = 2.0  # a usual thermostat: this far below what harms the tenderest crop
ABOVE_SETPOINT_C = 3.0  # but not nearer the air wanted, or the lights would hardly burn
LOOK_IN_HOURS = range(6, 23)
MINUTES_PER_WEEK = 7 * 1440
SPARES = {
    "spare pump": "pump",
    "spare timer": "timer",
    "spare for the lights": "lights",
    "spare for the heat pump": "heat pump",
    "spare for the CO2 supply": "co2",
}
ALARMS = {"pump alarm": ("pump", "timer"), "light alarm": ("lights",), "heat alarm": ("heat pump",)}
LOOKED_AFTER = ("pump", "timer", "lights", "heat pump", "co2")  # what a walk-through can find down
Priced = Mapping[str, Protection]


def reliabilities(scenario: Scenario, machine: str) -> tuple[Reliability, ...]:
    """How each machine of that kind fails; none for utility power."""
    return {
        "pump": tuple(reservoir.pump.reliability for reservoir in scenario.reservoirs),
        "timer": tuple(reservoir.timer.reliability for reservoir in scenario.reservoirs),
        "lights": tuple(bank.reliability for bank in scenario.lights),
        "heat pump": (scenario.climate.reliability,),
        "co2": (scenario.co2.reliability,),
    }.get(machine, ())


def can_fail(scenario: Scenario, machine: str) -> bool:
    """Whether a machine of that kind can fail by chance in this room."""
    if machine == "power":
        return scenario.power.outages_per_year > 0
    return any(each.running_hours_to_failure is not None for each in reliabilities(scenario, machine))


def with_reliability(scenario: Scenario, machine: str, **changes: Any) -> Scenario:
    """The room with those figures of the reliability of every machine of that kind. Raises KeyError for power."""

    def changed(holder: Any) -> Any:
        return holder.model_copy(update={"reliability": holder.reliability.model_copy(update=changes)})

    if machine in ("pump", "timer"):
        return with_reservoirs(scenario, lambda reservoir: {machine: changed(getattr(reservoir, machine))})
    if machine == "lights":
        return scenario.model_copy(update={"lights": tuple(changed(bank) for bank in scenario.lights)})
    key = {"heat pump": "climate", "co2": "co2"}[machine]
    return scenario.model_copy(update={key: changed(getattr(scenario, key))})


def with_reservoirs(scenario: Scenario, update: Callable[[Any], dict[str, Any]]) -> Scenario:
    """The room with every reservoir changed: `update` gives the keys that differ."""
    reservoirs = tuple(reservoir.model_copy(update=update(reservoir)) for reservoir in scenario.reservoirs)
    return scenario.model_copy(update={"reservoirs": reservoirs})


def never_failing(scenario: Scenario, machine: str) -> Scenario:
    """The room in which that kind of machine never fails."""
    if machine == "power":
        return scenario.model_copy(update={"power": scenario.power.model_copy(update={"outages_per_year": 0.0})})
    return with_reliability(scenario, machine, running_hours_to_failure=None)


def undisturbed(scenario: Scenario) -> Scenario:
    """The room in which nothing fails and no outage is made to happen."""
    for machine in MACHINES:
        scenario = never_failing(scenario, machine)
    return scenario.model_copy(update={"outages": ()})


@dataclass(frozen=True)
class Protected:
    """One protection added to the room as it is, or taken away from it.

    is_added: False where it is there, and is taken away to see what it is worth. touches: machines whose outages it is
    about; None where it may matter at any time. setting: hours of a battery, minutes to an alarm, °C of a thermostat,
    hour of a walk-through; None where there is nothing to set. was: its setting today, where it is there and only set
    otherwise. cost_per_year: None where the room file gives no price. in_any_year: it may change a year in which none
    of `touches` fails.
    """

    name: str
    is_added: bool
    change: Change
    touches: frozenset[str] | None
    setting: float | None = None
    was: float | None = None
    cost_per_year: float | None = None
    in_any_year: bool = False


def protections_for(scenario: Scenario) -> tuple[Protected, ...]:
    """Every protection that could mean something in this room: those to add first, then those it has."""
    priced: Priced = {str(each.name): each for each in scenario.protections}
    found = [
        each
        for look in (_spares, _alarms, _look_ins, _battery, _second_pump, _thermostat)
        for each in look(scenario, priced)
    ]
    return tuple(sorted(found, key=lambda each: not each.is_added))


def _setting(priced: Priced, name: str, usual: float) -> float:
    given = priced[name].setting if name in priced else None
    return usual if given is None else given


def _cost(priced: Priced, name: str) -> float | None:
    return priced[name].cost_per_year if name in priced else None


def _spares(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """A part on the shelf for every machine of a kind."""
    for name, machine in SPARES.items():
        if not can_fail(scenario, machine):
            continue
        touched, cost = frozenset({machine}), _cost(priced, name)
        on_the_shelf = [each.spares for each in reliabilities(scenario, machine)]
        most = max(1, *on_the_shelf)
        if min(on_the_shelf) == 0:
            yield Protected(name, True, _spare_change(machine, most), touched, cost_per_year=cost)
        if max(on_the_shelf) > 0:
            yield Protected(name, False, _spare_change(machine, 0), touched, cost_per_year=cost)


def _spare_change(machine: str, spares: int) -> Change:
    return lambda scenario: with_reliability(scenario, machine, spares=spares)


def _alarms(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """A bell that calls somebody at once."""
    for name, machines in ALARMS.items():
        failing = [machine for machine in machines if can_fail(scenario, machine)]
        minutes = [each.alarm_minutes for machine in failing for each in reliabilities(scenario, machine)]
        touched, cost = frozenset(failing), _cost(priced, name)
        if None in minutes:
            setting = _setting(priced, name, ALARM_MINUTES)
            yield Protected(name, True, _alarm_change(failing, setting), touched, setting, cost_per_year=cost)
        if any(each is not None for each in minutes):
            yield Protected(name, False, _alarm_change(failing, None), touched, cost_per_year=cost)


def _alarm_change(machines: list[str], minutes: float | None) -> Change:
    def change(scenario: Scenario) -> Scenario:
        for machine in machines:
            scenario = with_reliability(scenario, machine, alarm_minutes=minutes)
        return scenario

    return change


def _look_ins(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """One more walk-through every day, at the hour that shortens the waits most; or none between shifts."""
    failing = frozenset(machine for machine in LOOKED_AFTER if can_fail(scenario, machine))
    if not failing:
        return
    name = "daily walk-through"
    hour = _setting(priced, name, best_look_in_hour(scenario)) % 24.0
    more = WalkThrough(name="one more walk-through", weekdays=WEEKDAYS, hour=hour)
    cost = _cost(priced, name)
    yield Protected(
        name, True, lambda old: _with_walk_throughs(old, (*old.crew.walk_throughs, more)), failing, hour, None, cost
    )
    if scenario.crew.walk_throughs:
        yield Protected(name, False, lambda old: _with_walk_throughs(old, ()), failing, cost_per_year=cost)


def _with_walk_throughs(scenario: Scenario, walk_throughs: tuple[WalkThrough, ...]) -> Scenario:
    return scenario.model_copy(update={"crew": scenario.crew.model_copy(update={"walk_throughs": walk_throughs})})


def best_look_in_hour(scenario: Scenario) -> float:
    """Whole hour, 6 to 22, at which one more daily walk-through most shortens the mean wait for somebody able."""
    looks = [minute_of(WEEKDAYS.index(shift.weekday), shift.start_hour) for shift in scenario.crew.shifts if shift.lead]
    looks += [
        minute_of(WEEKDAYS.index(day), walk_through.hour)
        for walk_through in scenario.crew.walk_throughs
        for day in walk_through.weekdays
    ]
    return float(min(LOOK_IN_HOURS, key=lambda hour: mean_wait_minutes([*looks, *_daily(hour)])))


def _daily(hour: float) -> list[int]:
    return [minute_of(day, hour) for day in range(7)]


def mean_wait_minutes(looks: list[int]) -> float:
    """Mean time from a moment of the week to the next of these minutes of it. Raises ValueError for none.

    Source: mean residual time of a renewal at fixed gaps, sum of gap² over twice the week.
    """
    if not looks:
        raise ValueError("nobody ever looks in")
    at = sorted(set(looks))
    gaps = [later - earlier for earlier, later in zip(at, [*at[1:], at[0] + MINUTES_PER_WEEK], strict=True)]
    return sum(gap * gap for gap in gaps) / (2.0 * MINUTES_PER_WEEK)


def _battery(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """A battery that keeps pumps and timers going through a harvest."""
    if not can_fail(scenario, "power"):
        return
    name = "battery for pumps"
    has, setting = scenario.power.battery_pump_hours, _setting(priced, name, BATTERY_HOURS)
    touched, cost = frozenset({"power"}), _cost(priced, name)
    if has < setting:
        was = has or None
        yield Protected(name, True, lambda old: _with_battery(old, setting), touched, setting, was, cost)
    if has > 0:
        yield Protected(name, False, lambda old: _with_battery(old, 0.0), touched, has, None, cost)


def _with_battery(scenario: Scenario, hours: float) -> Scenario:
    return scenario.model_copy(update={"power": scenario.power.model_copy(update={"battery_pump_hours": hours})})


def _second_pump(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """Two pumps on every reservoir, or one. Sharing the work changes when each wears out, so any year may differ."""
    if not can_fail(scenario, "pump"):
        return
    counts, cost, touched = (
        [reservoir.pump.count for reservoir in scenario.reservoirs],
        _cost(priced, "second pump"),
        frozenset({"pump"}),
    )
    for is_added, count, applies in ((True, 2, min(counts) == 1), (False, 1, max(counts) > 1)):
        if applies:
            change = _pump_change(count)
            yield Protected("second pump", is_added, change, touched, cost_per_year=cost, in_any_year=True)


def _pump_change(count: int) -> Change:
    """count 1: one pump a reservoir; 2: at least two."""

    def update(reservoir: Reservoir) -> dict[str, Pump]:
        pumps = 1 if count == 1 else max(count, reservoir.pump.count)
        return {"pump": reservoir.pump.model_copy(update={"count": pumps})}

    return lambda scenario: with_reservoirs(scenario, update)


def _thermostat(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """A thermostat that puts the lights out when the room grows too warm, or the one there set lower."""
    if not (can_fail(scenario, "heat pump") or can_fail(scenario, "power")):
        return
    climate, touched = scenario.climate, frozenset({"heat pump", "power"})
    tenderest = min(crop.heat_limit_c for crop in scenario.crops)
    usual = max(tenderest - BELOW_HEAT_LIMIT_C, climate.air_temperature_c + ABOVE_SETPOINT_C)
    setting, cost = _setting(priced, "thermostat", usual), _cost(priced, "thermostat")
    has = climate.lights_off_above_c
    if has is None or has > setting:
        yield Protected("thermostat", True, _thermostat_change(setting), touched, setting, has, cost)
    if has is not None:
        yield Protected("thermostat", False, _thermostat_change(None), touched, has, None, cost)


def _thermostat_change(above_c: float | None) -> Change:
    return lambda scenario: scenario.model_copy(
        update={"climate": scenario.climate.model_copy(update={"lights_off_above_c": above_c})}
    )
