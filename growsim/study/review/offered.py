"""What a drift offers: the figures that the record would set, as one CHANGE, tried in the weeks to come before it is
offered.

Both rooms go on from what stands on the shelves, in the same rehearsals. What is learned is a range: every future
draws its own figures from it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from growsim.ledger.outcome import Outcome
from growsim.run.deliveries import deliver
from growsim.run.intervals import mean_interval
from growsim.run.prepare import prepare_room
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.change import LoadedChange, changed_room, merged
from growsim.scenario.load import LoadedRoom
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.record import Records
from growsim.study.promised import Delivery, deliveries
from growsim.study.standing import Count, standing_on
from growsim.study.today import room_today

AHEAD_WEEKS = 8  # as the sentences of the answer say, too
GREENS = "kg_packed"
LESS_SURE = 0.05  # less is what chance brings in a hundred futures

Learn = Callable[[Records], Mapping[str, Any]]
"""The tables of a CHANGE that a record teaches."""


@dataclass(frozen=True)
class Offer:
    """tables: of the CHANGE. keys: what it sets. first_day: of the weeks in which it was tried. kg: what is harvested
    in them, more with it than without (mean, and its range). kg_without: mean. at_risk: deliveries that nine in ten
    futures meet in full without it, and fewer with it. from_shelves: whether it was tried
    from what stands there; else the plan has been running for a while."""

    tables: dict[str, Any]
    keys: tuple[str, ...]
    first_day: dt.date
    kg: tuple[float, float, float]
    kg_without: float
    at_risk: tuple[Delivery, ...]
    from_shelves: bool
    futures: int


def since(records: Records, day: dt.date) -> Records:
    """The record from a day on. Failures are kept whole: from one failure on they would seem more frequent."""
    return replace(
        records,
        plantings=tuple(row for row in records.plantings if row.sown >= day),
        attendance=tuple(row for row in records.attendance if row.date >= day),
        work=tuple(row for row in records.work if row.date >= day),
    )


def learned_of(key: str, tables: Mapping[str, Any]) -> dict[str, Any]:
    """Of a CHANGE the part that sets a key of the room file; empty where it sets no such key.

    A range goes with its key: chances with their doubt, minutes with their factor, hours with theirs.
    """
    first, *rest = key.split(".")
    if first == "crew" and rest == ["chance_of_coming"]:
        crew = {name: tables["crew"][name] for name in ("chance_of_coming", "chance_doubt_sd", "source")
                if name in tables.get("crew", {})}  # fmt: skip
        return {"crew": crew} if crew else {}
    if first == "crew":
        found = [entry for entry in tables.get("crew", {}).get("tasks", ()) if entry["name"] == rest[1]]
        return {"crew": {"tasks": found}} if found else {}
    if first == "crops":
        found = [{"name": entry["name"], rest[-1]: entry[rest[-1]]} for entry in tables.get("crops", ())
                 if entry["name"] == ".".join(rest[:-1]) and rest[-1] in entry]  # fmt: skip
        return {"crops": found} if found else {}
    there = tables.get(first)
    if isinstance(there, list):  # machines of a kind at several places are learned about together
        part = rest[-3] if any(rest[-3] in entry for entry in there) else rest[-2]  # pump; of lights, reliability
        found = [{"name": entry["name"], part: entry[part]} for entry in there if part in entry]
        return {first: found} if found else {}
    return {first: there} if there else {}


def offered(
    room: LoadedRoom,
    records: Records,
    counts: Sequence[Count],
    first_day: dt.date,
    keys: Mapping[str, dt.date],
    learn: Learn,
    *,
    seed: int,
    futures: int,
    workers: int,
    executor: Executor | None,
    progress: Progress | None,
) -> Offer | None:
    """Learn each key from the day since when it drifted, and try all of them together; None where nothing is learned.

    Raises RoomFileError where what is learned makes no possible room.
    """
    by_day = {day: learn(since(records, day)) for day in dict.fromkeys(keys.values())}
    parts = {key: part for key, day in keys.items() if (part := learned_of(key, by_day[day]))}
    if not parts:
        return None
    tables = merged(parts.values())
    standing = standing_on(records, room.scenario, first_day, counts)
    from_shelves = standing.is_all and bool(standing.batches)
    lots = standing.today.lots if from_shelves else ()
    days = 7 * AHEAD_WEEKS
    plan = (
        RunPlan(days, 0, "shelves", lots, cooler=standing.today.cooler)
        if from_shelves
        else RunPlan(days, room.scenario.rehearsal.warm_up_days, "filled")
    )
    there = prepare_room(room)
    changed = changed_room(room, LoadedChange(tables, Path("the record"), ""))
    rooms = {name: replace(there, scenario=room_today(each.scenario, first_day, lots))
             for name, each in (("without", room), ("with", changed))}  # fmt: skip
    with Rehearsers(workers, executor=executor, work=deliver) as rehearsers:
        lived = rehearsers.run(rooms, seed, range(futures), plan, progress)
    without, with_it = lived["without"], lived["with"]
    kg = mean_interval([_kg(after) - _kg(before) for before, after in zip(without, with_it, strict=True)])
    due = {name: deliveries(lived[name], rooms["without"].scenario, AHEAD_WEEKS) for name in rooms}
    mean, low, high = kg
    return Offer(
        tables, tuple(parts), first_day, (mean, mean if low is None else low, mean if high is None else high),
        math.fsum(map(_kg, without)) / futures,
        put_at_risk(due["without"], due["with"]), from_shelves, futures,
    )  # fmt: skip


def put_at_risk(without: Sequence[Delivery], with_it: Sequence[Delivery]) -> tuple[Delivery, ...]:
    """Deliveries that are at risk with it and not without; those that are hardly less sure are left out."""
    before = {each.key: each for each in without}
    return tuple(
        each
        for each in with_it
        if each.is_at_risk
        and not before[each.key].is_at_risk
        and before[each.key].chance.share - each.chance.share >= LESS_SURE
    )


def _kg(outcome: Outcome) -> float:
    return math.fsum(outcome.weeks[GREENS])
