"""What an outage costs by the hours until it is repaired, by stage and by hour of the day: single outages, rehearsed.

Every case is the same short time twice, under the same luck: once as it is, once with the outage. Nothing else fails.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from growsim.ledger.aftermath import killed
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.calendar import Calendar
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.machines import undisturbed
from growsim.scenario.place import Rack
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.outage.trials import ALL, KgLoss, Loss, LossByHours, Strike, Trials
from growsim.study.pay_back import Range
from growsim.vocabulary.days import WEEKDAYS

FIRST_EVENT_DAY = 7
SEEN_AFTER_DAYS = 3  # beyond the longest outage: all that dries, overheats or freezes has been counted by then
AFTERMATH_DAYS = 21  # beyond the longest crop: until what the outage held up has been harvested and handed out
FILLED_AFTER_DAYS = 14  # beyond the longest crop: the room is as full as it will be
KG = "kg:handed out"


def runs_for(strikes: Sequence[Strike], trials: Trials) -> int:
    """Rehearsals that `losses_by_hours` will need, counted short ones and long ones alike."""
    months = len({strike.month for strike in strikes})
    cases = len(trials.start_hours) * len(trials.hours) * sum(strike.row.can_kill for strike in strikes)
    short = trials.plant_replications * (cases + 2 * months)
    return short + trials.kg_replications * (len(trials.hours) * len(strikes) + months)


def losses_by_hours(
    prepared: Prepared,
    strikes: Sequence[Strike],
    rehearsers: Rehearsers,
    seed: int,
    trials: Trials,
    shared: SharedProgress,
) -> LossByHours:
    """Rehearse every case."""
    losses: list[Loss] = []
    kilograms: list[KgLoss] = []
    for month in dict.fromkeys(strike.month for strike in strikes):
        room, day = _quiet_room(prepared.scenario, month)
        rehearse = _Rehearse(replace(prepared, scenario=room), rehearsers, seed, trials, shared, day)
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
        self, before: Prepared, rehearsers: Rehearsers, seed: int, trials: Trials, shared: SharedProgress, day: int
    ) -> None:
        self.before, self.rehearsers, self.seed, self.day = before, rehearsers, seed, day
        self.trials, self.shared = trials, shared
        self.room = before.scenario
        self.longest = max(crop.typical_days for crop in self.room.crops)
        self.warm_up = 7 * math.ceil((self.longest + FILLED_AFTER_DAYS) / 7)

    def plants(self, strikes: Sequence[Strike]) -> list[Loss]:
        """Plants lost, by hours, hour of the day and stage."""
        numbers = range(self.trials.plant_replications)
        cases = {
            (strike, start, hours): self._struck(strike, start, hours)
            for strike in strikes
            if strike.row.can_kill
            for start in self.trials.start_hours
            for hours in self.trials.hours
        }
        standing = self._run({"": self.before}, numbers, self.day)[""]
        lived = self._run(
            {"": self.before, **{str(place): case for place, case in enumerate(cases.values())}},
            numbers,
            self.day + math.ceil(max(self.trials.hours) / 24) + SEEN_AFTER_DAYS,
        )
        found: list[Loss] = []
        for place, (strike, start, hours) in enumerate(cases):
            found += _losses(self.room, strike, start, hours, standing, lived[""], lived[str(place)])
        for strike in strikes:
            if not strike.row.can_kill:
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
        plan = RunPlan(days, self.warm_up)
        return self.rehearsers.run(rooms, self.seed, numbers, plan, self.shared.more(len(rooms) * len(numbers)))

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
    racks = [rack.name for rack in room.racks if _is_struck(strike, rack)]
    found = []
    for stage in (ALL, *strike.stages):
        stages = strike.stages if stage == ALL else (stage,)
        stood = [math.fsum(_standing(outcome, rack, one) for rack in racks for one in stages) for outcome in standing]
        lost = [
            math.fsum(killed(after, one) - killed(before, one) for one in stages)
            for before, after in zip(as_it_is, struck, strict=True)
        ]
        shares = [min(1.0, gone / there) for gone, there in zip(lost, stood, strict=True) if there > 0]
        share = _share_range(shares) if shares else None
        found.append(Loss(strike, start, hours, stage, math.fsum(stood) / len(stood), share))
    return found


def _share_range(shares: Sequence[float]) -> Range:
    mean, low, high = mean_interval(shares)
    return Range(mean, None if low is None else max(0.0, low), None if high is None else min(1.0, high))


def _standing(outcome: Outcome, rack: str, stage: str) -> float:
    return outcome.aftermath.get(f"standing:{rack}:{stage}", 0.0)


def _is_struck(strike: Strike, rack: Rack) -> bool:
    return not strike.where or bool(getattr(rack, strike.row.place.rack) == strike.where)
