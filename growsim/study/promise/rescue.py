"""What would save a delivery at risk: things one can do this week, each tried in the same rehearsals.

One more helper on a shift, greens kept for as long as they keep, one more sheet sown now or every week from now (where
it ripens in time), a further harvest day, another partner served first. Each is a CHANGE to the room file, so that it
can be tried and kept by itself.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.scenario import on_paper
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import standing_orders
from growsim.scenario.scenario import Scenario
from growsim.study.promised import ENOUGH_KG, SAFE, Delivery
from growsim.study.to_try import Trial, harvest_days, kept_longer, more_on, shift_words
from growsim.vocabulary.days import WEEKDAY_NAMES, WEEKDAYS

SOONEST = 0.85  # of its typical days, after which a quick lot may be harvested
DOUBT = 0.05
LITTLE = 0.05  # of the deliveries at risk: to meet fewer of them is not advised, however certain


@dataclass(frozen=True)
class Gain:
    """A mean over the rehearsed futures, with minus without, and its range (95 % for all actions together)."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class Rescue:
    """What one action, or several together, would bring.

    saves: deliveries no longer at risk. risks: deliveries at risk only now. met: deliveries met in full, more than
    without. kg: to partners in all the weeks, more than without. chances: delivery -> share of futures in which it is
    met in full. n: futures. at_risk: deliveries at risk without it.
    """

    actions: tuple[Trial, ...]
    saves: tuple[tuple[str, str, int], ...]
    risks: tuple[tuple[str, str, int], ...]
    met: Gain
    kg: Gain
    chances: dict[tuple[str, str, int], float] = field(hash=False)
    n: int
    at_risk: int = 0

    @property
    def name(self) -> str:
        """What to do, as one says it."""
        *others, last = (action.name for action in self.actions)
        return f"{', '.join(others)} and {last}" if others else last

    @property
    def helps(self) -> bool:
        """Whether more deliveries are met for certain (95 %, all actions together), and enough more to be advised."""
        return self.met.low > 0.0 and self.met.mean >= LITTLE * self.at_risk

    @property
    def rank(self) -> tuple[bool, int, float, float]:
        """Smaller is better: helps for certain, deliveries saved less those put at risk, deliveries met, kilograms."""
        return not self.helps, len(self.risks) - len(self.saves), -self.met.mean, -self.kg.mean


def actions_for(room: Scenario, at_risk: Sequence[Delivery], weeks: int) -> tuple[Trial, ...]:
    """What can be done in this room (as it is today) for these deliveries."""
    if not at_risk:
        return ()
    days = harvest_days(room, without_lead=True)
    return (*_helpers(room), *kept_longer(room), *_sowings(room, at_risk, weeks), *days, *_priorities(room, at_risk))


def judge(
    actions: tuple[Trial, ...],
    before: Sequence[Outcome],
    after: Sequence[Outcome],
    deliveries: Sequence[Delivery],
    scenario: Scenario,
    tried: int,
) -> Rescue:
    """What the actions bring in the same futures. tried: how many are tried in all, for their joint range."""
    number_of = {(order.partner, order.crop): number for number, order in enumerate(standing_orders(scenario))}

    def met(outcome: Outcome, each: Delivery) -> bool:
        number = number_of[each.partner, each.crop]
        return outcome.weeks[f"order_given:{number}"][each.week] >= each.ordered - ENOUGH_KG

    n, level = len(after), 1.0 - DOUBT / max(1, tried)
    more_met = [
        sum(met(now, each) - met(then, each) for each in deliveries) for then, now in zip(before, after, strict=True)
    ]
    more_kg = [
        math.fsum(now.weeks["kg_to_partners"]) - math.fsum(then.weeks["kg_to_partners"])
        for then, now in zip(before, after, strict=True)
    ]
    was = {each.key: sum(met(outcome, each) for outcome in before) / n for each in deliveries}
    chances = {each.key: sum(met(outcome, each) for outcome in after) / n for each in deliveries}
    at_risk = {each.key for each in deliveries if each.is_at_risk}
    return Rescue(
        actions=actions,
        saves=tuple(key for key in at_risk_in_order(deliveries) if chances[key] >= SAFE and chances[key] > was[key]),
        risks=tuple(key for key in chances if key not in at_risk and chances[key] < SAFE and chances[key] < was[key]),
        met=_gain(more_met, level),
        kg=_gain(more_kg, level),
        chances=chances,
        n=n,
        at_risk=len(at_risk),
    )


def at_risk_in_order(deliveries: Sequence[Delivery]) -> list[tuple[str, str, int]]:
    """Deliveries at risk, the soonest first."""
    return [each.key for each in deliveries if each.is_at_risk]


def _gain(values: Sequence[float], level: float) -> Gain:
    mean, low, high = mean_interval(values, level)
    return Gain(mean, mean if low is None else low, mean if high is None else high)


def _helpers(room: Scenario) -> Iterator[Trial]:
    for shift in room.crew.shifts:
        yield Trial(f"one more helper on {shift_words(shift)}", "people", {"crew": {"shifts": [more_on(shift, 1)]}})


def _sowings(room: Scenario, at_risk: Sequence[Delivery], weeks: int) -> Iterator[Trial]:
    """A sheet more of each crop that would ripen before the last delivery at risk that could use it."""
    day = _next_shift(room)
    if day is None:
        return
    trays = on_paper.trays_by_name(room)
    weekday = WEEKDAYS[day.weekday()]
    end = room.room.start_date + dt.timedelta(weeks=weeks)
    for crop in room.crops:
        ready = day + dt.timedelta(days=SOONEST * crop.typical_days)
        wanted = [each for each in at_risk if each.crop in (crop.name, ANY_CROP) and each.date >= ready]
        if not wanted or ready >= end:
            continue
        tray = trays[crop.stages_in_order()[0].tray]
        line = {"crop": crop.name, "cells": tray.places, "weekday": weekday, "from_date": day}
        once = {**line, "name": f"more {crop.name}, {day}", "until_date": day}
        every = {**line, "name": f"more {crop.name} from {day}"}
        words = f"one {tray.name} more of {crop.name}"
        yield Trial(f"sowing {words} on {WEEKDAY_NAMES[day.weekday()]} {day.day} {day:%B}", "sow", {"sowing": [once]})
        if (wanted[-1].date - ready).days >= 7:
            yield Trial(f"sowing {words} every {WEEKDAY_NAMES[day.weekday()]}", "sow", {"sowing": [every]})


def _next_shift(room: Scenario) -> dt.date | None:
    closed = set(room.room.closed_days)
    days = {WEEKDAYS.index(shift.weekday) for shift in room.crew.shifts}
    coming = (room.room.start_date + dt.timedelta(days=ahead) for ahead in range(14))
    return next((day for day in coming if day.weekday() in days and day not in closed), None)


def _priorities(room: Scenario, at_risk: Sequence[Delivery]) -> Iterator[Trial]:
    """A partner served first, where another comes at the same hour and is not served after it anyway."""
    for partner in room.partners:
        if not any(each.partner == partner.name for each in at_risk):
            continue
        others = [p for p in room.partners if p.name != partner.name]
        rivals = [p for p in others if (p.weekday, p.hour) == (partner.weekday, partner.hour)]
        if any(rival.priority <= partner.priority for rival in rivals):
            behind = [{"name": p.name, "priority": min(99, p.priority + 1)} for p in others]
            change = {"partners": [{"name": partner.name, "priority": 0}, *behind]}
            yield Trial(f"serving {partner.name} first", "priority", change)


def best_first(found: Mapping[str, Rescue]) -> tuple[Rescue, ...]:
    """Ranked: what saves most deliveries first."""
    return tuple(sorted(found.values(), key=lambda rescue: (*rescue.rank, rescue.name)))
