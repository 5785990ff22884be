"""What may I promise for the coming weeks, given what stands on the shelves today?

The room is rehearsed from this morning's shelves many times over: the plan goes on, people come or stay away, pumps
fail. What 90, 50 and 10 of 100 such futures give at least is safe, likely and possible to promise. Deliveries of
standing orders that are met in full in fewer than 90 are at risk, and what could be done about them is tried.
"""

from __future__ import annotations

import datetime as dt
import math
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.deliveries import deliver
from growsim.run.intervals import Estimate, summarize
from growsim.run.prepare import Prepared, prepare_room
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.checks.lacking import refuse_lacking
from growsim.scenario.load import LoadedRoom
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import Today
from growsim.study.progress import SharedProgress
from growsim.study.promise.rescue import Action, Rescue, actions_for, best_first, judge, with_actions
from growsim.study.promised import FEWEST, CropWeek, Delivery, crop_weeks, deliveries
from growsim.study.today import GivenUp, days_without_sowing, given_up, room_today
from growsim.vocabulary.questions import POSSIBLE_FUTURES

if TYPE_CHECKING:
    import pandas as pd

TRIED_IN = 100  # futures in which each action is tried, at most
MOST_TOGETHER = 3
NEXT_BEST = 4  # actions tried beside the best
FEWEST_WEEKS, MOST_WEEKS = 4, 16
LONGEST_WEEKS = 104


@dataclass(frozen=True)
class Promises:
    """What can be promised, week by week, and what it rests on.

    room: as its file has it. scenario: with today as day 0. crops: everything and each crop, week by week. deliveries:
    of the standing orders, in order of date. rescues: single actions, the best first. together: the best ones done at
    once, adding one at a time; () where one is enough or none helps. given_up: what of the count was past its last day
    already. seconds is not part of what makes two promises
    equal.
    """

    room: LoadedRoom
    scenario: Scenario
    today: Today
    plan: RunPlan
    seed: int
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    crops: tuple[CropWeek, ...]
    deliveries: tuple[Delivery, ...]
    rescues: tuple[Rescue, ...] = ()
    together: tuple[Rescue, ...] = ()
    given_up: tuple[GivenUp, ...] = ()
    seconds: float = field(default=0.0, compare=False)

    @property
    def date(self) -> dt.date:
        """Today."""
        return self.scenario.room.start_date

    @property
    def weeks(self) -> int:
        """Weeks promised for."""
        return self.plan.days // 7

    @property
    def days_without_sowing(self) -> int:
        """Days since the newest sowing in the count, where that doubts that it is of today; else 0."""
        return days_without_sowing(self.today, self.room.scenario, self.date)

    @property
    def at_risk(self) -> tuple[Delivery, ...]:
        """Deliveries met in full in fewer than 90 of 100 futures, the soonest first."""
        return tuple(each for each in self.deliveries if each.is_at_risk)

    @property
    def helpful(self) -> tuple[Rescue, ...]:
        """Single actions that help for certain, the best first."""
        return tuple(rescue for rescue in self.rescues if rescue.helps)

    def to_frame(self) -> pd.DataFrame:
        """One row a week and crop ("" for everything together), and one a delivery.

        Columns: week, week_from, date, crop, partner, safe_kg, likely_kg, possible_kg, spare_safe_kg, ordered_kg,
        chance_met, chance_low, chance_high, short_kg, at_risk. partner is "" for what there is of the crop.
        """
        from growsim.study.promise.frames import promise_frame

        return promise_frame(self)


def promise(
    room: LoadedRoom,
    today: Today,
    *,
    date: dt.date,
    seed: int,
    weeks: int | None = None,
    replications: int = POSSIBLE_FUTURES,
    rescue: bool = True,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Promises:
    """Rehearse the coming weeks from today's shelves.

    weeks: as many as the slowest crop takes where None. rescue: try what would save deliveries at risk. Raises
    RoomFileError, InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    refuse_lacking(room, hands=not today.cooler, plan=not (today.lots or today.cooler))
    scenario = room_today(room.scenario, date, today.lots)
    weeks = weeks_ahead(scenario) if weeks is None else weeks
    _refuse(weeks, replications)
    plan = RunPlan(7 * weeks, start="shelves", shelves=today.lots, cooler=today.cooler)
    prepared = replace(prepare_room(room), scenario=scenario)
    with Rehearsers(workers, executor=executor, work=deliver) as rehearsers:
        shared = SharedProgress(progress, replications * 2)
        outcomes = rehearsers.run({"": prepared}, seed, range(replications), plan, shared.more(replications))[""]
        asking = _Asking(room, today, prepared, plan, seed, outcomes, rehearsers, shared)
        found = deliveries(outcomes, scenario, weeks)
        rescues, together = asking.rescues(found) if rescue else ((), ())
    return Promises(
        room=room,
        scenario=scenario,
        today=today,
        plan=plan,
        seed=seed,
        outcomes=tuple(outcomes),
        estimates=summarize(outcomes),
        crops=crop_weeks(outcomes, scenario, weeks),
        deliveries=found,
        rescues=rescues,
        together=together,
        given_up=given_up(prepared, plan),
        seconds=time.perf_counter() - began,
    )


def weeks_ahead(scenario: Scenario) -> int:
    """Weeks until what is sown this week is harvested, of the slowest crop; at least 4, at most 16."""
    slowest = max(crop.typical_days for crop in scenario.crops)
    return min(MOST_WEEKS, max(FEWEST_WEEKS, math.ceil(slowest / 7.0)))


def _refuse(weeks: int, replications: int) -> None:
    if not 1 <= weeks <= LONGEST_WEEKS:
        raise InputError(f"weeks: {weeks} is not possible; give 1 to {LONGEST_WEEKS}.")
    if replications < FEWEST:
        raise InputError(
            f"replications: {replications} cannot say what nine in ten give; give {FEWEST} or more, such as "
            f"{POSSIBLE_FUTURES}."
        )


class _Asking:
    """Tries what could be done, in the same futures."""

    def __init__(
        self,
        room: LoadedRoom,
        today: Today,
        prepared: Prepared,
        plan: RunPlan,
        seed: int,
        outcomes: Sequence[Outcome],
        rehearsers: Rehearsers,
        shared: SharedProgress,
    ) -> None:
        self._room, self._today, self._prepared, self._plan, self._seed = room, today, prepared, plan, seed
        self._before = outcomes[:TRIED_IN]
        self._rehearsers, self._shared = rehearsers, shared

    def rescues(self, found: Sequence[Delivery]) -> tuple[tuple[Rescue, ...], tuple[Rescue, ...]]:
        """Single actions ranked, and the best of them together."""
        scenario = self._prepared.scenario
        at_risk = [each for each in found if each.is_at_risk]
        actions = actions_for(scenario, at_risk, self._plan.days // 7)
        singles = best_first(self._try({action.name: (action,) for action in actions}, found))
        helpful = [rescue for rescue in singles if rescue.helps]
        together: list[Rescue] = []
        best = helpful[0] if helpful else None
        while best is not None and len(best.actions) < MOST_TOGETHER and len(best.saves) < len(at_risk):
            others = [rescue for rescue in helpful if rescue.actions[0] not in best.actions][:NEXT_BEST]
            plans = {rescue.name: (*best.actions, *rescue.actions) for rescue in others}
            tried = best_first(self._try(plans, found))
            if not tried or tried[0].rank[:3] >= best.rank[:3]:
                break
            best = tried[0]
            together.append(best)
        return singles, tuple(together)

    def _try(self, plans: Mapping[str, tuple[Action, ...]], found: Sequence[Delivery]) -> dict[str, Rescue]:
        rooms = {}
        for name, actions in plans.items():
            changed = with_actions(self._room, actions)
            if changed is not None:
                there = room_today(changed, self._prepared.scenario.room.start_date, self._today.lots)
                rooms[name] = replace(self._prepared, scenario=there)
        keys = [outcome.replication for outcome in self._before]
        told = self._shared.more(len(keys) * len(rooms))
        lived = self._rehearsers.run(rooms, self._seed, keys, self._plan, told) if rooms else {}
        return {
            name: judge(plans[name], self._before, after, found, self._prepared.scenario, len(rooms))
            for name, after in lived.items()
        }
