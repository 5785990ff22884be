"""What does a change bring? Today's room and each change, rehearsed under the same luck, in rounds until it is decided.

Every room lives through the same rehearsed years: the same seeds germinate, the same pumps fail, the same people stay
away, as far as the change lets them. So the difference between two rooms shows in far fewer years than either room by
itself.
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Difference, Estimate, summarize
from growsim.run.known_luck import known_luck
from growsim.run.prepare import prepare_room
from growsim.run.progress import SharedProgress, SoFar, changed_in_words, tell_so_far
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.load import LoadedRoom, refuse_lacking
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.alternatives import TODAY, Alternative, alternatives_of
from growsim.study.causes import moved
from growsim.study.compare.answer import MAKE, WEIGH, Changed, Comparison, by_gain
from growsim.study.pay_back import PayBack, pay_back
from growsim.study.trials import try_with, years_of_trials
from growsim.study.verdicts import (
    DOUBT,
    HEADLINES,
    SharedLuck,
    Verdict,
    differences,
    headline_doubt,
    judge_all,
    round_totals,
    shared_luck,
)

TOO_SMALL_PERCENT = 2.0


def compare(
    room: LoadedRoom,
    changes: Sequence[LoadedChange],
    *,
    plan: RunPlan,
    seed: int,
    at_most: int,
    too_small_percent: float = TOO_SMALL_PERCENT,
    why: bool = True,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Comparison:
    """Compare today's room with each change.

    at_most: replications, at most; fewer where every headline is decided before. why: try what would bring more: after
    the best of the changes, or in today's room where none is worth making. Raises RoomFileError for changes at fault,
    InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    _refuse(changes, plan, at_most, too_small_percent)
    today = prepare_room(room)
    alternatives = alternatives_of(room, today, changes)
    refuse_lacking(room, changed=[alternative.scenario for alternative in alternatives])
    rooms = {TODAY: today} | {alternative.name: alternative.prepared for alternative in alternatives}
    totals = round_totals(at_most)
    at_the_end = years_of_trials(at_most) if why else 0
    shared = SharedProgress(progress, at_most * len(rooms) + at_the_end, sure=at_the_end)
    today_so_far = SoFar("today ")
    with Rehearsers(workers, executor=executor) as rehearsers:
        outcomes: dict[str, list[Outcome]] = {name: [] for name in rooms}
        rounds: list[int] = []
        verdicts: dict[str, dict[str, Verdict]] = {}
        for total in totals:
            keys = range(rounds[-1] if rounds else 0, total)
            lived = rehearsers.run(rooms, seed, keys, plan, shared.more(len(keys) * len(rooms)), today_so_far.see)
            for name in rooms:
                outcomes[name] += lived[name]
            rounds.append(total)
            today_so_far.is_over = True
            tell_so_far(changed_in_words(outcomes[TODAY], {each.name: outcomes[each.name] for each in alternatives}))
            verdicts = _verdicts(outcomes, len(totals), too_small_percent)
            if all(verdicts[name][key].is_decided for name in verdicts for key in HEADLINES if key in verdicts[name]):
                break
        of_headlines, of_moves = headline_doubt(len(alternatives), len(totals)), DOUBT / (len(totals) * len(changes))
        found = tuple(
            Changed(
                alternative=each,
                outcomes=tuple(outcomes[each.name]),
                estimates=_estimates(each.scenario, seed, plan, outcomes[each.name]),
                verdicts=verdicts[each.name],
                luck=_luck(outcomes[TODAY], outcomes[each.name]),
                moved=moved(outcomes[TODAY], room.scenario, outcomes[each.name], each.scenario, of_moves),
                pay_back=_pay_back(each, outcomes[TODAY], outcomes[each.name], of_headlines),
            )
            for each in alternatives
        )
        best = by_gain(found)[0]
        held_with = best if best.judged in (MAKE, WEIGH) else None
        name, here = (best.name, changed_room(room, best.alternative.change)) if held_with else (TODAY, room)
        held = try_with(rehearsers, shared, here, rooms[name], outcomes[name], seed=seed, plan=plan) if why else None
    return Comparison(
        room=room,
        plan=plan,
        seed=seed,
        outcomes=tuple(outcomes[TODAY]),
        estimates=_estimates(room.scenario, seed, plan, outcomes[TODAY]),
        changes=found,
        too_small_percent=too_small_percent,
        rounds=tuple(rounds),
        planned_rounds=totals,
        held=held,
        held_with=held_with,
        seconds=time.perf_counter() - began,
    )


def _refuse(changes: Sequence[LoadedChange], plan: RunPlan, at_most: int, too_small_percent: float) -> None:
    if not changes:
        raise InputError("changes: none is given; name at least one CHANGE file.")
    if plan.days < 7:
        raise InputError(f"days: {plan.days} is too short to compare weeks; give 7 or more.")
    if plan.start == "shelves":
        raise InputError(
            "start: a comparison cannot start from today's shelves, on which a change stands on no plan yet."
        )
    if at_most < 2:
        raise InputError(f"replications: {at_most} is too few to tell a difference from chance; give 2 or more.")
    if not 0 < too_small_percent <= 100:
        raise InputError(f"precision: {too_small_percent:g} percent is not possible; give more than 0, e.g. 2.")


def _estimates(scenario: Scenario, seed: int, plan: RunPlan, outcomes: Sequence[Outcome]) -> dict[str, Estimate]:
    never = cannot_happen(scenario, standing=plan.start == "shelves")
    return summarize(outcomes, known_luck(scenario, seed, plan, outcomes), never=never)


def _verdicts(outcomes: Mapping[str, Sequence[Outcome]], looks: int, percent: float) -> dict[str, dict[str, Verdict]]:
    today = summarize(outcomes[TODAY])
    changed = {name: each for name, each in outcomes.items() if name != TODAY}
    found: dict[str, dict[str, Difference]] = differences(outcomes[TODAY], changed, looks)
    return {name: judge_all(of_one, today, percent) for name, of_one in found.items()}


def _luck(today: Sequence[Outcome], changed: Sequence[Outcome]) -> dict[str, SharedLuck]:
    found = {key: shared_luck(today, changed, key) for key in HEADLINES}
    return {key: luck for key, luck in found.items() if luck is not None}


def _pay_back(
    alternative: Alternative, today: Sequence[Outcome], changed: Sequence[Outcome], doubt: float
) -> PayBack | None:
    price = alternative.change.about.price
    return pay_back(price, today, changed, doubt) if price is not None else None
