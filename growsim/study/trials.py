"""What would bring more: things one can change, each tried in the same years before it is said.

What plants and sowings waited for says what is worth a trial (`study.causes`, `study.to_try`). All are tried in a few
years, the better half in some more. The two best, and both together, are tried again in other years, until it is
certain what they bring; only what holds there is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from pathlib import Path
from typing import Final

from growsim.errors import RoomFileError
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.run.prepare import Prepared, prepare
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.load import LoadedRoom
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.alternatives import keep_pace
from growsim.study.causes import causes_of, lacking_of, missing_at_first
from growsim.study.pay_back import KG, Range
from growsim.study.to_try import FULL, MOST, OPEN, Trial, trials_for
from growsim.study.tried import ORDERS, Held, Tried

TO_PARTNERS: Final = "kg_to_partners_per_week"
FIRST_YEARS, MOST_YEARS, FEWEST_YEARS = 6, 24, 5
SCREENED: Final = 3  # years, after which the worse half of all trials is left
DOUBT: Final = 0.05
Met = Callable[[Sequence[Outcome]], Sequence[float]]
"""Share of what was promised that was met, year by year."""


def untried(outcomes: Sequence[Outcome], scenario: Scenario) -> Held:
    """What the years tell by themselves."""
    return Held(causes_of(outcomes, scenario), lacking=lacking_of(outcomes))


def with_trials(room: LoadedRoom, trials: Sequence[Trial]) -> Scenario | None:
    """The room with these things done; None where the room file does not allow them."""
    here = room
    try:
        for trial in trials:
            here = changed_room(here, LoadedChange(trial.tables, Path(trial.name), ""))
    except RoomFileError:
        return None
    return here.scenario


def try_all(
    room: LoadedRoom,
    outcomes: Sequence[Outcome],
    *,
    seed: int,
    plan: RunPlan,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Held:
    """What holds back a room that has been rehearsed with this seed and plan, and what would bring more.

    With fewer years than FEWEST_YEARS, or from today's shelves, nothing is tried. Raises Interrupted on Ctrl-C.
    """
    if plan.start == "shelves":
        return untried(outcomes, room.scenario)
    shared = SharedProgress(progress, years_of_trials(len(outcomes)))
    with Rehearsers(workers, executor=executor) as rehearsers:
        return try_with(rehearsers, shared, room, prepare(room.scenario), outcomes, seed=seed, plan=plan)


def years_of_trials(known: int) -> int:
    """Years that trials live through, at most, in a room of which so many are known."""
    few, many = _years(known)
    first = min(SCREENED, len(few))
    return len(few) + MOST * first + MOST // 2 * (len(few) - first) + 3 * len(many)


def _years(known: int) -> tuple[range, range]:
    """In which of the known years all is tried, and in which the best: others, where there are enough."""
    few = range(min(known, FIRST_YEARS) if known >= FEWEST_YEARS else 0)
    enough = known >= FIRST_YEARS + FEWEST_YEARS
    return few, range(FIRST_YEARS, min(known, FIRST_YEARS + MOST_YEARS)) if enough else few


def try_with(
    rehearsers: Rehearsers,
    shared: SharedProgress,
    room: LoadedRoom,
    today: Prepared,
    outcomes: Sequence[Outcome],
    *,
    seed: int,
    plan: RunPlan,
    met: Met | None = None,
) -> Held:
    """The same within another question. today: the room, its crops at their pace. met: what counts is the share of
    pick-ups met in full, and not kilograms."""
    held, known = untried(outcomes, room.scenario), sorted(outcomes, key=lambda outcome: outcome.replication)
    if len(known) < FEWEST_YEARS:
        return held
    few, many = _years(len(known))
    is_short = not met and held.missing_kg > 0.0  # `sow` has tried other seed
    lacking = held.lacking[0].crop if is_short else ""
    trials = trials_for(room.scenario, held.causes, _spoiled(known), lacking=lacking)
    lives = _Lives(rehearsers, shared, room, today, known, seed, plan, met)
    tried = lives.screen([(trial,) for trial in trials], few, then=3 * len(many))
    top = to_prove(tried, is_short=is_short)
    both = [tuple(trial for each in top for trial in each)] if len({each[0].kind for each in top}) > 1 else []
    proven = lives.prove([*top, *both], many)
    opened = lives.screen([(OPEN,)] if room.scenario.room.closed_days else [], few, then=0)
    full = lives.begun_full(few) if is_short and plan.start == "empty" else []
    return replace(
        held,
        was_tried=True,
        tried=tuple(tried),
        best=tuple(proven),
        without_closings=next(iter(opened), None),
        with_full_shelves=judge((FULL,), [known[year] for year in few], full, 1) if full else None,
        at_first=missing_at_first(known) if full else None,
    )


def to_prove(tried: Sequence[Tried], *, is_short: bool) -> list[tuple[Trial, ...]]:
    """The two that are tried again, of two kinds where there are two: what is sure goes before what is more on average.
    tried: the best first. is_short: whether partners lack something."""
    if not tried:
        return []
    first, *rest = sorted(tried, key=lambda each: not each.brings_more)
    other = [each for each in rest if each.trials[0].kind != first.trials[0].kind]  # more of one is one
    if is_short:  # what fills most orders, though it may cost greens in all
        other.sort(key=lambda each: -each.to_partners.mean)
    return [each.trials for each in (first, *(other or rest)[:1])]


class _Lives:
    """The room with trials done, in the years that are known of it as it is; each year lived through once."""

    def __init__(
        self,
        rehearsers: Rehearsers,
        shared: SharedProgress,
        room: LoadedRoom,
        today: Prepared,
        known: Sequence[Outcome],
        seed: int,
        plan: RunPlan,
        met: Met | None,
    ) -> None:
        self._rehearsers, self._shared, self._room, self._today = rehearsers, shared, room, today
        self._known, self._seed, self._plan, self._met = known, seed, plan, met
        self._lived: dict[tuple[Trial, ...], dict[int, Outcome]] = {(): dict(enumerate(known))}
        self._rooms: dict[tuple[Trial, ...], Prepared] = {}

    def screen(self, sets: Sequence[tuple[Trial, ...]], years: range, then: int) -> list[Tried]:
        """All in a few years, the better half in all of them; best first."""
        sets = self._possible(sets)
        found: list[Tried] = []
        for upto in dict.fromkeys((min(SCREENED, len(years)), len(years))):
            self._live(sets, years[:upto], then)
            judged = sorted((self._judged(each, years[:upto], len(sets)) for each in sets), key=lambda one: -one.worth)
            found = [*judged, *found[len(judged) :]]
            sets = [each.trials for each in judged[: math.ceil(len(judged) / 2)]]
        return found

    def prove(self, sets: Sequence[tuple[Trial, ...]], years: range) -> list[Tried]:
        """Each in all these years, or in half of them where that decides it; best first."""
        sets = self._possible(sets)
        found: dict[tuple[Trial, ...], Tried] = {}
        looks = (len(years) // 2, len(years)) if len(years) // 2 >= FEWEST_YEARS else (len(years),)
        left = sets
        for upto in looks:
            self._live(left, years[:upto], len(left) * (len(years) - upto))
            found |= {each: self._judged(each, years[:upto], len(sets) * len(looks)) for each in left}
            left = [each for each in left if not found[each].is_decided(found.values())]
        return sorted(found.values(), key=lambda tried: -tried.worth)

    def begun_full(self, years: range) -> list[Outcome]:
        """The room as it is in these years, begun with full shelves."""
        keys = [self._known[year].replication for year in years]
        told, plan = self._shared.more(len(keys)), replace(self._plan, start="filled")
        return list(self._rehearsers.run({"full": self._today}, self._seed, keys, plan, told)["full"])

    def _possible(self, sets: Sequence[tuple[Trial, ...]]) -> list[tuple[Trial, ...]]:
        """Those that the room file allows, with their rooms got ready."""
        for trials in sets:
            scenario = None if trials in self._rooms else with_trials(self._room, trials)
            if scenario is not None:
                self._rooms[trials] = prepare(keep_pace(self._today, scenario)[0])
        return [trials for trials in sets if trials in self._rooms]

    def _live(self, sets: Sequence[tuple[Trial, ...]], years: range, then: int) -> None:
        """Live through what is not known of these, what is done alone first. then: how many follow, at most."""
        for number in sorted({len(trials) for trials in sets}):
            missing: dict[tuple[int, ...], dict[str, Prepared]] = {}
            these = [trials for trials in sets if len(trials) == number]
            for place, trials in enumerate(these):
                lacking = tuple(year for year in years if self._year(trials, year) is None)
                missing.setdefault(lacking, {})[str(place)] = self._rooms[trials]
            for lacking, rooms in missing.items():
                self._shared.then(then)
                keys = [self._known[year].replication for year in lacking]
                told = self._shared.more(len(keys) * len(rooms))
                for name, lived in self._rehearsers.run(rooms, self._seed, keys, self._plan, told).items():
                    self._lived.setdefault(these[int(name)], {}).update(zip(lacking, lived, strict=True))

    def _year(self, trials: tuple[Trial, ...], year: int) -> Outcome | None:
        """A year with these trials, if known: also where one of them had nothing to act on in the year with the
        others."""
        lived = self._lived.get(trials, {}).get(year)
        for trial in trials if lived is None else ():
            without = self._year(tuple(each for each in trials if each is not trial), year)
            if without is not None and not trial.may_act(without):
                return without
        return lived

    def _judged(self, trials: tuple[Trial, ...], years: range, at_once: int) -> Tried:
        after = [found for found in (self._year(trials, year) for year in years) if found is not None]
        return judge(trials, [self._known[year] for year in years], after, at_once, self._met)


def judge(
    trials: tuple[Trial, ...], before: Sequence[Outcome], after: Sequence[Outcome], tried: int, met: Met | None = None
) -> Tried:
    """What trials brought in the same years. tried: how many are judged at once, for their joint range. met: see
    `try_with`."""
    level = 1.0 - DOUBT / (2 * max(1, tried))

    def over(figure: Met) -> Range:
        pairs = zip(figure(before), figure(after), strict=True)
        return Range(*mean_interval([now - then for then, now in pairs], level))

    has_orders = any(ORDERS in outcome.measures for outcome in before)
    orders = over(met or _of(ORDERS)) if has_orders else None
    less = over(lambda years: [-math.fsum(each.missing for each in lacking_of([year])) for year in years])
    return Tried(trials, over(_of(KG)), over(_of(TO_PARTNERS)), orders, len(before), met is not None, less)


def _of(key: str) -> Met:
    return lambda outcomes: [outcome.measures.get(key, 0.0) for outcome in outcomes]


def _spoiled(outcomes: Sequence[Outcome]) -> float:
    """Share of what is packed that grows too old in the cooler."""
    packed, wasted = (
        sum(outcome.measures.get(key, 0.0) for outcome in outcomes)
        for key in ("kg_packed_per_week", "kg_wasted_per_week")
    )
    return wasted / packed if packed > 0 else 0.0
