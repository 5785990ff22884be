"""Luck whose average is known: how far each year's was from it. What a year owes to it can be taken out of a mean.

Two kinds, both known exactly without rehearsing: figures in doubt, drawn once a replication from the range in the room
file, and how many people came more or fewer than the chances of coming would have it. The draws are opened again from
their named streams; nothing of the room is needed. (Failures and outages were measured too: tests/bench/MEASURED.md.)
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from statistics import NormalDist
from typing import NamedTuple

from growsim.chance import draws
from growsim.chance.streams import Luck
from growsim.ledger.outcome import Outcome
from growsim.scenario.calendar import Calendar, minute_of
from growsim.scenario.people import Crew
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.units import MINUTES_PER_WEEK
from growsim.vocabulary.tasks import TASKS

COMING = "parameter.crew.chance_of_coming"  # its own draw is a standard normal deviate
ATTENDANCE = "people who came"
_POINTS = 4000  # where the mean of a draw that is cut off is worked out
_NORMAL = NormalDist()


class InDoubt(NamedTuple):
    """A figure drawn once a replication. low, high: what the room cuts the draw off at. path: into the room's tables,
    lists by place."""

    stream: str
    figure: Uncertain
    low: float
    high: float
    path: tuple[str | int, ...]

    def drawn(self, luck: Luck) -> float:
        """What that replication has for it."""
        return min(self.high, max(self.low, luck.stream(self.stream).figure(self.figure)))


def known_luck(scenario: Scenario, seed: int, plan: RunPlan, outcomes: Sequence[Outcome]) -> dict[str, list[float]]:
    """Name -> for each outcome, a value whose mean over all rehearsed years is 0. Constant ones are left out."""
    years = [Luck(seed, outcome.replication) for outcome in outcomes]
    found: dict[str, list[float]] = {}
    for each in figures_in_doubt(scenario):
        mean = _mean_of_draw(each.figure, each.low, each.high)
        found[each.stream] = [each.drawn(luck) - mean for luck in years]
    moved = [0.0] * len(years)
    if any(scenario.crew.chance_doubt_sd):
        moved = found[COMING] = [luck.stream(COMING).deviation() for luck in years]
    shifts = list(_shifts_counted(scenario, plan))
    found[ATTENDANCE] = [
        math.fsum(outcome.weeks.get("volunteers_came", ())) - _expected_to_come(scenario.crew, shifts, deviate)
        for outcome, deviate in zip(outcomes, moved, strict=True)
    ]
    return {name: values for name, values in found.items() if min(values) < max(values)}


def figures_in_doubt(scenario: Scenario) -> Iterator[InDoubt]:
    """Every figure drawn once a replication that bears on the whole room.

    Hours to failure in doubt bear on a year in which something fails only, and are left out.
    """
    everything: list[InDoubt] = []
    for place, crop in enumerate(scenario.crops):
        of, at = f"parameter.{crop.name}", ("crops", place)
        everything += [
            InDoubt(f"{of}.germination_fraction", crop.germination_fraction, 0.0, 1.0, (*at, "germination_fraction")),
            InDoubt(f"{of}.typical_mass_g", crop.typical_mass_g, -math.inf, math.inf, (*at, "typical_mass_g")),
            InDoubt(f"{of}.growth_pace", crop.growth_pace, -math.inf, math.inf, (*at, "growth_pace")),
        ]
        everything += [
            InDoubt(
                f"{of}.{stage.name}.loss_fraction", stage.loss_fraction, 0.0, 1.0, (*at, "stages", i, "loss_fraction")
            )
            for i, stage in enumerate(crop.stages)
        ]
    everything += [
        InDoubt(
            f"parameter.{TASKS[task.name].luck}.minutes_factor", task.minutes_factor, -math.inf, math.inf,
            ("crew", "tasks", place, "minutes_factor"),
        )
        for place, task in enumerate(scenario.crew.tasks)
    ]  # fmt: skip
    return (each for each in everything if not each.figure.is_fixed)


class _At:
    """A stream that gives one uniform."""

    def __init__(self, u: float) -> None:
        self._u = u

    def random(self) -> float:
        """The uniform."""
        return self._u

    def betavariate(self, alpha: float, beta: float) -> float:
        """No such thing here: a beta figure's mean is known, and it is never cut off."""
        raise NotImplementedError


@lru_cache(maxsize=256)
def _mean_of_draw(figure: Uncertain, low: float, high: float) -> float:
    """The mean of a draw, cut off or not."""
    if figure.distribution == "beta":
        return figure.expected()
    if figure.at_least is None and figure.at_most is None and low == -math.inf and high == math.inf:
        return figure.expected()
    halfway = (draws.draw(figure, _At((step + 0.5) / _POINTS)) for step in range(_POINTS))
    return math.fsum(min(high, max(low, value)) for value in halfway) / _POINTS


def _shifts_counted(scenario: Scenario, plan: RunPlan) -> Iterator[tuple[int, int]]:
    """(month, people signed up) of every shift that ends in the counted weeks."""
    weeks = plan.days // 7
    calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
    for shift in scenario.crew.shifts:
        for day in range(calendar.first_on(shift.weekday, max(-7, -plan.lead_in_days)), 7 * weeks, 7):
            ends = minute_of(day, shift.start_hour + shift.hours)
            if 0 <= ends < weeks * MINUTES_PER_WEEK and not calendar.is_closed(day):
                month = calendar.month(day)
                yield month, shift.signed_up(month)


def _expected_to_come(crew: Crew, shifts: Sequence[tuple[int, int]], moved: float) -> float:
    """People to be expected at these shifts, where the chances of coming are moved by so many sds of their doubt."""
    doubt = crew.chance_doubt_sd or (0.0,) * 12
    chances = [
        _mean_of_cut_normal(min(1.0, max(0.0, chance + moved * sd)), crew.chance_spread_sd)
        for chance, sd in zip(crew.chance_of_coming, doubt, strict=True)
    ]
    return math.fsum(people * chances[month] for month, people in shifts)


def _mean_of_cut_normal(mean: float, sd: float) -> float:
    """Mean of a normal value cut to 0..1 (each end takes what lies beyond it)."""
    if sd == 0.0:
        return mean

    def above(limit: float) -> float:  # mean of max(0, value - limit)
        z = (mean - limit) / sd
        return sd * (z * _NORMAL.cdf(z) + _NORMAL.pdf(z))

    return above(0.0) - above(1.0)
