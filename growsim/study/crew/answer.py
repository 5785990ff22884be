"""What the study of the crew answers: people by shift and season, and what the answer rests on; and its tidy tables."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Difference, Estimate
from growsim.scenario.load import LoadedRoom
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.crew.goals import ORDERS, Target
from growsim.study.crew.kept import SetAside
from growsim.study.crew.late import LateFirst, Rung
from growsim.study.crew.proof import End
from growsim.study.rota import Season, SignUp, by_month, people_today

if TYPE_CHECKING:
    import pandas as pd

SIGN_UP_COLUMNS = [
    "shift", "weekday", "month", "season", "chance_of_coming", "people_today", "people_needed", "people_to_add",
    "people_expected_to_come",
]  # fmt: skip
ONE_LESS_COLUMNS = ["shift", "measure", "difference", "low", "high", "n"]
CREW_COLUMNS = ["crew", "season", "places", "volunteer_hours_per_week", "orders_filled_fraction",
                "tasks_on_time_fraction", "kg_handed_out_per_week", "years"]  # fmt: skip
LATE_COLUMNS = ["crew", "volunteer_hours_per_week", "task", "late_fraction"]
SEASON_COLUMNS = ["season", "months", "people", "people_low", "people_high", "effort", "measure", "mean", "low", "high",
                  "with_ample", "floor"]  # fmt: skip


@dataclass(frozen=True)
class SeasonAnswer:
    """What one season needs.

    sign_up: people by shift. low, high: people a week that nine answers in ten would say with other luck. chance: of
    coming, mean of its weeks. hard: to find one more person then. floor: share of the orders it must fill by itself,
    None where nothing is ordered. values, with_ample: figure -> (mean, low, high) over the fresh years, with the answer
    and with an ample crew. last: so many people of it are told of in last_tasks, (task, late share with, without them);
    last_by_shift: how many of them on each shift.
    """

    season: Season
    sign_up: SignUp
    low: int
    high: int
    chance: float
    hard: float
    floor: float | None
    values: dict[str, tuple[float, float | None, float | None]]
    with_ample: dict[str, tuple[float, float | None, float | None]]
    last: int
    last_tasks: tuple[tuple[str, float, float], ...]
    last_by_shift: SignUp = ()


@dataclass(frozen=True)
class OneLess:
    """One person less on a shift the whole year round, against the answer: figure -> paired difference."""

    shift: str
    differences: dict[str, Difference]


@dataclass(frozen=True)
class CrewStudy:
    """The answer and what it rests on.

    targets: figure -> what was asked of the year. end: how the proof ended. outcomes: fresh years with the answer's
    sign-up. today: the same years with today's. ample: years with an ample crew. outcomes_today: those of today. rungs:
    crews from the fewest to ample, smallest first. years: room-years rehearsed in all. set_aside: what the search found
    where the answer is today's sign-up. seconds is not part of what makes two studies equal.
    """

    room: LoadedRoom
    plan: RunPlan
    seed: int
    wanted: dict[str, float]
    aim: float
    margin: float
    at_least: int
    seasons: tuple[SeasonAnswer, ...]
    targets: dict[str, Target]
    end: End
    outcomes: tuple[Outcome, ...]
    outcomes_today: tuple[Outcome, ...]
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
    set_aside: SetAside | None = None
    seconds: float = field(default=0.0, compare=False)

    @property
    def scenario(self) -> Scenario:
        """Today's room."""
        return self.room.scenario

    @property
    def out_of_reach(self) -> tuple[str, ...]:
        """Figures whose goal no number of people reaches, surely."""
        return tuple(key for key, target in self.targets.items() if target.out_of_reach)

    def people(self, shift: int) -> tuple[int, ...]:
        """People to sign up for a shift, January to December."""
        seasons = [each.season for each in self.seasons]
        people = by_month(seasons, tuple(each.sign_up for each in self.seasons), shift)
        held = self.scenario.crew.shifts[shift].is_held
        return tuple(n if held(month) else 0 for month, n in enumerate(people))

    def named_rungs(self) -> list[tuple[str, Rung]]:
        """Every crew rehearsed the whole year round, by name: those of the ladder, today's and the answer's."""
        last = len(self.rungs) - 1
        names = ["as many as fit" if i == last else f"crew {i + 1}" for i in range(len(self.rungs))]
        return [*zip(names, self.rungs, strict=True), ("today", self.today_rung), ("the answer", self.answer_rung)]

    def to_frame(self) -> pd.DataFrame:
        """One row a shift and month.

        Columns: shift, weekday, month, season, chance_of_coming, people_today, people_needed, people_to_add,
        people_expected_to_come.
        """
        return sign_up_frame(self)


def sign_up_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a shift and month (1 to 12); seasons are numbered from 1, the one of least need first."""
    import pandas as pd

    season_of = {m: number for number, each in enumerate(study.seasons, start=1) for m in each.season.months}
    chances = study.scenario.crew.chance_of_coming
    rows = []
    for number, shift in enumerate(study.scenario.crew.shifts):
        needed, today = study.people(number), people_today(shift)
        for month in range(12):
            come = needed[month] * chances[month]
            rows.append(
                (shift.name, shift.weekday, month + 1, season_of[month], chances[month], today[month], needed[month],
                 needed[month] - today[month], round(come, 6))
            )  # fmt: skip
    return pd.DataFrame(rows, columns=SIGN_UP_COLUMNS)


def one_less_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a shift and figure: paired difference with one person less, ranges holding all at once at 95 %."""
    import pandas as pd

    rows = [
        (less.shift, key, found.mean, found.low, found.high, found.n)
        for less in study.one_less
        for key, found in less.differences.items()
    ]
    return pd.DataFrame(rows, columns=ONE_LESS_COLUMNS).astype({"low": float, "high": float})


def crews_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a size of crew and season: its sign-ups there, and what it brings over the year."""
    import pandas as pd

    rows = [
        (name, season, places, rung.hours, rung.orders, rung.on_time, rung.kg, rung.years)
        for name, rung in study.named_rungs()
        for season, places in enumerate(rung.places, start=1)
    ]
    return pd.DataFrame(rows, columns=CREW_COLUMNS)


def late_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a size of crew and task: share of its jobs that are late."""
    import pandas as pd

    rows = [(name, rung.hours, task, share) for name, rung in study.named_rungs() for task, share in rung.late.items()]
    return pd.DataFrame(rows, columns=LATE_COLUMNS)


def seasons_frame(study: CrewStudy) -> pd.DataFrame:
    """One row a season and figure: what it gives, with an ample crew, and the floor it must keep by itself."""
    import pandas as pd

    rows = [
        (number, " ".join(str(month + 1) for month in each.season.months), sum(each.sign_up), each.low, each.high,
         each.hard, key, *found, each.with_ample.get(key, (None,))[0], each.floor if key == ORDERS else None)
        for number, each in enumerate(study.seasons, start=1)
        for key, found in each.values.items()
    ]  # fmt: skip
    frame = pd.DataFrame(rows, columns=SEASON_COLUMNS)
    return frame.astype({"mean": float, "low": float, "high": float, "with_ample": float, "floor": float})
