"""What to sow, step by step: plans are sought, the best of them chosen in further years and proven in fresh ones."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers, See, unseen
from growsim.scenario import on_paper
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.load import LoadedRoom
from growsim.scenario.orders import StandingOrder
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.sow.arithmetic import by_arithmetic, cells_a_week, shared_out, sowing_days
from growsim.study.sow.paper import OnPaper, first_plan
from growsim.study.sow.plan import Cells, Frame, frame_for, steady
from growsim.study.sow.score import Score, all_met_by_year, score_of
from growsim.study.sow.search import Search, Tried
from growsim.study.sow.timing import Fed, Line
from growsim.study.trials import try_with, years_of_trials
from growsim.study.tried import Held

CHOOSING = 2  # times the trial years, in which the plans the searches end with are compared
PROOFS = 3  # a plan that falls short of the certainty in fresh years is bettered and proven again, so often in all
MOST_AIM = 0.995
STEP_AIM = 0.005


@dataclass(frozen=True)
class Proven:
    """A plan and what came of it in fresh years."""

    frame: Frame
    cells: Cells
    outcomes: list[Outcome]
    proof: Score


@dataclass(frozen=True)
class Found:
    """The best plan, proven, and how it was come by; beside it the one by arithmetic, proven in the same years."""

    best: Proven
    arithmetic: Proven
    paper: Cells
    tried: int


class Asking:
    """One run of the question, step by step."""

    def __init__(
        self,
        prepared: Prepared,
        run: RunPlan,
        seed: int,
        certainty: float,
        trial_years: int,
        fresh: int,
        beyond: Sequence[StandingOrder],
        rehearsers: Rehearsers,
        shared: SharedProgress,
    ) -> None:
        self._prepared, self._plan, self._seed, self._certainty = prepared, run, seed, certainty
        self._beyond = beyond
        self._trial_years, self._rehearsers, self._shared = trial_years, rehearsers, shared
        self._choosing = range(trial_years, (1 + CHOOSING) * trial_years)
        self.fresh = range(self._choosing.stop, self._choosing.stop + fresh)

    def live(self, rooms: Mapping[str, Prepared], years: range, see: See = unseen) -> dict[str, list[Outcome]]:
        """Live through these years in each room."""
        told = self._shared.more(len(rooms) * len(years))
        return self._rehearsers.run(rooms, self._seed, years, self._plan, told, see)

    def best(self, lines: Sequence[Line], fed: Sequence[Fed]) -> Found:
        """The plan that the search ends with, bettered until it holds in fresh years too, or cannot be.

        The plan by arithmetic is proven as well, and taken where nothing that was found does better: but for what of
        it would be lost in a closing.
        """
        scenario = self._prepared.scenario
        paper = first_plan(scenario, lines, fed, self._certainty)
        frame = frame_for(scenario, self._plan, lines, paper.parts)
        start = start_on_paper(frame, lines, paper)
        as_ordered, all_year = self._search(frame), self._search(steady(frame))
        todays = [like_today(frame)] if scenario.sowing else []
        ends = [(as_ordered, as_ordered.climb([start, *todays]))]
        exactly = [exactly_today(frame)] if scenario.sowing else []
        ends += [(all_year, today) for today in all_year.look(exactly)]
        ends.append((all_year, all_year.climb([*exactly, *shares_by_arithmetic(all_year.frame)])))
        fresh = len(self.fresh)
        at_the_end = fresh + (0 if max(end.score.is_met for _, end in ends) else years_of_trials(fresh))
        self._shared.then(fresh + at_the_end)
        (search, found), *others = self._ranked(ends)
        self._shared.then(at_the_end)
        proven = [self._prove(search.frame, found.cells)]
        while not proven[-1].proof.is_met and found.score.is_met and len(proven) < PROOFS:
            flattery = max(found.score.kept[order] - share for order, share in proven[-1].proof.kept.items())
            search.aim(min(MOST_AIM, max(search.certainty, self._certainty) + max(STEP_AIM, flattery)))
            found = search.climb([found.cells])
            self._shared.then(at_the_end)
            proven.append(self._prove(search.frame, found.cells))
        for other, ended in others:
            if ended.score.is_met and not any(each.proof.is_met for each in proven):
                proven.append(self._prove(other.frame, ended.cells))
        self._shared.then(at_the_end - fresh)
        arithmetic = self._prove(*by_arithmetic(self._prepared, self._plan, lines))
        best = max([*proven, arithmetic], key=lambda each: each.proof.worth)
        if best is arithmetic:
            spared = steady(arithmetic.frame)
            if spared != arithmetic.frame:
                best = max([*proven, self._prove(spared, arithmetic.cells)], key=lambda each: each.proof.worth)
        return Found(best, arithmetic, start, as_ordered.count + all_year.count)

    def _search(self, frame: Frame) -> Search:
        return Search(frame, self._prepared, self._certainty, self._trial_years, self.live, self._beyond)

    def _ranked(self, ends: Sequence[tuple[Search, Tried]]) -> list[tuple[Search, Tried]]:
        """These plans, best first, in years in which none of them was picked."""
        planned = [replace(self._prepared, scenario=search.frame.room(found.cells)) for search, found in ends]
        lived = self.live({str(place): room for place, room in enumerate(planned)}, self._choosing)
        worths = [self._score(lived[str(place)]).worth for place in range(len(ends))]
        return [ends[place] for place in sorted(range(len(ends)), key=lambda place: worths[place], reverse=True)]

    def _prove(self, frame: Frame, cells: Cells) -> Proven:
        room = replace(self._prepared, scenario=frame.room(cells))
        outcomes = self.live({"": room}, self.fresh)[""]
        return Proven(frame, cells, outcomes, self._score(outcomes))

    def _score(self, outcomes: Sequence[Outcome]) -> Score:
        return score_of(outcomes, self._prepared.scenario, self._certainty, self._beyond)

    def held(self, room: LoadedRoom, found: Proven, tables: dict[str, Any]) -> Held:
        """What holds the room with this plan back, and what would meet more pick-ups in full. tables: of its CHANGE."""
        here = changed_room(room, LoadedChange(tables, Path("plan.toml"), ""))
        return try_with(
            self._rehearsers, self._shared, here, replace(self._prepared, scenario=here.scenario), found.outcomes,
            seed=self._seed, plan=self._plan,
            met=lambda outcomes: all_met_by_year(outcomes, self._prepared.scenario, self._beyond),
        )  # fmt: skip


def years_to_choose(scenario: Scenario, trial_years: int) -> int:
    """Years in which the plans that the searches end with are compared; the room file's own is one, if it has one."""
    return CHOOSING * trial_years * (3 if scenario.sowing else 2)


def start_on_paper(frame: Frame, lines: Sequence[Line], paper: OnPaper) -> Cells:
    """The plan on paper, in whole steps."""
    cells = dict(zip(lines, paper.cells, strict=True))
    return tuple(
        step * math.ceil(cells[line] / step - 1e-9) for line, step in zip(frame.lines, frame.steps, strict=True)
    )


def shares_by_arithmetic(frame: Frame) -> list[Cells]:
    """The plan by arithmetic on each sowing day alone, shared out over the harvest days, and over all sowing days."""
    weekly, days = cells_a_week(frame.scenario), sowing_days(frame.scenario)
    cutting = tuple(day for day in days if day in frame.scenario.harvest.weekdays)
    return [shared_out(frame, weekly, each) for each in (*((day,) for day in days), cutting, days)]


def like_today(frame: Frame) -> Cells:
    """The room file's own plan as far as the frame has its lines: as many cells a week, in whole steps."""
    return tuple(
        step * math.ceil(cells / step - 1e-9) for cells, step in zip(exactly_today(frame), frame.steps, strict=True)
    )


def exactly_today(frame: Frame) -> Cells:
    """The same to the cell."""
    weekly: dict[tuple[str, str], float] = {}
    for line in frame.scenario.sowing:
        key = (line.crop, line.weekday)
        weekly[key] = weekly.get(key, 0.0) + line.cells * on_paper.sowings_per_week(frame.scenario, line)
    return tuple(round(weekly.get((line.crop, line.weekday), 0.0)) for line in frame.lines)
