"""What shall I sow, when, so that partners get what I promised?

A first plan is worked out on paper (`sow_paper`) with the days that lots really take, measured in a rehearsal of the
room (`run.cut_days`). Rehearsal then tries it, and better ones around it (`sow_search`), in a few years of shared luck.
The best is proven in fresh years, beside the plan of the room file in the same years.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.cut_days import watch_lots
from growsim.run.deliveries import deliver
from growsim.run.intervals import Difference, Estimate, paired_differences, summarise
from growsim.run.prepare import Prepared, prepare, prepare_room
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.spec import on_paper
from growsim.spec.load import LoadedRoom
from growsim.spec.orders import StandingOrder
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario
from growsim.study.alternatives import keep_pace
from growsim.study.counting import Counting
from growsim.study.crew_rota import months_of_weeks
from growsim.study.relief import LIMITS, Limit, without_limit
from growsim.study.sow_kept import Kept, kept_orders
from growsim.study.sow_paper import OnPaper, first_plan
from growsim.study.sow_plan import Cells, Frame, frame_for
from growsim.study.sow_score import Score, score_of
from growsim.study.sow_search import Search, Tried
from growsim.study.sow_timing import Fed, Line, fed_orders, lines_for, measured

if TYPE_CHECKING:
    import pandas as pd

CERTAINTY = 0.9
TRIAL_YEARS = 8
PROBE_YEARS = 4
PROOFS = 3  # a plan that falls short of the certainty in fresh years is bettered and proven again, so often in all
MOST_AIM = 0.995
LIMIT_YEARS = 12
FEWEST_DAYS = 56
HEADLINES = ("orders_filled_fraction", "weeks_all_orders_met_fraction", "kg_to_partners_per_week", "seeds_sown")


@dataclass(frozen=True)
class Lifted:
    """The plan in the same years with one limit lifted: its score there, beside the score with the limit."""

    limit: Limit
    score: Score
    before: Score


@dataclass(frozen=True)
class SowingPlan:
    """The plan and what it rests on.

    frame, cells: the plan. paper: the first plan; tried: plans rehearsed in `trial_years` years. outcomes, score, and
    kept: of the plan in fresh years; the same of the room file's own plan (today) in the same years. differences: plan
    less today. impossible: orders that nothing cut can ever reach in time. lifted: () where the certainty is met.
    seconds is not part of what makes two plans equal.
    """

    room: LoadedRoom
    plan: RunPlan
    seed: int
    certainty: float
    frame: Frame
    cells: Cells
    paper: Cells
    tried: int
    trial_years: int
    outcomes: tuple[Outcome, ...]
    today_outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    today: dict[str, Estimate]
    differences: dict[str, Difference]
    score: Score
    today_score: Score
    kept: tuple[Kept, ...]
    today_kept: tuple[Kept, ...]
    impossible: tuple[StandingOrder, ...]
    lifted: tuple[Lifted, ...]
    seconds: float = field(default=0.0, compare=False)

    @property
    def scenario(self) -> Scenario:
        """The room with this plan."""
        return self.frame.planned(self.cells)

    @property
    def is_met(self) -> bool:
        """Whether every standing order is met in full with the certainty asked for, on average over the fresh years."""
        return self.score.is_met and not self.impossible

    @property
    def short(self) -> tuple[Kept, ...]:
        """Orders that lack the certainty, the least certain first."""
        return tuple(sorted((k for k in self.kept if k.share < self.certainty - 1e-9), key=lambda k: k.share))

    def to_frame(self) -> pd.DataFrame:
        """One row a sowing day and crop of the counted time: week, week_from, date, weekday, crop, cells, sheets."""
        from growsim.study.sow_frames import weekly_frame

        return weekly_frame(self)


def sow(
    room: LoadedRoom,
    *,
    plan: RunPlan,
    seed: int,
    certainty: float = CERTAINTY,
    replications: int | None = None,
    trial_years: int = TRIAL_YEARS,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> SowingPlan:
    """Find the plan of least seed that meets every standing order with the certainty asked for, or the best there is.

    replications: fresh years for the proof, the room file's number where None. trial_years: in which plans are tried.
    Raises RoomFileError, InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    fresh = replications or room.scenario.rehearsal.replications
    _refuse(room.scenario, plan, certainty, fresh, trial_years)
    prepared = prepare_room(room)
    counting = Counting(progress, PROBE_YEARS + trial_years * 30 + fresh * 2)
    with Rehearsers(workers, executor=executor, work=watch_lots) as watchers:
        lines, fed = _lines(prepared, plan, seed, certainty, watchers, counting)
    with Rehearsers(workers, executor=executor, work=deliver) as rehearsers:
        beyond = tuple(each.order for each in fed if not each.cuts)
        asking = _Asking(prepared, plan, seed, certainty, trial_years, fresh, beyond, rehearsers, counting)
        found = asking.best(lines, fed)
        today = asking.live({"": prepared}, asking.fresh)[""]
        lifted = () if found.proof.is_met else asking.without_limits(found.cells, found.frame)
    months = months_of_weeks(room.scenario, plan.days)
    lived = {"plan": found.outcomes}
    return SowingPlan(
        room=room,
        plan=plan,
        seed=seed,
        certainty=certainty,
        frame=found.frame,
        cells=found.cells,
        paper=found.paper,
        tried=found.tried,
        trial_years=trial_years,
        outcomes=tuple(found.outcomes),
        today_outcomes=tuple(today),
        estimates=summarise(found.outcomes),
        today=summarise(today),
        differences=paired_differences(today, lived, HEADLINES)["plan"],
        score=found.proof,
        today_score=score_of(today, room.scenario, certainty, beyond),
        kept=kept_orders(found.outcomes, room.scenario, certainty, months, beyond),
        today_kept=kept_orders(today, room.scenario, certainty, months, beyond),
        impossible=beyond,
        lifted=lifted,
        seconds=time.perf_counter() - began,
    )


def _refuse(scenario: Scenario, plan: RunPlan, certainty: float, fresh: int, trial_years: int) -> None:
    if not any(partner.orders for partner in scenario.partners):
        raise InputError("partners: nothing is promised to anybody, so nothing says what to sow; add a [[partners]].")
    if not scenario.crew.shifts:
        raise InputError("crew.shifts: nobody ever comes to sow; add a [[crew.shifts]].")
    if plan.start != "filled":
        raise InputError("start: a sowing plan is judged in a running room, not from bare or today's shelves.")
    if plan.days < FEWEST_DAYS:
        raise InputError(f"days: {plan.days} is too short to judge a sowing plan; give {FEWEST_DAYS} or more.")
    if not 0.5 <= certainty <= 0.99:
        raise InputError(f"certainty: {certainty:g} is not possible; give 0.5 to 0.99, e.g. 0.9.")
    if fresh < 2 or trial_years < 2:
        raise InputError(f"replications: {min(fresh, trial_years)} is too few to judge a plan by; give 2 or more.")


def _lines(
    prepared: Prepared, plan: RunPlan, seed: int, certainty: float, watchers: Rehearsers, counting: Counting
) -> tuple[tuple[Line, ...], tuple[Fed, ...]]:
    """Every line there could be, with the days its lots really take: measured with every crop sown on every day."""
    scenario = prepared.scenario
    fed = fed_orders(scenario)
    lines = [line for crop in scenario.crops for line in lines_for(prepared, crop, fed)]
    paper = first_plan(scenario, lines, fed, certainty)
    frame = frame_for(scenario, plan, lines, {})
    weekly = {line.crop: 0.0 for line in lines}
    for line, cells in zip(lines, paper.cells, strict=True):
        weekly[line.crop] += cells
    days = {crop: sum(line.crop == crop for line in frame.lines) for crop in weekly}
    spread = tuple(
        step * math.ceil(weekly[line.crop] / days[line.crop] / step - 1e-9)
        for line, step in zip(frame.lines, frame.steps, strict=True)
    )
    probe = replace(prepared, scenario=frame.planned(spread))
    lived = watchers.run({"": probe}, seed, range(PROBE_YEARS), plan, counting.more(PROBE_YEARS))[""]
    return measured(lines, fed, lived), fed


@dataclass(frozen=True)
class _Found:
    """The best plan, its proof and how it was come by."""

    frame: Frame
    cells: Cells
    paper: Cells
    tried: int
    outcomes: list[Outcome]
    proof: Score


class _Asking:
    """One run of the question, step by step."""

    def __init__(
        self,
        prepared: Prepared,
        plan: RunPlan,
        seed: int,
        certainty: float,
        trial_years: int,
        fresh: int,
        beyond: Sequence[StandingOrder],
        rehearsers: Rehearsers,
        counting: Counting,
    ) -> None:
        self._prepared, self._plan, self._seed, self._certainty = prepared, plan, seed, certainty
        self._beyond = beyond
        self._trial_years, self._rehearsers, self._counting = trial_years, rehearsers, counting
        self.fresh = range(trial_years, trial_years + fresh)

    def live(self, rooms: Mapping[str, Prepared], years: range) -> dict[str, list[Outcome]]:
        """Live through these years in each room."""
        told = self._counting.more(len(rooms) * len(years))
        return self._rehearsers.run(rooms, self._seed, years, self._plan, told)

    def best(self, lines: Sequence[Line], fed: Sequence[Fed]) -> _Found:
        """The plan that the search ends with, bettered until it holds in fresh years too, or cannot be."""
        scenario = self._prepared.scenario
        paper = first_plan(scenario, lines, fed, self._certainty)
        frame = frame_for(scenario, self._plan, lines, paper.parts)
        start = start_on_paper(frame, lines, paper)
        search = Search(frame, self._prepared, self._certainty, self._trial_years, self.live, self._beyond)
        found = search.climb([start, like_today(frame)])
        proven = [self._prove(frame, found)]
        while not proven[-1][1].is_met and found.score.is_met and len(proven) < PROOFS:
            lacking = max(self._certainty - share for share in proven[-1][1].kept.values())
            search.aim(min(MOST_AIM, search.certainty + lacking))
            found = search.climb([found.cells])
            proven.append(self._prove(frame, found))
        cells, proof, outcomes = max(proven, key=lambda each: each[1].worth)
        return _Found(frame, cells, start, search.count, outcomes, proof)

    def _prove(self, frame: Frame, found: Tried) -> tuple[Cells, Score, list[Outcome]]:
        room = replace(self._prepared, scenario=frame.planned(found.cells))
        outcomes = self.live({"": room}, self.fresh)[""]
        return found.cells, score_of(outcomes, self._prepared.scenario, self._certainty, self._beyond), outcomes

    def without_limits(self, cells: Cells, frame: Frame) -> tuple[Lifted, ...]:
        """The plan where there are twice the people, and where slots never run out."""
        planned = replace(self._prepared, scenario=frame.planned(cells))
        rooms = {"": planned}
        for limit in LIMITS:
            scenario, _ = keep_pace(planned, without_limit(planned.scenario, limit))
            rooms[limit] = prepare(scenario)
        lived = self.live(rooms, self.fresh[:LIMIT_YEARS])
        scores = {
            name: score_of(each, self._prepared.scenario, self._certainty, self._beyond) for name, each in lived.items()
        }
        return tuple(Lifted(limit, scores[limit], scores[""]) for limit in LIMITS)


def start_on_paper(frame: Frame, lines: Sequence[Line], paper: OnPaper) -> Cells:
    """The plan on paper, in whole steps."""
    cells = dict(zip(lines, paper.cells, strict=True))
    return tuple(
        step * math.ceil(cells[line] / step - 1e-9) for line, step in zip(frame.lines, frame.steps, strict=True)
    )


def like_today(frame: Frame) -> Cells:
    """The room file's own plan as far as the frame has its lines: as many cells a week, on the same days."""
    weekly: dict[tuple[str, str], float] = {}
    for line in frame.scenario.sowing:
        key = (line.crop, line.weekday)
        weekly[key] = weekly.get(key, 0.0) + line.cells * on_paper.sowings_per_week(line)
    return tuple(
        step * math.ceil(weekly.get((line.crop, line.weekday), 0.0) / step - 1e-9)
        for line, step in zip(frame.lines, frame.steps, strict=True)
    )
