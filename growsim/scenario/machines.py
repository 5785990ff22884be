"""The machines a room file describes: one for each kind and place that can fail, and what else can go by chance."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from growsim.scenario.anatomy import field_at
from growsim.scenario.equipment import LightBank, Reliability, Reservoir
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.vocabulary.machines import CAN_FAIL, MACHINES, NAMED_PLACES, ROOM, TIMER, Comes, MachineKind, Place

Change = Callable[[Any], Any]


@dataclass(frozen=True)
class Machine:
    """One machine, or several that share the work at one place.

    kind: its key. path: where its reliability stands in the room file. share: of the day it runs. count: how many.
    """

    kind: str
    where: str
    path: tuple[str, ...]
    reliability: Reliability
    share: float
    count: int = 1


def machines_of(scenario: Scenario) -> list[Machine]:
    """Every machine that the room file describes, place by place."""
    return [
        _machine(scenario, row, at)
        for place in (*NAMED_PLACES, ROOM)
        for at in _entries(scenario, place)
        for row in MACHINES
        if row.place is place and row.table is not None and _has(at, row)
    ]


def _has(at: Any, row: MachineKind) -> bool:
    """Whether such a machine stands there: a pump that runs all the time has no timer."""
    return row is not TIMER or not at.flows_always


def _entries(scenario: Scenario, place: Place) -> Sequence[Any]:
    return getattr(scenario, place.entries) if place.entries else (scenario,)


def _machine(scenario: Scenario, row: MachineKind, at: Any) -> Machine:
    assert row.table is not None
    holder = _at(at, row.table)
    count = getattr(holder, row.count) if row.count else 1
    named = (row.place.entries, at.name) if row.place.entries else ()
    where = at.name if row.place.entries else ""
    share = _share(row, at) / count
    return Machine(row.key, where, (*named, *row.table, "reliability"), holder.reliability, share, count)


def _share(row: MachineKind, at: Any) -> float:
    """The part of the day that machines of a kind run, all at one place together."""
    if row.runs == "with the floods":
        assert isinstance(at, Reservoir)
        if at.flows_always:
            return 1.0
        return at.flood_minutes / (at.flood_every_hours * 60.0)
    if row.runs == "with the light":
        assert isinstance(at, LightBank)
        return at.hours_per_day / 24.0
    return 1.0


def _at(table: Any, path: Sequence[str]) -> Any:
    for key in path:
        table = getattr(table, key)
    return table


def names_at(scenario: Scenario, place: Place) -> list[str]:
    """The names of a room's reservoirs or light banks; none for the room itself."""
    return [entry.name for entry in getattr(scenario, place.entries)] if place.entries else []


def is_there(scenario: Scenario, row: MachineKind) -> bool:
    """Whether the room has such a thing at all, such as a supply of CO2."""
    return not row.only_if or bool(_at(scenario, (*(row.table or ()), row.only_if)))


def can_fail(scenario: Scenario, row: MachineKind) -> bool:
    """Whether a machine of that kind can fail by chance in this room."""
    if row.comes is not None:
        return coming(scenario, row.comes)[0] > 0
    return any(each.running_hours_to_failure is not None for each in reliabilities(scenario, row))


def coming(scenario: Scenario, comes: Comes) -> tuple[float, Uncertain]:
    """What comes from outside: how often a year, and hours each."""
    table = _at(scenario, (comes.table,))
    return getattr(table, comes.a_year), getattr(table, comes.hours)


def reliabilities(scenario: Scenario, row: MachineKind) -> tuple[Reliability, ...]:
    """How each machine of that kind fails, place by place; none for utility power."""
    return tuple(machine.reliability for machine in machines_of(scenario) if machine.kind == row.key)


def with_reliability(scenario: Scenario, row: MachineKind, **changes: Any) -> Scenario:
    """The room with those figures of the reliability of every machine of that kind. Raises LookupError for a kind
    without one."""
    if row.table is None:
        raise LookupError(f"'{row.key}' has no reliability")
    path = (*row.table, "reliability")

    def changed(at: Any) -> Any:
        return _replaced(at, path, lambda reliability: reliability.model_copy(update=changes))

    return _everywhere(scenario, row.place, changed)


def never_failing(scenario: Scenario, row: MachineKind) -> Scenario:
    """The room in which that kind of machine never fails."""
    if row.comes is not None:
        never = getattr(scenario, row.comes.table).model_copy(update={row.comes.a_year: 0.0})
        return scenario.model_copy(update={row.comes.table: never})
    return with_reliability(scenario, row, running_hours_to_failure=None)


def undisturbed(scenario: Scenario) -> Scenario:
    """The room in which nothing fails and no outage is made to happen."""
    for row in CAN_FAIL:
        scenario = never_failing(scenario, row)
    return scenario.model_copy(update={"outages": ()})


def _replaced(table: Any, path: Sequence[str], change: Change) -> Any:
    """The table with what stands at a path in it changed."""
    if not path:
        return change(table)
    return table.model_copy(update={path[0]: _replaced(getattr(table, path[0]), path[1:], change)})


def _everywhere(scenario: Scenario, place: Place, change: Change) -> Scenario:
    if not place.entries:
        changed: Scenario = change(scenario)
        return changed
    return scenario.model_copy(update={place.entries: tuple(change(at) for at in getattr(scenario, place.entries))})


def _has_its_keys(row: MachineKind) -> None:
    """Raises LookupError, in one sentence, where a room file has no such keys as the row says."""
    named = (row.place.entries,) if row.place.entries else ()
    keys = [(*named, *row.table, key) for key in ("reliability", row.count) if key] if row.table is not None else []
    keys += [(row.comes.table, key) for key in (row.comes.a_year, row.comes.hours)] if row.comes else []
    for path in keys:
        if field_at(Scenario, path) is None:
            raise LookupError(
                f"the machine kind '{row.key}' stands in a room file at {'.'.join(path)}, which growsim.scenario does "
                "not have; add it there"
            )


for _row in MACHINES:
    _has_its_keys(_row)
