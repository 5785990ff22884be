"""How many volunteers do I need, on which day, in which month?

The smallest sign-up by shift and season that meets the goals, no-shows and beginners included: found by a sequential
search (`crew_search`, `crew_trial`), then proven in fresh years (`crew_proof`). Beside it: what one person less on each
day costs, what larger and smaller crews would bring, and which task is late first.
"""

from __future__ import annotations

import time
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Estimate, summarise
from growsim.run.prepare import prepare_room
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import replicate
from growsim.run.worker import Replicate
from growsim.spec.lacking import refuse_lacking
from growsim.spec.load import LoadedRoom
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario
from growsim.study.crew_asking import OneLess, SeasonAnswer, ask
from growsim.study.crew_goals import GOAL_KEYS, ON_TIME, ORDERS
from growsim.study.crew_late import LateFirst, Rung, late_first, rung_of
from growsim.study.crew_rota import by_month, people_today

if TYPE_CHECKING:
    import pandas as pd

ZONE, MARGIN = 0.02, 0.03  # in fractions
FEWEST_DAYS = 28


@dataclass(frozen=True)
class CrewStudy:
    """The answer and what it rests on.

    outcomes: fresh years with the answer's sign-up; first_replication: the number of the first of them. today, ample:
    the same years with today's sign-up and with ample hands. rungs: crews from the fewest to ample, smallest first.
    years: room-years rehearsed in all. seconds is not part of what makes two studies equal.
    """

    room: LoadedRoom
    plan: RunPlan
    seed: int
    wanted: dict[str, float]
    zone: float
    margin: float
    at_least: int
    seasons: tuple[SeasonAnswer, ...]
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    today: dict[str, Estimate]
    today_rung: Rung
    answer_rung: Rung
    ample: dict[str, Estimate]
    one_less: tuple[OneLess, ...]
    rungs: tuple[Rung, ...]
    late_first: LateFirst
    hours_on_paper: tuple[float, ...]
    years: int
    years_searched: int
    seconds: float = field(default=0.0, compare=False)

    @property
    def scenario(self) -> Scenario:
        """Today's room."""
        return self.room.scenario

    @property
    def first_replication(self) -> int:
        """Number of the first fresh year."""
        return self.outcomes[0].replication

    def people(self, shift: int) -> tuple[int, ...]:
        """People to sign up for a shift, January to December."""
        seasons = [each.season for each in self.seasons]
        people = by_month(seasons, tuple(each.sign_up for each in self.seasons), shift)
        held = self.scenario.crew.shifts[shift].is_held
        return tuple(n if held(month) else 0 for month, n in enumerate(people))

    def named_rungs(self) -> list[tuple[str, Rung]]:
        """Every crew rehearsed the whole year round, by name: those of the ladder, today's and the answer's."""
        last = len(self.rungs) - 1
        names = ["ample hands" if i == last else f"crew {i + 1}" for i in range(len(self.rungs))]
        return [*zip(names, self.rungs, strict=True), ("today", self.today_rung), ("the answer", self.answer_rung)]

    def to_frame(self) -> pd.DataFrame:
        """One row a shift and month.

        Columns: shift, weekday, month, season, chance_of_coming, people_today, people_needed, people_to_add,
        people_expected_to_come.
        """
        from growsim.study.crew_frames import sign_up_frame

        return sign_up_frame(self)


def crew(
    room: LoadedRoom,
    *,
    plan: RunPlan,
    seed: int,
    replications: int | None = None,
    precision_percent: float | None = None,
    goals: Mapping[str, float] | None = None,
    zone: float = ZONE,
    margin: float = MARGIN,
    at_least: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
    work: Replicate = replicate,
) -> CrewStudy:
    """Find the smallest sign-up that meets the goals with 95 % confidence.

    replications: fresh years for the proof, the room file's number where None. goals: figure -> fraction, instead of
    the room file's. zone: a smaller sign-up that clears every goal by so much is not overlooked (fraction). margin: how
    far below ample hands a year may lie where a goal is out of reach. at_least: people on every shift. Raises
    RoomFileError, InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    scenario = room.scenario
    wanted = {ON_TIME: scenario.goals.tasks_on_time_fraction, ORDERS: scenario.goals.orders_filled_fraction}
    wanted |= goals or {}
    fresh = replications or scenario.rehearsal.replications
    _refuse(scenario, plan, wanted, zone, margin, at_least, fresh)
    refuse_lacking(room)
    with Rehearsers(workers, executor=executor, work=work) as rehearsers:
        asked = ask(
            rehearsers,
            prepare_room(room),
            plan,
            seed,
            wanted=wanted,
            zone=zone,
            margin=margin,
            at_least=at_least,
            fresh=fresh,
            precision_percent=precision_percent,
            progress=progress,
        )
    rotas = tuple(sum(each.sign_up) for each in asked.seasons)
    return CrewStudy(
        room=room,
        plan=plan,
        seed=seed,
        wanted=wanted,
        zone=zone,
        margin=margin,
        at_least=at_least,
        seasons=asked.seasons,
        outcomes=asked.outcomes,
        estimates=summarise(asked.outcomes),
        today=summarise(asked.today),
        ample=summarise(asked.ample),
        answer_rung=rung_of(rotas, asked.outcomes, plan.days),
        today_rung=rung_of(_places_today(scenario, asked.seasons), asked.today, plan.days),
        one_less=asked.one_less,
        rungs=asked.rungs,
        late_first=late_first(asked.rungs),
        hours_on_paper=asked.hours_on_paper,
        years=asked.years,
        years_searched=asked.years_searched,
        seconds=time.perf_counter() - began,
    )


def _places_today(scenario: Scenario, seasons: tuple[SeasonAnswer, ...]) -> tuple[int, ...]:
    """Sign-ups today, by season: the mean over its months, rounded."""
    shifts = [people_today(shift) for shift in scenario.crew.shifts]
    return tuple(
        round(sum(people[month] for people in shifts for month in each.season.months) / len(each.season.months))
        for each in seasons
    )


def _refuse(
    scenario: Scenario,
    plan: RunPlan,
    wanted: Mapping[str, float],
    zone: float,
    margin: float,
    at_least: int,
    replications: int,
) -> None:
    if not scenario.crew.shifts:
        raise InputError("crew.shifts: nobody ever comes to work, so no crew can be found; add a [[crew.shifts]].")
    if plan.days < FEWEST_DAYS:
        raise InputError(f"days: {plan.days} is too short to judge a crew; give {FEWEST_DAYS} or more.")
    if plan.start == "shelves":
        raise InputError("start: a crew is judged over a running plan, not from one day's shelves.")
    for key, goal in wanted.items():
        if key not in GOAL_KEYS or not 0 < goal <= 1:
            raise InputError(f"goals: {goal:g} is not possible for {key}; give more than 0 and at most 1, e.g. 0.9.")
    for name, value in (("zone", zone), ("margin", margin)):
        if not 0 < value < 0.5:
            raise InputError(f"{name}: {value:g} is not possible; give a fraction between 0 and 0.5, e.g. 0.02.")
    if not 0 <= at_least <= 20:
        raise InputError(f"at least: {at_least} is not possible; give 0 to 20 people a shift.")
    if replications < 5:
        raise InputError(f"replications: {replications} is too few to prove a crew; give 5 or more.")
