"""What holds the room back: what a tenth more of each thing would bring, under shared luck, ranked. Things are slots by
stage, hands by weekday, reservoirs, light, sowing, orders.

Where whole slots or cells make it a little more or less than a tenth, the gain is brought to a tenth in proportion.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.run.prepare import Prepared, prepare
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.people import Shift
from growsim.scenario.place import Rack
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.alternatives import keep_pace
from growsim.study.pay_back import KG, Range
from growsim.study.verdicts import NOISE
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS

if TYPE_CHECKING:
    import pandas as pd

TENTH_COLUMNS = ["more_of", "key", "share_added", "kg_per_week", "low", "high", "kg_to_partners_per_week", "is_more"]
TENTH = 0.1
TO_PARTNERS = "kg_to_partners_per_week"
AT_MOST = 40  # possible years; a tenth more either shows by then or is not worth a planner's thought
DOUBT = 0.05
Rehearse = Callable[[Prepared, Sequence[int]], list[Outcome]]


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
        _reservoirs(scenario),
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
        hours = math.fsum(shift.hours * (shift.people + shift.lead) for shift in own)
        if not own:
            continue
        longer = {shift.name: _longer(shift) for shift in own}
        share = _share(math.fsum(longer[shift.name].hours * (shift.people + shift.lead) for shift in own), hours)
        if share < 1e-9:  # the shift lasts till midnight already
            continue
        shifts = tuple(longer.get(shift.name, shift) for shift in scenario.crew.shifts)
        crew = scenario.crew.model_copy(update={"shifts": shifts})
        day = NAME_OF_WEEKDAY[weekday]
        added = "" if share == TENTH else "as far as the day allows"
        yield Tenth(f"hands:{weekday}", f"{day} hours", share, added, scenario.model_copy(update={"crew": crew}))


def _longer(shift: Shift) -> Shift:
    """The same people for a tenth longer, the lead too; not past midnight."""
    return shift.model_copy(update={"hours": min(shift.hours * (1.0 + TENTH), 24.0 - shift.start_hour)})


def _reservoirs(scenario: Scenario) -> Iterator[Tenth]:
    if scenario.reservoirs:
        reservoirs = tuple(
            reservoir.model_copy(update={"capacity_l": reservoir.capacity_l * (1.0 + TENTH)})
            for reservoir in scenario.reservoirs
        )
        yield Tenth(
            "reservoirs", "reservoir capacity", TENTH, "", scenario.model_copy(update={"reservoirs": reservoirs})
        )


def _light(scenario: Scenario) -> Iterator[Tenth]:
    if scenario.lights:
        lights = tuple(
            bank.model_copy(update={"ppfd_umol_m2_s": bank.ppfd_umol_m2_s * (1.0 + TENTH)}) for bank in scenario.lights
        )
        yield Tenth("light", "light", TENTH, "", scenario.model_copy(update={"lights": lights}))


def _sowing(scenario: Scenario) -> Iterator[Tenth]:
    cells = math.fsum(line.cells / line.every_weeks for line in scenario.sowing)
    if cells > 0:
        lines = tuple(
            line.model_copy(update={"cells": line.cells + max(1, round(line.cells * TENTH))})
            for line in scenario.sowing
        )
        share = _share(math.fsum(line.cells / line.every_weeks for line in lines), cells)
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


@dataclass(frozen=True)
class TenthGain:
    """What a tenth more of one thing brings: kilograms a week, a mean with a range.

    gain: handed out. to_partners: of the kilograms that partners ordered. share_added: what was really added; the gain
    is brought to a tenth. cannot_be_told_from_first: the difference to the first of the ranking may be luck.
    """

    key: str
    what: str
    added: str
    share_added: float
    gain: Range
    to_partners: Range
    cannot_be_told_from_first: bool

    @property
    def is_more(self) -> bool:
        """Whether it brings more, luck aside."""
        return self.gain.low is not None and self.gain.low > NOISE


@dataclass(frozen=True)
class TenthsMore:
    """The ranking, largest gain first. replications: possible years it rests on. kg_per_week: handed out today.

    All ranges hold at once with 95 % confidence.
    """

    gains: tuple[TenthGain, ...]
    replications: int
    kg_per_week: float

    def to_frame(self) -> pd.DataFrame:
        """One row a thing: more_of, key, share_added, kg_per_week, low, high, kg_to_partners_per_week, is_more."""
        return tenths_frame(self)

    @property
    def first(self) -> tuple[TenthGain, ...]:
        """What holds the room back first: the largest gain and those that cannot be told from it; () where none is."""
        if not self.gains or not self.gains[0].is_more:
            return ()
        return tuple(gain for gain in self.gains if gain.is_more and gain.cannot_be_told_from_first)


def replications_for(done: int) -> int:
    """Possible years to rehearse each tenth in, where the room itself has been rehearsed so often."""
    return min(done, AT_MOST)


def count_of(prepared: Prepared) -> int:
    """How many rooms `rank_tenths` rehearses."""
    return len(tenths_of(prepared.scenario))


def rank_tenths(prepared: Prepared, outcomes: Sequence[Outcome], rehearse: Rehearse) -> TenthsMore:
    """Rehearse the room with a tenth more of each thing.

    outcomes: of the room as it is. rehearse: lives through the replications it is given.
    """
    known = sorted(outcomes, key=lambda outcome: outcome.replication)[: replications_for(len(outcomes))]
    tenths = tenths_of(prepared.scenario)
    changes: dict[str, tuple[list[float], list[float]]] = {}
    for tenth in tenths:
        scenario, _ = keep_pace(prepared, tenth.scenario)
        lived = rehearse(prepare(scenario), [outcome.replication for outcome in known])
        scale = TENTH / tenth.share
        changes[tenth.key] = (_changes(known, lived, KG, scale), _changes(known, lived, TO_PARTNERS, scale))
    base = [outcome.measures.get(KG, 0.0) for outcome in known]
    return TenthsMore(_ranked(tenths, changes), len(known), math.fsum(base) / len(base))


def rank_room(
    scenario: Scenario,
    outcomes: Sequence[Outcome],
    *,
    seed: int,
    plan: RunPlan,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> TenthsMore:
    """`rank_tenths` for a room that has been rehearsed with this seed and plan. Raises Interrupted on Ctrl-C."""
    prepared = prepare(scenario)
    shared = SharedProgress(progress, count_of(prepared) * replications_for(len(outcomes)))
    with Rehearsers(workers, executor=executor) as rehearsers:

        def rehearse(each: Prepared, keys: Sequence[int]) -> list[Outcome]:
            return rehearsers.run({"": each}, seed, keys, plan, shared.more(len(keys)))[""]

        return rank_tenths(prepared, outcomes, rehearse)


def _changes(before: Sequence[Outcome], after: Sequence[Outcome], key: str, scale: float) -> list[float]:
    return [
        (two.measures.get(key, 0.0) - one.measures.get(key, 0.0)) * scale
        for one, two in zip(before, after, strict=True)
    ]


def _ranked(
    tenths: Sequence[Tenth], changes: Mapping[str, tuple[Sequence[float], Sequence[float]]]
) -> tuple[TenthGain, ...]:
    level = 1.0 - DOUBT / max(1, len(tenths))

    def over(values: Sequence[float]) -> Range:
        return Range(*mean_interval(values, level))

    gains = {tenth.key: over(changes[tenth.key][0]) for tenth in tenths}
    ranked = sorted(tenths, key=lambda tenth: -gains[tenth.key].mean)

    def may_be_first(tenth: Tenth) -> bool:
        best = changes[ranked[0].key][0]
        apart = over([first - own for first, own in zip(best, changes[tenth.key][0], strict=True)])
        return tenth is ranked[0] or apart.low is None or apart.low <= 0

    return tuple(
        TenthGain(
            tenth.key,
            tenth.what,
            tenth.added,
            tenth.share,
            gains[tenth.key],
            over(changes[tenth.key][1]),
            may_be_first(tenth),
        )
        for tenth in ranked
    )


def tenths_frame(ranked: TenthsMore) -> pd.DataFrame:
    """One row a thing of which there is a tenth more; kilograms a week, ranges as in the ranking."""
    import pandas as pd

    rows = [
        (
            gain.what,
            gain.key,
            gain.share_added,
            gain.gain.mean,
            gain.gain.low,
            gain.gain.high,
            gain.to_partners.mean,
            gain.is_more,
        )
        for gain in ranked.gains
    ]
    return pd.DataFrame(rows, columns=TENTH_COLUMNS).astype({"low": float, "high": float})
