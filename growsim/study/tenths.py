"""A tenth more of each thing in a room: slots by stage, hands by weekday, tubs, light, sowing, orders.

Hours, litres, light and orders grow by a tenth exactly. Slots and cells come whole: as many are added as come nearest
to a tenth, at least one, and the true share is kept beside them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from growsim.spec.people import WEEKDAYS, Shift
from growsim.spec.place import Rack
from growsim.spec.scenario import Scenario

TENTH = 0.1
DAY_NAMES = dict(
    zip(WEEKDAYS, ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"), strict=True)
)


@dataclass(frozen=True)
class Tenth:
    """A room with a tenth more of one thing.

    key: kind and, after a colon, which ("slots:finishing", "hands:thu", "light"). what: as in "a tenth more ...".
    share: the true share added. added: that in words, where it is not just a tenth.
    """

    key: str
    what: str
    share: float
    added: str
    scenario: Scenario


def tenths_of(scenario: Scenario) -> tuple[Tenth, ...]:
    """A tenth more of everything this room has."""
    makers = (
        _slots(scenario),
        _hands(scenario),
        _tubs(scenario),
        _light(scenario),
        _sowing(scenario),
        _orders(scenario),
    )
    return tuple(tenth for maker in makers for tenth in maker)


def _slots(scenario: Scenario) -> Iterator[Tenth]:
    stages = dict.fromkeys(stage.name for crop in scenario.crops for stage in crop.stages_in_order())
    for stage in stages:
        open_to_it = {
            (rack.name, place): group.total_slots
            for rack in scenario.racks
            for place, group in enumerate(rack.shelves)
            if stage in group.stages and group.total_slots
        }
        slots = sum(open_to_it.values())
        if not slots:
            continue
        extra = max(1, round(slots * TENTH))
        shared_out = _share_out(extra, open_to_it)
        racks = tuple(_rack_with_more(rack, stage, shared_out) for rack in scenario.racks)
        words = "slot" if extra == 1 else "slots"
        yield Tenth(
            f"slots:{stage}",
            f"{stage} slots",
            extra / slots,
            f"{extra} {words} beside {slots}",
            scenario.model_copy(update={"racks": racks}),
        )


def _share_out(extra: int, slots: dict[tuple[str, int], int]) -> dict[tuple[str, int], int]:
    """So many slots over groups of shelves in proportion to theirs, by largest remainder, the first among equals."""
    whole = sum(slots.values())
    exact = {place: extra * has / whole for place, has in slots.items()}
    given = {place: math.floor(share) for place, share in exact.items()}
    by_remainder = sorted(exact, key=lambda place: given[place] - exact[place])
    for place in by_remainder[: extra - sum(given.values())]:
        given[place] += 1
    return given


def _rack_with_more(rack: Rack, stage: str, extra: dict[tuple[str, int], int]) -> Rack:
    shelves = []
    for place, group in enumerate(rack.shelves):
        shelves.append(group)
        more = extra.get((rack.name, place), 0)
        if more:
            new = {"name": f"{group.name} (a tenth more)", "count": 1, "slots": more, "stages": (stage,)}
            shelves.append(group.model_copy(update=new))
    return rack.model_copy(update={"shelves": tuple(shelves)})


def _hands(scenario: Scenario) -> Iterator[Tenth]:
    for weekday in WEEKDAYS:
        own = [shift for shift in scenario.crew.shifts if shift.weekday == weekday]
        hours = sum(shift.hours * (shift.people + shift.lead) for shift in own)
        if not own:
            continue
        longer = {shift.name: _longer(shift) for shift in own}
        share = _share(sum(longer[shift.name].hours * (shift.people + shift.lead) for shift in own), hours)
        if share < 1e-9:  # the shift lasts till midnight already
            continue
        shifts = tuple(longer.get(shift.name, shift) for shift in scenario.crew.shifts)
        crew = scenario.crew.model_copy(update={"shifts": shifts})
        day = DAY_NAMES[weekday]
        added = "" if share == TENTH else "as far as the day allows"
        yield Tenth(f"hands:{weekday}", f"{day} hours", share, added, scenario.model_copy(update={"crew": crew}))


def _longer(shift: Shift) -> Shift:
    """The same people for a tenth longer, the lead too; not past midnight."""
    return shift.model_copy(update={"hours": min(shift.hours * (1.0 + TENTH), 24.0 - shift.start_hour)})


def _tubs(scenario: Scenario) -> Iterator[Tenth]:
    if scenario.tubs:
        tubs = tuple(tub.model_copy(update={"capacity_l": tub.capacity_l * (1.0 + TENTH)}) for tub in scenario.tubs)
        yield Tenth("tubs", "tub capacity", TENTH, "", scenario.model_copy(update={"tubs": tubs}))


def _light(scenario: Scenario) -> Iterator[Tenth]:
    if scenario.lights:
        lights = tuple(
            bank.model_copy(update={"ppfd_umol_m2_s": bank.ppfd_umol_m2_s * (1.0 + TENTH)}) for bank in scenario.lights
        )
        yield Tenth("light", "light", TENTH, "", scenario.model_copy(update={"lights": lights}))


def _sowing(scenario: Scenario) -> Iterator[Tenth]:
    cells = sum(line.cells / line.every_weeks for line in scenario.sowing)
    if cells > 0:
        lines = tuple(
            line.model_copy(update={"cells": line.cells + max(1, round(line.cells * TENTH))})
            for line in scenario.sowing
        )
        share = _share(sum(line.cells / line.every_weeks for line in lines), cells)
        added = "" if share == TENTH else "whole cells in every line of the plan"
        yield Tenth("sowing", "cells sown", share, added, scenario.model_copy(update={"sowing": lines}))


def _orders(scenario: Scenario) -> Iterator[Tenth]:
    if scenario.partners:
        partners = tuple(
            partner.model_copy(
                update={
                    "orders": tuple(
                        order.model_copy(update={"kg": order.kg * (1.0 + TENTH)}) for order in partner.orders
                    )
                }
            )
            for partner in scenario.partners
        )
        yield Tenth("orders", "orders", TENTH, "", scenario.model_copy(update={"partners": partners}))


def _share(after: float, before: float) -> float:
    """The share added; a tenth exactly where only the last bits say otherwise."""
    share = after / before - 1.0
    return TENTH if abs(share - TENTH) < 1e-9 else share
