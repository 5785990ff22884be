"""What would bring more: things one can change, each tried in the same years before it is said.

What plants and sowings waited for says what is worth a trial (`study.causes`, `study.to_try`). All are tried in a few
years, the better half in some more. The two best, and both together, are tried again in other years, until it is
certain what they bring; only what holds there is told.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

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
from growsim.study.causes import AtFirst, Cause, Lacking, causes_of, lacking_of, missing_at_first
from growsim.study.pay_back import KG, Range
from growsim.study.to_try import FULL, MOST, OPEN, SHORT, Trial, trials_for
from growsim.study.verdicts import NOISE
from growsim.vocabulary.obstacles import parts_of

GREENS: Final = "greens"
ORDERS: Final = "orders_filled_fraction"
TO_PARTNERS: Final = "kg_to_partners_per_week"
FIRST_YEARS, MOST_YEARS, FEWEST_YEARS = 6, 24, 5
SCREENED: Final = 3  # years, after which the worse half of all trials is left
DOUBT: Final = 0.05
LITTLE: Final = 0.05  # kilograms a week: less is not advised, however certain
LITTLE_SHARE: Final = 0.01  # of pick-ups, the same
A_TENTH: Final = 0.1
Met = Callable[[Sequence[Outcome]], Sequence[float]]
"""Share of what was promised that was met, year by year."""


@dataclass(frozen=True)
class Tried:
    """What one trial, or two together, brought: handed out and to partners, kilograms a week; orders, a share of what
    was ordered (None where nothing is). Differences to the room as it is, in the same years; all ranges hold at once.
    by_pick_ups: orders is the share of pick-ups met in full, and that alone counts. less_missing: of what partners
    lack, kilograms a rehearsal.
    """

    trials: tuple[Trial, ...]
    kg: Range
    to_partners: Range
    orders: Range | None
    years: int
    by_pick_ups: bool = False
    less_missing: Range | None = None

    @property
    def name(self) -> str:
        """What to do, as one says it."""
        names = [trial.name for trial in self.trials]
        return (", and " if any("," in name for name in names) else " and ").join(names)

    @property
    def tables(self) -> dict[str, Any] | None:
        """As one CHANGE file; None for several together, which are changes one after the other."""
        return self.trials[0].tables if len(self.trials) == 1 else None

    @property
    def worth(self) -> float:
        """By what trials are ranked: kilograms handed out and, once more, those that partners ordered; or pick-ups."""
        return math.fsum(found.mean for found, _ in self._counted())

    @property
    def brings_more(self) -> bool:
        """Whether it brings more of what counts for certain, and no less of any of it that matters."""
        found = self._counted()[: 1 if self.orders is None else 2]
        more = any(each.low is not None and each.low > NOISE and each.mean >= little for each, little in found)
        return more and not any(each.mean < -little for each, little in found)

    @property
    def sure(self) -> tuple[str, ...]:
        """Of what it brings more for certain: GREENS, ORDERS, both or neither."""
        counted = ((GREENS, self.kg, LITTLE), (ORDERS, self.orders, LITTLE_SHARE))
        return tuple(
            what for what, found, little in counted if found and (found.low or 0.0) > NOISE and found.mean >= little
        )

    @property
    def is_for_orders(self) -> bool:
        """Whether it fills more orders for certain, with fewer greens in all."""
        return ORDERS in self.sure and self.kg.mean < -LITTLE

    @property
    def is_likely_more(self) -> bool:
        """Whether it brings more on average, if not for certain."""
        return self.worth >= self._counted()[0][1]

    def is_decided(self, among: Collection[Tried]) -> bool:
        """Whether a range half as wide, as of four times the years, would say the same of it."""
        ranges = (self.kg, self.to_partners, self.orders)
        kg, to_partners, orders = (None if each is None else each.half_as_wide for each in ranges)
        assert kg is not None
        assert to_partners is not None
        half = replace(self, kg=kg, to_partners=to_partners, orders=orders)
        return self._is_advised(among) == half._is_advised(among)

    def _is_advised(self, among: Collection[Tried]) -> bool:
        alone = [each for each in among if len(each.trials) < len(self.trials)]
        return (self.brings_more or self.is_for_orders) and all(self.beats(each) for each in alone)

    def beats(self, other: Tried) -> bool:
        """Whether it brings more for certain than the other does on average, and enough more to be worth doing one
        thing more."""
        return any(
            own.low is not None and own.low > its.mean + max(little, A_TENTH * abs(its.mean))
            for (own, little), (its, _) in zip(self._counted(), other._counted(), strict=True)
        )

    def _counted(self) -> list[tuple[Range, float]]:
        """What counts, each with what is too little to be advised."""
        if self.by_pick_ups and self.orders is not None:
            return [(self.orders, LITTLE_SHARE)]
        return [(self.kg, LITTLE), (self.to_partners, LITTLE)]


@dataclass(frozen=True)
class Held:
    """What holds the room back. causes: what was waited for (see `study.causes`). tried: all that was tried, in few
    years; was_tried says whether anything could be. best: the two best, and both together, in other years, best first.
    lacking: what partners lack, by crop. without_closings: the room open on every day, in few years; None where that
    was not lived, or nothing is closed. with_full_shelves: begun with full shelves, in few years, where it begins with
    bare ones; at_first: what is missing then while they fill.
    """

    causes: tuple[Cause, ...]
    was_tried: bool = False
    tried: tuple[Tried, ...] = ()
    best: tuple[Tried, ...] = ()
    lacking: tuple[Lacking, ...] = ()
    without_closings: Tried | None = None
    with_full_shelves: Tried | None = None
    at_first: AtFirst | None = None

    @property
    def missing_kg(self) -> float:
        """What partners lack in all, a rehearsal; 0 where too little to be asked about."""
        missing = math.fsum(each.missing for each in self.lacking)
        return missing if missing >= SHORT * math.fsum(each.ordered for each in self.lacking) else 0.0

    def explained_by(self, cause: Cause) -> float:
        """How much of that was lost over it, as a share, but no more than the best that was tried against it made good:
        what is lost may be missed in no week. 0 where nothing is missing."""
        missing = self.missing_kg
        lost = math.fsum(each.lost_over([cause]) for each in self.lacking)
        made_good = [tried.less_missing.mean for tried in self._against(cause) if tried.less_missing]
        return max(0.0, min(lost, max(made_good, default=lost))) / missing if missing else 0.0

    @property
    def to_weigh(self) -> tuple[Tried, ...]:
        """What fills more orders for certain with fewer greens in all; two things together are too much for that."""
        return tuple(tried for tried in self.best if len(tried.trials) == 1 and tried.is_for_orders)

    @property
    def advice(self) -> tuple[Tried, ...]:
        """What brings more for certain, the best first. Both together only where that beats each alone."""
        sure = [tried for tried in self.best if tried.brings_more]
        alone = [tried for tried in self.best if len(tried.trials) == 1]
        together = [tried for tried in sure if len(tried.trials) > 1 and all(tried.beats(one) for one in alone)]
        return (*together, *(tried for tried in sure if tried in alone))

    def may_be_named(self, cause: Cause) -> bool:
        """Whether a cause is told as one: not where all that was tried against it brought nothing, on average."""
        against = self._against(cause)
        return not against or any(tried.is_likely_more for tried in against)

    def _against(self, cause: Cause) -> list[Tried]:
        lifts = {part.lift for part in parts_of(cause.held_up)}
        alone = [tried for tried in (*self.tried, *self.best) if len(tried.trials) == 1]
        return [tried for tried in alone if tried.trials[0].kind in lifts]

    def of_closings(self, *, are: bool = True) -> tuple[Cause, ...]:
        """Causes in which a closing has a part, or those in which none has."""
        return tuple(cause for cause in self.causes if cause.is_of_closing == are)


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
