"""The year's risk, machine by machine, and what each protection is worth: whole years under shared luck.

A machine's risk is the year in which it cannot fail less the year as it is. A protection's worth is the year with it
less the year without it. Both in kilograms handed out, in plants that drought, heat or cold killed, and in money:
kilograms at what one costs to grow in the room as it is, less what the year costs more.
Ranges hold for all lines of a table at once.

All of it is compared in the weeks from an outage (on either side) until the plants that stood through it have been
handed out. What differs later is chance alone, with mean zero: an order served from another lot, a tray elsewhere. So
the other side's year is lived no further than that.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from growsim.ledger.aftermath import BY_OUTAGE
from growsim.ledger.measures import WEEKS_A_YEAR
from growsim.ledger.outcome import Outage, Outcome
from growsim.run.intervals import LEVEL, mean_interval
from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers, Wanted
from growsim.scenario.machines import can_fail, never_failing
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.outage.air import held_c
from growsim.study.outage.hours import AFTERMATH_DAYS
from growsim.study.outage.protections import Change, Protected, protections_for
from growsim.study.pay_back import Range
from growsim.units import MINUTES_PER_WEEK
from growsim.vocabulary.losses import LOSSES
from growsim.vocabulary.machines import CAN_FAIL, MachineKind

BEST_FEW = 3  # protections that are also tried in pairs
FIGURES = 3  # kilograms, plants, money
KG, COST = "kg_handed_out", "cost"
KILLED = tuple(loss.series for loss in LOSSES if loss.key in BY_OUTAGE)


@dataclass(frozen=True)
class Worth:
    """What one side of a comparison gives more in a year, on average and with its range.

    money: in the room's currency, the price of a protection not counted. years_alike: replications in which nothing
    that it is about failed, so that both sides are the same year.
    """

    kg: Range
    plants: Range
    money: Range
    years_alike: int
    years: int


@dataclass(frozen=True)
class MachineRisk:
    """What is lost in a year because one kind of machine can fail.

    failures: times a year it goes down, all machines of the kind together. hours_down: how long each lasts, on average;
    None where none was repaired. years_with: replications with a failure, warm-up included.
    """

    machine: str
    failures: Range
    hours_down: float | None
    years_with: int
    lost: Worth


@dataclass(frozen=True)
class ProtectionWorth:
    """What one protection is worth in a year. net: money less its price a year; None where no price is known."""

    protection: Protected
    worth: Worth
    net: Range | None


@dataclass(frozen=True)
class PairWorth:
    """Two protections together. kg_alone: the sum of what each is worth by itself."""

    first: Protected
    second: Protected
    worth: Worth
    net: Range | None
    kg_alone: float


@dataclass(frozen=True)
class OutageYear:
    """The year as it is, the risk of each machine, the worth of each protection and of the best in pairs.

    protections: those to add first, each group by worth. value_per_kg: what a kilogram costs in the room as it is.
    """

    outcomes: tuple[Outcome, ...]
    value_per_kg: float
    machines: tuple[MachineRisk, ...]
    protections: tuple[ProtectionWorth, ...]
    pairs: tuple[PairWorth, ...]


def runs_at_most(scenario: Scenario, replications: int) -> int:
    """Rehearsals that `outage_year` may need; years in which nothing fails are not lived through twice."""
    machines = sum(can_fail(scenario, row) for row in CAN_FAIL)
    protections = protections_for(scenario)
    few = min(BEST_FEW, sum(protection.is_added for protection in protections))
    return replications * (1 + machines + len(protections) + few * (few - 1) // 2)


def outage_year(
    prepared: Prepared,
    rehearsers: Rehearsers,
    seed: int,
    as_it_is: Sequence[Outcome],
    plan: RunPlan,
    shared: SharedProgress,
) -> OutageYear:
    """Rehearse it all. as_it_is: the room's years, numbered from 0."""
    year = _Year(prepared, rehearsers, seed, as_it_is, plan, shared)
    scenario = prepared.scenario
    failing = [row for row in CAN_FAIL if can_fail(scenario, row)]
    level = joint_level(len(failing))
    machines = tuple(year.risk_of(row, level) for row in failing)
    protections = [_touching(scenario, each) for each in protections_for(scenario)]
    level = joint_level(len(protections))
    weighed = [year.weigh(protection, level) for protection in protections]
    weighed.sort(key=lambda each: (not each.protection.is_added, -_rank(each)))
    best = [each for each in weighed if each.protection.is_added and each.worth.kg.mean > 0][:BEST_FEW]
    level = joint_level(math.comb(len(best), 2))
    pairs = [year.pair(first, second, level) for first, second in combinations(best, 2)]
    pairs.sort(key=lambda pair: -(pair.worth.money if pair.net is None else pair.net).mean)
    return OutageYear(tuple(year.as_it_is), year.value_per_kg, machines, tuple(weighed), tuple(pairs))


def joint_level(lines: int) -> float:
    """Level of each range so that all of a table hold at once with 95 % (Bonferroni's inequality)."""
    return 1.0 - (1.0 - LEVEL) / max(1, lines * FIGURES)


class _Year:
    """The year as it is, and others compared with it."""

    def __init__(
        self,
        prepared: Prepared,
        rehearsers: Rehearsers,
        seed: int,
        as_it_is: Sequence[Outcome],
        plan: RunPlan,
        shared: SharedProgress,
    ) -> None:
        self.prepared, self.rehearsers, self.seed, self.plan, self.shared = (
            prepared, rehearsers, seed, plan, shared,
        )  # fmt: skip
        self.as_it_is, self.replications = as_it_is, len(as_it_is)
        longest = max(crop.typical_days for crop in prepared.scenario.crops)
        self.weeks_after = math.ceil((longest + AFTERMATH_DAYS) / 7)
        self.alone: dict[Protected, list[Outcome]] = {}  # the years with each protection that can be added
        kilograms = math.fsum(outcome.accounts["kg:handed out"] for outcome in self.as_it_is)
        cost = math.fsum(outcome.measures["cost_per_week"] * plan.days / 7.0 for outcome in self.as_it_is)
        self.value_per_kg = cost / kilograms if kilograms > 0 else 0.0

    def risk_of(self, row: MachineKind, level: float) -> MachineRisk:
        """What is lost because that kind of machine can fail."""
        years = self.plan.days / 7.0 / WEEKS_A_YEAR
        down = [[each for each in year.counted_outages if each.machine == row.key] for year in self.as_it_is]
        failures = [len(each) / years for each in down]
        spells = [
            (outage.repaired_minute - outage.down_minute) / 60.0
            for of_year in down
            for outage in of_year
            if outage.repaired_minute is not None
        ]
        touched = frozenset({row.key})
        again = self._touched(touched)
        without = self.changed(lambda scenario: never_failing(scenario, row), again)
        return MachineRisk(
            row.key,
            Range(*mean_interval(failures)),
            math.fsum(spells) / len(spells) if spells else None,
            len(again),
            self.worth(without, self.as_it_is, touched, level),
        )

    def weigh(self, protection: Protected, level: float) -> ProtectionWorth:
        """The year with a protection against the year without it."""
        other = self.changed(protection.change, self._touched(protection.touches, protection.in_any_year))
        if protection.is_added:
            self.alone[protection] = other
        having, lacking = (other, self.as_it_is) if protection.is_added else (self.as_it_is, other)
        worth = self.worth(having, lacking, protection.touches, level)
        return ProtectionWorth(protection, worth, _net(worth, protection.cost_per_year))

    def pair(self, first: ProtectionWorth, second: ProtectionWorth, level: float) -> PairWorth:
        """Two protections added together."""
        one, two = first.protection, second.protection
        touched = None if one.touches is None or two.touches is None else one.touches | two.touches
        known = self._pairs_known(one, two)
        again = self._touched(touched, one.in_any_year or two.in_any_year)
        again = {number: weeks for number, weeks in again.items() if number not in known}
        lived = self.changed(lambda scenario: two.change(one.change(scenario)), again)
        both = [known.get(outcome.replication, outcome) for outcome in lived]
        worth = self.worth(both, self.as_it_is, touched, level)
        prices = (one.cost_per_year, two.cost_per_year)
        cost = None if None in prices else math.fsum(price for price in prices if price is not None)
        alone = first.worth.kg.mean + second.worth.kg.mean
        return PairWorth(one, two, worth, _net(worth, cost), alone)

    def _pairs_known(self, one: Protected, two: Protected) -> dict[int, Outcome]:
        """Replication -> the year with both, where one of them had nothing to act on in the year with the other."""
        known: dict[int, Outcome] = {}
        for today, with_one, with_two in zip(self.as_it_is, self.alone[one], self.alone[two], strict=True):
            if not may_act(two, today) and not may_act(two, with_one):  # with_one may end before two's outage
                known[today.replication] = with_one
            elif not may_act(one, today) and not may_act(one, with_two):
                known[today.replication] = with_two
        return known

    def changed(self, change: Change, again: Mapping[int, int]) -> list[Outcome]:
        """The changed room's years: lived through again in these replications, so many weeks of each; else the year as
        it is."""
        room, wanted = replace(self.prepared, scenario=change(self.prepared.scenario)), {}
        for weeks in sorted(set(again.values()) - {0}):
            numbers = [number for number, its_weeks in again.items() if its_weeks == weeks]
            days = self.plan.days if weeks == self.plan.days // 7 else 7 * weeks
            wanted[str(weeks)] = Wanted(room, numbers, replace(self.plan, days=days))
        years = sum(weeks > 0 for weeks in again.values())
        self.shared.spare(self.replications - years)
        found = self.rehearsers.live(wanted, self.seed, self.shared.more(years))
        lived = {outcome.replication: outcome for outcomes in found.values() for outcome in outcomes}
        return [lived.get(outcome.replication, outcome) for outcome in self.as_it_is]

    def worth(
        self,
        having: Sequence[Outcome],
        lacking: Sequence[Outcome],
        touches: frozenset[str] | None,
        level: float,
    ) -> Worth:
        """What `having` gives more than `lacking`, a year."""
        a_year = WEEKS_A_YEAR / (self.plan.days / 7.0)
        both = [(pair, self._weeks_compared(pair, touches)) for pair in zip(having, lacking, strict=True)]

        def more(series: Sequence[str]) -> list[float]:
            """So much more of them all, a year."""
            return [
                a_year * math.fsum(with_it.weeks[name][week] - without.weeks[name][week] for name in series
                                   for week in weeks)
                for (with_it, without), weeks in both
            ]  # fmt: skip

        kg, plants = more([KG]), [-killed for killed in more(KILLED)]
        money = [self.value_per_kg * more - dearer for more, dearer in zip(kg, more([COST]), strict=True)]
        ranges = [Range(*mean_interval(values, level)) for values in (kg, plants, money)]
        alike = self.replications - len(self._touched(touches))
        return Worth(ranges[0], ranges[1], ranges[2], alike, self.replications)

    def _weeks_compared(self, sides: Sequence[Outcome], touches: frozenset[str] | None) -> list[int]:
        """The weeks in which an outage on either side may show, of those that both were lived through."""
        weeks = min(len(side.weeks[KG]) for side in sides)
        if touches is None:
            return list(range(weeks))
        shown = {
            week
            for side in sides
            for outage in side.outages
            if outage.machine in touches
            for week in weeks_shown(outage, self.weeks_after, weeks)
        }
        return sorted(shown)

    def _touched(self, touches: frozenset[str] | None, in_any_year: bool = False) -> dict[int, int]:
        """Replication -> counted weeks until an outage of these shows no more, where there is one."""
        found = {}
        for outcome in self.as_it_is:
            if touches is None or in_any_year:
                found[outcome.replication] = len(outcome.weeks[KG])
            elif any(outage.machine in touches for outage in outcome.outages):
                found[outcome.replication] = max(self._weeks_compared([outcome], touches), default=-1) + 1
        return found


def may_act(protection: Protected, outcome: Outcome) -> bool:
    """Whether a protection, added to the room of that year, could have changed it: something it is about failed."""
    touches = protection.touches
    return touches is None or protection.in_any_year or any(outage.machine in touches for outage in outcome.outages)


def weeks_shown(outage: Outage, weeks_after: int, weeks: int) -> range:
    """Weeks of the counted time in which an outage may show: from its own to so many after its end."""
    first = outage.down_minute // MINUTES_PER_WEEK
    last = weeks if outage.repaired_minute is None else outage.repaired_minute // MINUTES_PER_WEEK + weeks_after
    return range(max(0, first), min(weeks, last + 1))


def _net(worth: Worth, cost_per_year: float | None) -> Range | None:
    if cost_per_year is None:
        return None
    money = worth.money
    return Range(
        money.mean - cost_per_year,
        None if money.low is None else money.low - cost_per_year,
        None if money.high is None else money.high - cost_per_year,
    )


def _rank(each: ProtectionWorth) -> float:
    return (each.worth.money if each.net is None else each.net).mean


def _touching(scenario: Scenario, protection: Protected) -> Protected:
    """A thermostat may act in any year where the heat pump, though it works, is too weak."""
    if protection.name != "thermostat":
        return protection
    outdoor = scenario.room.outdoor_temperature_c
    warmest = held_c(scenario, outdoor.index(max(outdoor)))
    settings = [
        scenario.climate.lights_off_above_c,
        protection.setting,
        *(crop.heat_limit_c for crop in scenario.crops),
    ]
    harmless = min(setting for setting in settings if setting is not None)
    return protection if warmest <= harmless else replace(protection, touches=None)
