"""What a learned figure means for the room, to first order: kilograms a week or hours of work a week.

Each figure alone is put into the room on paper (`scenario/on_paper.py`: steady state, no luck) in place of what the
room file says; the difference is its effect. Nothing is rehearsed, so an effect is "about" and figures together bring a
little more or less than their sum. Exact only in that room on paper:

- seeds, losses in moving: plants that reach the knife, so kilograms. Mass of a plant: kilograms in proportion.
- days to typical mass: the same shelves give kilograms in inverse proportion to the days, where they are full.
- minutes of a task: with the number of tasks the plan asks for, hours of work.
- chance of coming: with the people signed up and the hours of their shifts, labor hours; the months that lie clear
  of the room file together, averaged over the year.
- life and repair of machines, power outages: the share of the time they are down, as if nothing grew meanwhile under
  the share of the room they serve. Plants that die come on top: that is what `growsim outage` is for.

How much sowings differ (the spreads) changes no average and has no effect here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.equipment import Reliability
from growsim.scenario.machines import coming, machines_of
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.learn.learned import Learned
from growsim.study.learn.machines import alike
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.machines import BY_KEY

SMALL = 0.01  # an effect below this share of the room's kilograms or hours leads no answer
KILOGRAMS, WORK, HANDS = "kg", "hours of work", "labor hours"


@dataclass(frozen=True)
class Effect:
    """What one figure (of people: several months together) means a week.

    kind: KILOGRAMS, WORK or HANDS. change: with the learned figure, against the room file's; low, high: at the ends of
    the range that holds eight in ten. share: of the room's own kilograms or hours, without sign.
    """

    figures: tuple[Learned, ...]
    kind: str
    change: float
    low: float
    high: float
    share: float

    @property
    def is_small(self) -> bool:
        """Whether it is too small to matter to whoever runs the room."""
        return self.share < SMALL

    @property
    def is_clear(self) -> bool:
        """Whether the record moves its figure clear of the room file."""
        return any(figure.is_clear for figure in self.figures)


def effects_of(figures: Sequence[Learned], scenario: Scenario) -> list[Effect]:
    """The effects of all figures that records speak of, the largest first. scenario: the room as its file has it."""
    told = [figure for figure in figures if figure.records and figure.group not in ("spreads", "people")]
    found = [effect for figure in told if (effect := _effect_of(figure, scenario)) is not None]
    people = _of_people([figure for figure in figures if figure.group == "people" and figure.records], scenario)
    found += [people] if people is not None else []
    return sorted(found, key=lambda effect: (-effect.share, effect.figures[0].key))


def together(effects: Sequence[Effect]) -> Effect | None:
    """Kilograms of all figures taken in at once: the sum, each figure in doubt by itself; None without kilograms."""
    here = [effect for effect in effects if effect.kind == KILOGRAMS]
    if not here:
        return None
    change = math.fsum(effect.change for effect in here)
    low = change - math.hypot(*(effect.change - effect.low for effect in here))
    high = change + math.hypot(*(effect.change - effect.high for effect in here))
    share = math.fsum(math.copysign(effect.share, effect.change) for effect in here)
    figures = tuple(figure for effect in here for figure in effect.figures)
    return Effect(figures, KILOGRAMS, change, low, high, abs(share))


def _effect_of(figure: Learned, scenario: Scenario) -> Effect | None:
    reckon = _KINDS[figure.group](figure, scenario)
    if reckon is None:
        return None
    kind = WORK if figure.group == "minutes" else KILOGRAMS
    base = on_paper.work_hours_per_week(scenario) if kind == WORK else kg_a_week(scenario)
    return _effect((figure,), kind, base, *(reckon(value) for value in _values(figure)))


def _values(figure: Learned) -> tuple[float, float, float]:
    return figure.after.middle, figure.after.low, figure.after.high


def _effect(figures: tuple[Learned, ...], kind: str, base: float, at: float, one: float, two: float) -> Effect:
    low, high = sorted((one, two))
    return Effect(figures, kind, at, low, high, abs(at) / base if base > 0 else 0.0)


Reckoning = Callable[[float], float]


def kg_a_week(scenario: Scenario) -> float:
    """Kilograms a week on paper."""
    return math.fsum(line.kg for line in on_paper.weekly_plan(scenario))


def _of_seeds(figure: Learned, scenario: Scenario) -> Reckoning | None:
    return _of_crop(figure, scenario, lambda crop, value: {"germination_fraction": Uncertain(value=min(1.0, value))})


def _of_mass(figure: Learned, scenario: Scenario) -> Reckoning | None:
    return _of_crop(figure, scenario, lambda crop, value: {"typical_mass_g": Uncertain(value=value)})


def _of_losses(figure: Learned, scenario: Scenario) -> Reckoning | None:
    """Losses of all moves together, shared out over the moves as `learn` does it."""

    def changed(crop: Crop, value: float) -> dict[str, object]:
        moves = [stage for stage in crop.stages if stage.after]
        expected = [stage.loss_fraction.expected() for stage in moves]
        total = math.fsum(expected)
        parts = {
            stage.name: value * (part / total if total > 0 else 1 / len(moves))
            for stage, part in zip(moves, expected, strict=True)
        }
        stages = tuple(
            stage.model_copy(update={"loss_fraction": Uncertain(value=min(1.0, parts[stage.name]))})
            if stage.name in parts
            else stage
            for stage in crop.stages
        )
        return {"stages": stages}

    return _of_crop(figure, scenario, changed)


def _of_crop(
    figure: Learned, scenario: Scenario, changed: Callable[[Crop, float], dict[str, object]]
) -> Reckoning | None:
    """Kilograms a week with the crop's figure at a value, less those with it at the room file's."""

    def kilograms(value: float) -> float:
        crops = tuple(
            crop.model_copy(update=changed(crop, value)) if crop.name == figure.what else crop
            for crop in scenario.crops
        )
        return kg_a_week(scenario.model_copy(update={"crops": crops}))

    return lambda value: kilograms(value) - kilograms(figure.stated)


def _of_days(figure: Learned, scenario: Scenario) -> Reckoning | None:
    kilograms = math.fsum(line.kg for line in on_paper.weekly_plan(scenario) if line.crop.name == figure.what)
    return lambda days: kilograms * (figure.stated / max(days, 1e-9) - 1.0)


def _of_minutes(figure: Learned, scenario: Scenario) -> Reckoning | None:
    """Hours with the task's minutes, those of getting ready among them, in proportion."""

    def hours(value: float) -> float:
        factor = value / figure.stated
        tasks = tuple(
            task.model_copy(
                update={
                    "fixed_minutes": Uncertain(value=factor * task.fixed_minutes.expected()),
                    "minutes_per_unit": Uncertain(value=factor * task.minutes_per_unit.expected()),
                }
            )
            if task.name == figure.what
            else task
            for task in scenario.crew.tasks
        )
        crew = scenario.crew.model_copy(update={"tasks": tasks})
        return on_paper.work_hours_per_week(scenario.model_copy(update={"crew": crew}))

    return (lambda value: hours(value) - hours(figure.stated)) if figure.stated > 0 else None


def _of_people(figures: Sequence[Learned], scenario: Scenario) -> Effect | None:
    """The months that lie clear of the room file together; all months with records where none does."""
    here = [figure for figure in figures if figure.is_clear] or list(figures)
    if not here:
        return None
    stated = on_paper.crew_hours_per_week(scenario)

    def hours(values: Sequence[float]) -> float:
        chances = list(scenario.crew.chance_of_coming)
        for figure, value in zip(here, values, strict=True):
            chances[MONTHS.index(figure.what)] = min(1.0, max(0.0, value))
        crew = scenario.crew.model_copy(update={"chance_of_coming": tuple(chances)})
        return on_paper.crew_hours_per_week(scenario.model_copy(update={"crew": crew})) - stated

    ends = zip(*(_values(figure) for figure in here), strict=True)
    return _effect(tuple(here), HANDS, stated, *(hours(values) for values in ends))


def _of_machines(figure: Learned, scenario: Scenario) -> Reckoning | None:
    """Kilograms in proportion to the share of time the machine is down. Its failures or its repair."""
    kind, _, what = figure.key.rpartition(".")
    if (comes := BY_KEY[kind].comes) is not None:
        a_year, each = coming(scenario, comes)
        return _still(figure, what != comes.hours, a_year / (365.25 * 24.0), each.expected(), scenario, 1.0)
    machines = [machine for machine in machines_of(scenario) if machine.kind == kind]
    groups = [group for group in alike(machines) if _states(group[0].reliability, what, figure.stated)]
    if not groups:
        return None
    group = groups[0]
    reliability, life = group[0].reliability, group[0].reliability.running_hours_to_failure
    lasts = reliability.repair_hours.expected()
    lasts += 0.0 if reliability.spares else 24.0 * reliability.delivery_days.expected()
    failures = group[0].share * group[0].count / life.expected() if life is not None else 0.0
    served = len(group) / len(machines)
    if what == "delivery_days":
        mending = reliability.repair_hours.expected()
        found = _still(figure, False, failures, lasts, scenario, served, lambda days: mending + 24.0 * days)
    else:
        found = _still(figure, what == "running_hours_to_failure", failures, lasts, scenario, served)
    return found


def _states(reliability: Reliability, what: str, stated: float) -> bool:
    figure = getattr(reliability, what)
    return figure is not None and math.isclose(figure.expected(), stated, rel_tol=1e-9)


def _still(
    figure: Learned,
    is_life: bool,
    failures: float,
    lasts: float,
    scenario: Scenario,
    served: float,
    hours_of: Reckoning = lambda hours: hours,
) -> Reckoning:
    """failures: an hour; lasts: hours each. A life stretches the time between them, repair the hours of each."""
    kilograms = served * kg_a_week(scenario)

    def share(value: float) -> float:
        often = failures * (figure.stated / value if is_life else 1.0)
        down = often * (lasts if is_life else hours_of(value))
        return down / (1.0 + down)

    return lambda value: kilograms * (share(figure.stated) - share(value))


_KINDS: dict[str, Callable[[Learned, Scenario], Reckoning | None]] = {
    "seeds": _of_seeds, "mass": _of_mass, "losses": _of_losses, "days": _of_days, "minutes": _of_minutes,
    "machines": _of_machines, "mending": _of_machines,
}  # fmt: skip
