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
from dataclasses import replace

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.deliveries import deliver
from growsim.run.intervals import summarize
from growsim.run.prepare import Prepared, prepare_room
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.load import LoadedRoom, refuse_lacking
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import Today
from growsim.study.promise.answer import Promises
from growsim.study.promise.rescue import Rescue, actions_for, best_first, judge
from growsim.study.promised import FEWEST, Delivery, crop_weeks, deliveries
from growsim.study.to_try import Trial
from growsim.study.today import given_up, room_today
from growsim.study.trials import with_trials
from growsim.vocabulary.questions import POSSIBLE_FUTURES

TRIED_IN = 100  # futures in which each action is tried, at most
MOST_TOGETHER = 3
NEXT_BEST = 4  # actions tried beside the best
FEWEST_WEEKS, MOST_WEEKS = 4, 16
LONGEST_WEEKS = 104


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
        estimates=summarize(outcomes, never=cannot_happen(scenario, standing=True)),
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

    def _try(self, plans: Mapping[str, tuple[Trial, ...]], found: Sequence[Delivery]) -> dict[str, Rescue]:
        rooms = {}
        for name, actions in plans.items():
            changed = with_trials(self._room, actions)
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
