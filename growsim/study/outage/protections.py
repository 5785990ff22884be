"""What can be bought or done against outages: each protection as a change of the room, added or taken away."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from growsim.scenario.calendar import minute_of
from growsim.scenario.equipment import Protection, Reservoir
from growsim.scenario.machines import can_fail, reliabilities, with_reliability
from growsim.scenario.people import WalkThrough
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.machines import ALARMS, MACHINES, POWER, PUMP, SPARES, MachineKind

ALARM_MINUTES = 10.0
BATTERY_HOURS = 8.0
BELOW_HEAT_LIMIT_C = 2.0  # a usual thermostat: this far below what harms the tenderest crop
ABOVE_SETPOINT_C = 3.0  # but not nearer the air wanted, or the lights would hardly burn
LOOK_IN_HOURS = range(6, 23)
MINUTES_PER_WEEK = 7 * 1440
Change = Callable[[Scenario], Scenario]
Priced = Mapping[str, Protection]


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
    for name, row in SPARES.items():
        if not can_fail(scenario, row):
            continue
        touched, cost = frozenset({row.key}), _cost(priced, name)
        on_the_shelf = [each.spares for each in reliabilities(scenario, row)]
        most = max(1, *on_the_shelf)
        if min(on_the_shelf) == 0:
            yield Protected(name, True, _spare_change(row, most), touched, cost_per_year=cost)
        if max(on_the_shelf) > 0:
            yield Protected(name, False, _spare_change(row, 0), touched, cost_per_year=cost)


def _spare_change(row: MachineKind, spares: int) -> Change:
    return lambda scenario: with_reliability(scenario, row, spares=spares)


def _alarms(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """A bell that calls somebody at once."""
    for alarm, rows in ALARMS.items():
        name = alarm.name
        failing = [row for row in rows if can_fail(scenario, row)]
        minutes = [each.alarm_minutes for row in failing for each in reliabilities(scenario, row)]
        touched, cost = frozenset(row.key for row in failing), _cost(priced, name)
        if None in minutes:
            setting = _setting(priced, name, ALARM_MINUTES)
            yield Protected(name, True, _alarm_change(failing, setting), touched, setting, cost_per_year=cost)
        if any(each is not None for each in minutes):
            yield Protected(name, False, _alarm_change(failing, None), touched, cost_per_year=cost)


def _alarm_change(rows: list[MachineKind], minutes: float | None) -> Change:
    def change(scenario: Scenario) -> Scenario:
        for row in rows:
            scenario = with_reliability(scenario, row, alarm_minutes=minutes)
        return scenario

    return change


def _look_ins(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """One more walk-through every day, at the hour that shortens the waits most; or none between shifts."""
    noticed = [row for row in MACHINES if row.table is not None]  # an outage of the power is noticed at once
    failing = frozenset(row.key for row in noticed if can_fail(scenario, row))
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
    """A battery that keeps pumps and timers going through a power outage."""
    if not can_fail(scenario, POWER):
        return
    name = "battery for pumps"
    has, setting = scenario.power.battery_pump_hours, _setting(priced, name, BATTERY_HOURS)
    touched, cost = frozenset({POWER.key}), _cost(priced, name)
    if has < setting:
        was = has or None
        yield Protected(name, True, lambda old: _with_battery(old, setting), touched, setting, was, cost)
    if has > 0:
        yield Protected(name, False, lambda old: _with_battery(old, 0.0), touched, has, None, cost)


def _with_battery(scenario: Scenario, hours: float) -> Scenario:
    power = scenario.power.model_copy(update={"battery_pump_hours": hours})
    return scenario.model_copy(update={"power": power})


def _second_pump(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """Two pumps on every reservoir, or one. Sharing the work changes when each wears out, so any year may differ."""
    if not can_fail(scenario, PUMP):
        return
    counts, cost, touched = (
        [reservoir.pump.count for reservoir in scenario.reservoirs],
        _cost(priced, "second pump"),
        frozenset({PUMP.key}),
    )
    for is_added, count, applies in ((True, 2, min(counts) == 1), (False, 1, max(counts) > 1)):
        if applies:
            change = _pump_change(count)
            yield Protected("second pump", is_added, change, touched, cost_per_year=cost, in_any_year=True)


def _pump_change(count: int) -> Change:
    """count 1: one pump a reservoir; 2: at least two."""

    def changed(reservoir: Reservoir) -> Reservoir:
        pumps = 1 if count == 1 else max(count, reservoir.pump.count)
        return reservoir.model_copy(update={"pump": reservoir.pump.model_copy(update={"count": pumps})})

    return lambda scenario: scenario.model_copy(
        update={"reservoirs": tuple(changed(reservoir) for reservoir in scenario.reservoirs)}
    )


def _thermostat(scenario: Scenario, priced: Priced) -> Iterator[Protected]:
    """A thermostat that turns the lights off when the room grows too warm, or the one there set lower."""
    cooling = [row for row in MACHINES if row.stops_cooling]
    if not any(can_fail(scenario, row) for row in cooling):
        return
    climate, touched = scenario.climate, frozenset(row.key for row in cooling)
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
