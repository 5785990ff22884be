"""What an outage costs by the hours until it is mended, by stage and by hour of the day: single outages, rehearsed.

Every case is the same short time twice, under the same luck: once as it is, once with the outage. Nothing else fails.
Floods that a dead timer or a leaking tub misses are those a dead pump misses, so the pump stands for all three.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from growsim.ledger.outcome import Outcome
from growsim.run.aftermath import killed
from growsim.run.intervals import mean_interval
from growsim.run.prepare import Prepared
from growsim.run.rehearsers import Rehearsers
from growsim.spec.calendar import Calendar
from growsim.spec.equipment import PlannedOutage
from growsim.spec.people import WEEKDAYS
from growsim.spec.place import Rack
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario
from growsim.study.counting import Counting
from growsim.study.outage_changes import undisturbed
from growsim.study.outage_clock import of_stage, times_left
from growsim.study.pay_back import Range

FIRST_EVENT_DAY = 7
SEEN_AFTER_DAYS = 6  # all that dries or overheats in an outage of 72 hours has been counted by then
AFTERMATH_DAYS = 21  # beyond the longest crop: until what the outage held up has been cut and handed out
FILLED_AFTER_DAYS = 14  # beyond the longest crop: the room is as full as it will be
ALL = ""  # every stage
KG = "kg:handed out"


@dataclass(frozen=True)
class Trials:
    """What is tried: hours until mended, hours of the day, and in how many replications.

    Plants lost hardly differ from one replication to the next; for kilograms the replications take turns with the hours
    of the day.
    """

    hours: tuple[float, ...] = (1.0, 2.0, 4.0, 8.0, 12.0, 24.0, 48.0, 72.0)
    start_hours: tuple[float, ...] = (0.0, 6.0, 12.0, 18.0)
    plant_replications: int = 4
    kg_replications: int = 8


@dataclass(frozen=True)
class Strike:
    """An outage to be tried. where: the tub or light bank that stands for `like_it` of its kind; "" for the room's own.
    month: 0 for January. stages: those that stand where it strikes."""

    machine: str
    where: str
    like_it: int
    month: int
    stages: tuple[str, ...]


@dataclass(frozen=True)
class Loss:
    """Plants that one outage costs, mended after `hours`, of those of one stage or of ALL.

    standing: plants that stood where it struck, on average. lost_share: share of them that dried or overheated; None
    where none stood there.
    """

    strike: Strike
    start_hour: float
    hours: float
    stage: str
    standing: float
    lost_share: Range | None


@dataclass(frozen=True)
class KgLoss:
    """Kilograms fewer handed out after one outage, until all is made up that can be; over all hours of the day."""

    strike: Strike
    hours: float
    kg: Range


@dataclass(frozen=True)
class LossByHours:
    """Every case that was rehearsed."""

    trials: Trials
    losses: tuple[Loss, ...]
    kilograms: tuple[KgLoss, ...]

    @property
    def strikes(self) -> tuple[Strike, ...]:
        """The outages tried, each once, in order."""
        return tuple(dict.fromkeys(loss.strike for loss in self.losses))

    def of(self, strike: Strike, stage: str = ALL) -> dict[tuple[float, float], Loss]:
        """(hours, start hour) -> loss, for one strike and stage."""
        return {
            (loss.hours, loss.start_hour): loss for loss in self.losses if loss.strike == strike and loss.stage == stage
        }

    def worst_share(self, strike: Strike, hours: float, stage: str = ALL) -> float | None:
        """Share of plants lost at the worst hour of the day; None where none stand there."""
        shares = [
            loss.lost_share.mean
            for (mended, _), loss in self.of(strike, stage).items()
            if mended == hours and loss.lost_share is not None
        ]
        return max(shares) if shares else None


def strikes_for(prepared: Prepared) -> tuple[Strike, ...]:
    """What to try: a pump and a light bank of each kind; the power in the month in which plants last least; the heat
    pump in such a month and in the coldest; CO2 where there is a supply."""
    scenario = prepared.scenario
    outdoor = scenario.room.outdoor_temperature_c
    warm, cold = outdoor.index(max(outdoor)), outdoor.index(min(outdoor))
    every = _stages_on(scenario, scenario.racks)
    found = [Strike("pump", *kind[:2], warm, kind[2]) for kind in _kinds(scenario, "tub")]
    found.append(Strike("power", "", 1, worst_month(prepared, "power"), every))
    heat = dict.fromkeys((worst_month(prepared, "heat pump"), cold))
    found += [Strike("heat pump", "", 1, month, every) for month in heat]
    found += [Strike("lights", *kind[:2], warm, kind[2]) for kind in _kinds(scenario, "lights")]
    if scenario.co2.supply_kg_per_day > 0 and scenario.co2.setpoint_ppm > scenario.co2.outdoor_ppm:
        found.append(Strike("co2", "", 1, warm, every))
    return tuple(found)


def worst_month(prepared: Prepared, machine: str) -> int:
    """Month in which the first plants die soonest, by the clock; the warmest of equals."""
    outdoor = prepared.scenario.room.outdoor_temperature_c

    def lasts(month: int) -> tuple[float, float]:
        _, first, _ = of_stage(times_left(prepared.scenario, prepared.curves, machine, month))
        return (math.inf if first.worst is None else first.worst, -outdoor[month])

    return min(range(12), key=lasts)


def kills(strike: Strike) -> bool:
    """Whether plants can die of it; in the dark and without extra CO2 they only grow more slowly, or not at all."""
    return strike.machine not in ("lights", "co2")


def runs_for(strikes: Sequence[Strike], trials: Trials) -> int:
    """Rehearsals that `losses_by_hours` will need, counted short ones and long ones alike."""
    months = len({strike.month for strike in strikes})
    cases = len(trials.start_hours) * len(trials.hours) * sum(kills(strike) for strike in strikes)
    short = trials.plant_replications * (cases + 2 * months)
    return short + trials.kg_replications * (len(trials.hours) * len(strikes) + months)


def losses_by_hours(
    prepared: Prepared,
    strikes: Sequence[Strike],
    rehearsers: Rehearsers,
    seed: int,
    trials: Trials,
    counting: Counting,
) -> LossByHours:
    """Rehearse every case. `rehearsers` must work by `run.aftermath.live_through`."""
    losses: list[Loss] = []
    kilograms: list[KgLoss] = []
    for month in dict.fromkeys(strike.month for strike in strikes):
        room, day = _quiet_room(prepared.scenario, month)
        rehearse = _Rehearse(replace(prepared, scenario=room), rehearsers, seed, trials, counting, day)
        here = [strike for strike in strikes if strike.month == month]
        losses += rehearse.plants(here)
        kilograms += rehearse.kilograms(here)
    order = {strike: place for place, strike in enumerate(strikes)}
    losses.sort(key=lambda loss: (order[loss.strike], loss.start_hour, loss.hours))
    kilograms.sort(key=lambda loss: (order[loss.strike], loss.hours))
    return LossByHours(trials, tuple(losses), tuple(kilograms))


class _Rehearse:
    """The cases of one month: the room with nothing failing, and the outages that are made to happen on `day`."""

    def __init__(
        self, before: Prepared, rehearsers: Rehearsers, seed: int, trials: Trials, counting: Counting, day: int
    ) -> None:
        self.before, self.rehearsers, self.seed, self.day = before, rehearsers, seed, day
        self.trials, self.counting = trials, counting
        self.room = before.scenario
        self.longest = max(crop.typical_days for crop in self.room.crops)
        self.run_in = 7 * math.ceil((self.longest + FILLED_AFTER_DAYS) / 7)

    def plants(self, strikes: Sequence[Strike]) -> list[Loss]:
        """Plants lost, by hours, hour of the day and stage."""
        numbers = range(self.trials.plant_replications)
        cases = {
            (strike, start, hours): self._struck(strike, start, hours)
            for strike in strikes
            if kills(strike)
            for start in self.trials.start_hours
            for hours in self.trials.hours
        }
        standing = self._run({"": self.before}, numbers, self.day)[""]
        lived = self._run(
            {"": self.before, **{str(place): case for place, case in enumerate(cases.values())}},
            numbers,
            self.day + SEEN_AFTER_DAYS,
        )
        found: list[Loss] = []
        for place, (strike, start, hours) in enumerate(cases):
            found += _losses(self.room, strike, start, hours, standing, lived[""], lived[str(place)])
        for strike in strikes:
            if not kills(strike):
                found += [
                    loss
                    for hours in self.trials.hours
                    for loss in _losses(
                        self.room, strike, self.trials.start_hours[0], hours, standing, lived[""], lived[""]
                    )
                ]
        return found

    def kilograms(self, strikes: Sequence[Strike]) -> list[KgLoss]:
        """Kilograms fewer, by hours; the replications take turns with the hour of the day."""
        days = self.day + 7 * math.ceil((self.longest + AFTERMATH_DAYS) / 7)
        cases = [(strike, hours) for strike in strikes for hours in self.trials.hours]
        fewer: list[list[float]] = [[] for _ in cases]
        starts = self.trials.start_hours
        for turn, start in enumerate(starts):
            numbers = range(turn, self.trials.kg_replications, len(starts))
            rooms = {str(place): self._struck(strike, start, hours) for place, (strike, hours) in enumerate(cases)}
            lived = self._run({"": self.before, **rooms}, numbers, days)
            for place, kilograms in enumerate(fewer):
                kilograms += [
                    before.accounts[KG] - after.accounts[KG]
                    for before, after in zip(lived[""], lived[str(place)], strict=True)
                ]
        return [
            KgLoss(strike, hours, Range(*mean_interval(kilograms)))
            for (strike, hours), kilograms in zip(cases, fewer, strict=True)
        ]

    def _run(self, rooms: Mapping[str, Prepared], numbers: range, days: int) -> dict[str, list[Outcome]]:
        plan = RunPlan(days, self.run_in)
        return self.rehearsers.run(rooms, self.seed, numbers, plan, self.counting.more(len(rooms) * len(numbers)))

    def _struck(self, strike: Strike, start_hour: float, hours: float) -> Prepared:
        outage = PlannedOutage.model_validate(
            {
                "name": "tried",
                "machine": strike.machine,
                "where": strike.where,
                "start_day": self.day,
                "start_hour": start_hour,
                "hours": hours,
            }
        )
        return replace(self.before, scenario=self.room.model_copy(update={"outages": (outage,)}))


def _quiet_room(scenario: Scenario, month: int) -> tuple[Scenario, int]:
    """The room with nothing failing, begun so that the outage falls into the middle of that month, on a day without a
    shift where there is one (so that what stands in the morning still stands there when it strikes); and that day."""
    room = scenario.room
    middle = dt.date(room.start_date.year, month + 1, 15)
    if middle < room.start_date:
        middle = dt.date(room.start_date.year + 1, month + 1, 15)
    worked = {shift.weekday for shift in scenario.crew.shifts}
    start = middle - dt.timedelta(days=FIRST_EVENT_DAY)
    calendar = Calendar(start)
    ahead = range(FIRST_EVENT_DAY, FIRST_EVENT_DAY + 7)
    day = next((day for day in ahead if WEEKDAYS[calendar.weekday(day)] not in worked), FIRST_EVENT_DAY)
    return undisturbed(scenario.model_copy(update={"room": room.model_copy(update={"start_date": start})})), day


def _losses(
    room: Scenario,
    strike: Strike,
    start: float,
    hours: float,
    standing: Sequence[Outcome],
    as_it_is: Sequence[Outcome],
    struck: Sequence[Outcome],
) -> list[Loss]:
    """The losses of one case, of all stages first, then stage by stage."""
    racks = [rack.name for rack in room.racks if _is_struck(strike, rack.tub, rack.lights)]
    found = []
    for stage in (ALL, *strike.stages):
        stages = strike.stages if stage == ALL else (stage,)
        stood = [sum(_standing(outcome, rack, one) for rack in racks for one in stages) for outcome in standing]
        lost = [
            sum(killed(after, one) - killed(before, one) for one in stages)
            for before, after in zip(as_it_is, struck, strict=True)
        ]
        shares = [min(1.0, gone / there) for gone, there in zip(lost, stood, strict=True) if there > 0]
        share = _share_range(shares) if shares else None
        found.append(Loss(strike, start, hours, stage, sum(stood) / len(stood), share))
    return found


def _share_range(shares: Sequence[float]) -> Range:
    mean, low, high = mean_interval(shares)
    return Range(mean, None if low is None else max(0.0, low), None if high is None else min(1.0, high))


def _standing(outcome: Outcome, rack: str, stage: str) -> float:
    return outcome.accounts.get(f"plants:standing:{rack}:{stage}", 0.0)


def _is_struck(strike: Strike, tub: str, lights: str) -> bool:
    return strike.where in ("", tub if strike.machine == "pump" else lights)


def _kinds(scenario: Scenario, key: str) -> list[tuple[str, int, tuple[str, ...]]]:
    """Tubs or light banks that serve the same stages: the first of each kind, how many there are, the stages."""
    kinds: dict[tuple[str, ...], list[str]] = {}
    for name in dict.fromkeys(getattr(rack, key) for rack in scenario.racks):
        racks = [rack for rack in scenario.racks if getattr(rack, key) == name]
        kinds.setdefault(_stages_on(scenario, racks), []).append(name)
    return [(members[0], len(members), stages) for stages, members in kinds.items()]


def _stages_on(scenario: Scenario, racks: Sequence[Rack]) -> tuple[str, ...]:
    """Stages that may stand on these racks, in the order crops go through them."""
    may = {stage for rack in racks for group in rack.shelves if group.total_slots for stage in group.stages}
    names = dict.fromkeys(stage.name for crop in scenario.crops for stage in crop.stages_in_order())
    return tuple(name for name in names if name in may)
