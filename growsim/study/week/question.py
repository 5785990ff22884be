"""What does the team do this week? The plan on paper, shift by shift, and how far luck moves it.

The tasks, their order and their counts come from living through the week once with luck switched off: the expected
number of people, at a practiced pace. How much work and how many kilograms the week may bring, and which orders are at
risk of falling short, comes from rehearsals. What must be in the cupboard for the weeks to come is reckoned on paper.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from growsim.errors import InputError
from growsim.ledger.events import Packed, Sown, ToppedUp
from growsim.ledger.outcome import Outcome
from growsim.run.deliveries import deliver_by_day
from growsim.run.intervals import mean_interval, quantiles
from growsim.run.prepare import prepare, prepare_room
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import trace_on_paper
from growsim.scenario.load import refuse_lacking
from growsim.scenario.orders import standing_orders
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.promised import ENOUGH_KG, SAFE
from growsim.study.today import GivenUp, days_without_sowing, given_up, room_today
from growsim.study.week.tasks import Line, lines_of_shifts
from growsim.vocabulary.questions import PLANNED_WEEKS

if TYPE_CHECKING:
    import pandas as pd

    from growsim.ledger.book import Book
    from growsim.scenario.crop import Crop
    from growsim.scenario.load import LoadedRoom
    from growsim.scenario.people import Shift
    from growsim.scenario.shelves import Today

WEEK_DAYS = 7
SUPPLY_WEEKS = 4


@dataclass(frozen=True)
class ShiftSheet:
    """One shift of the week. people: expected to come of those signed up, besides the lead. minutes: of work, on
    paper."""

    date: dt.date
    shift: Shift
    signed_up: int
    people: int
    lines: tuple[Line, ...]

    @property
    def minutes(self) -> int:
        """Person-minutes of work done in the shift, on paper."""
        return sum(line.minutes for line in self.lines)


@dataclass(frozen=True)
class PickUp:
    """A partner comes. orders: (crop, kg). at_risk: those of them that may well not be met in full."""

    date: dt.date
    hour: float
    partner: str
    orders: tuple[tuple[str, float], ...]
    at_risk: tuple[Shortfall, ...] = ()


@dataclass(frozen=True)
class Spread:
    """A figure of the week over rehearsals: its average with the 95 % range of it, and what eight weeks in ten
    bring."""

    mean: float
    mean_low: float | None
    mean_high: float | None
    p10: float
    p50: float
    p90: float
    n: int


@dataclass(frozen=True)
class WeekPlan:
    """The week from `monday` on. scenario: with day 0 at the room's start, or today where shelves were counted.

    counted: the morning of that count, None without one. days_without_sowing, given_up: what speaks against it being of
    that morning, and what in it was past its last day already (`study.today`).
    """

    scenario: Scenario
    monday: dt.date
    seed: int
    replications: int
    sheets: tuple[ShiftSheet, ...]
    pick_ups: tuple[PickUp, ...]
    supplies: tuple[Supply, ...]
    spreads: Mapping[str, Spread] = field(default_factory=dict)
    days: int = 0
    lead_in_days: int = 0
    counted: dt.date | None = None
    days_without_sowing: int = 0
    given_up: tuple[GivenUp, ...] = ()

    @property
    def at_risk(self) -> tuple[Shortfall, ...]:
        """Orders of the week met in full in fewer than 90 of 100 rehearsals, by date."""
        return tuple(short for each in self.pick_ups for short in each.at_risk)

    def to_frame(self) -> pd.DataFrame:
        """One row a line of work: date, shift, order, task, what, where, count, unit, minutes, lead_only."""
        import pandas as pd

        return pd.DataFrame(
            [
                {
                    "date": sheet.date.isoformat(), "shift": sheet.shift.name, "order": number, "task": line.task,
                    "crop": line.crop, "sown": line.sown, "where": line.where, "to": line.to, "count": line.count,
                    "unit": line.unit, "minutes": line.minutes, "lead_only": line.lead_only,
                }
                for sheet in self.sheets
                for number, line in enumerate(sheet.lines, 1)
            ]
        )  # fmt: skip


def week_plan(
    room: LoadedRoom,
    *,
    week: dt.date | None = None,
    today: Today | None = None,
    date: dt.date | None = None,
    seed: int,
    replications: int = PLANNED_WEEKS,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> WeekPlan:
    """The sheets of the week in which `week` falls (the first week of the room file where None).

    today, date: what stands on the shelves, and the morning of the count; without it the plan has been running for the
    room's warm-up. Raises InputError for a week before the room's start (or before the count), RoomFileError for a room
    without shifts, or with nothing that is sown or stands there.
    """
    refuse_lacking(room, plan=today is None or not (today.lots or today.cooler))
    scenario = room.scenario
    if today is not None:
        counted = date or scenario.room.start_date
        scenario = room_today(scenario, counted, today.lots)
    start = scenario.room.start_date
    wanted = week or start
    monday = wanted - dt.timedelta(days=wanted.weekday())
    first_day = (monday - start).days
    if first_day + 7 <= 0:
        raise InputError(
            f"--week: {wanted.isoformat()} is before {start.isoformat()}, the first day; give a later date, or "
            "set an earlier start_date in the room file."
        )
    days = first_day + 7 * SUPPLY_WEEKS
    if today is None:
        plan = RunPlan(days, scenario.rehearsal.warm_up_days, "filled")
    else:
        plan = RunPlan(days, 0, "shelves", today.lots, cooler=today.cooler)
    prepared = prepare(scenario)
    book = trace_on_paper(prepared, plan)
    lines = lines_of_shifts(book, scenario)
    sheets = tuple(
        _sheet(scenario, shift, monday + dt.timedelta(days=ahead), lines.get((first_day + ahead, shift.name), ()))
        for ahead in range(7)
        for shift in sorted(scenario.crew.shifts, key=lambda shift: shift.start_hour)
        if _is_held(scenario, shift, monday + dt.timedelta(days=ahead)) and first_day + ahead >= 0
    )
    with Rehearsers(workers, executor=executor, work=deliver_by_day) as rehearsers:
        until_then = RunPlan(max(7, first_day + 7), plan.warm_up_days, plan.start, plan.shelves, cooler=plan.cooler)
        outcomes = rehearsers.run({"": prepared}, seed, range(replications), until_then, progress)[""]
    return WeekPlan(
        scenario, monday, seed, replications, sheets,
        _pick_ups(scenario, monday, shortfalls(outcomes, scenario, until_then.days)),
        supplies_of(book, scenario, max(0, first_day) * 1440, days * 1440),
        _spreads([{name: series[-1] for name, series in outcome.weeks.items() if series} for outcome in outcomes]),
        until_then.days, until_then.lead_in_days, None if today is None else start,
        0 if today is None else days_without_sowing(today, room.scenario, start), given_up(prepared, plan),
    )  # fmt: skip


def due_on(room: LoadedRoom, date: dt.date, today: Today | None) -> tuple[ShiftSheet, ...]:
    """The sheets of the shifts of one day, on paper. today: what stands there that morning; None: what the plan has
    brought, running for the room's warm-up."""
    held = [shift for shift in room.scenario.crew.shifts if _is_held(room.scenario, shift, date)]
    if not held:
        return ()
    scenario = room_today(room.scenario, date, () if today is None else today.lots)
    if today is None:
        plan = RunPlan(1, scenario.rehearsal.warm_up_days, "filled")
    else:
        plan = RunPlan(1, 0, "shelves", today.lots, cooler=today.cooler)
    book = trace_on_paper(replace(prepare_room(room), scenario=scenario), plan)
    lines = lines_of_shifts(book, scenario)
    held.sort(key=lambda shift: shift.start_hour)
    return tuple(_sheet(scenario, shift, date, lines.get((0, shift.name), ())) for shift in held)


def _is_held(scenario: Scenario, shift: Shift, date: dt.date) -> bool:
    return _falls_on(scenario, date, shift.weekday) and shift.is_held(date.month - 1)


def this_week(scenario: Scenario, today: dt.date) -> dt.date | None:
    """Today, where it lies within the room's counted time; None (the first week, or that of a count) elsewhere."""
    start = scenario.room.start_date
    return today if start <= today < start + dt.timedelta(days=scenario.rehearsal.days) else None


def _falls_on(scenario: Scenario, date: dt.date, weekday: str) -> bool:
    names = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    return names[date.weekday()] == weekday and date not in scenario.room.closed_days


def _sheet(scenario: Scenario, shift: Shift, date: dt.date, lines: tuple[Line, ...]) -> ShiftSheet:
    signed_up = shift.signed_up(date.month - 1)
    chance = scenario.crew.chance_of_coming[date.month - 1]
    return ShiftSheet(date, shift, signed_up, int(signed_up * chance + 0.5), lines)


def _pick_ups(scenario: Scenario, monday: dt.date, at_risk: tuple[Shortfall, ...]) -> tuple[PickUp, ...]:
    found = []
    for ahead in range(7):
        date = monday + dt.timedelta(days=ahead)
        for partner in scenario.partners:
            orders = tuple((order.crop, order.kg) for order in partner.ordered_in(date.month) if partner.collects(date))
            if _falls_on(scenario, date, partner.weekday) and orders:
                short = tuple(each for each in at_risk if (each.date, each.partner) == (date, partner.name))
                found.append(PickUp(date, partner.hour, partner.name, orders, short))
    return tuple(sorted(found, key=lambda each: (each.date, each.hour, each.partner)))


def _spreads(weeks: list[dict[str, float]]) -> dict[str, Spread]:
    """Of the figures a team asks about, over the rehearsals of the one week."""
    spreads = {}
    for name in (
        "crew_hours_needed",
        "crew_hours_present",
        "volunteers_came",
        "kg_packed",
        "plants_harvested",
        "tasks_late",
    ):
        values = [week[name] for week in weeks if name in week]
        if values:
            mean, low, high = mean_interval(values)
            p10, p50, p90 = quantiles(values, (0.1, 0.5, 0.9))
            spreads[name] = Spread(mean, low, high, p10, p50, p90, len(values))
    return spreads


@dataclass(frozen=True)
class Shortfall:
    """An order at one pick-up that is met in full in fewer than 90 of 100 rehearsals.

    ordered: kg. short: kg missing on average in those rehearsals that miss any. times: how many do, of n; unripe: of
    these, those in which no plant of the crop came due for harvest that day.
    """

    date: dt.date
    partner: str
    crop: str
    ordered: float
    short: float
    times: int
    n: int
    unripe: int = 0

    @property
    def is_likely(self) -> bool:
        """Whether it is short more often than not."""
        return 2 * self.times > self.n


def shortfalls(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> tuple[Shortfall, ...]:
    """Orders at risk in the last seven of `days` rehearsed days, by date; what is missing most first within a day.

    outcomes: of `run.deliveries.deliver_by_day`. The same 90 of 100 as for a promise.
    """
    found = []
    for number, order in enumerate(standing_orders(scenario)):
        for ahead, ordered in enumerate(outcomes[0].weeks[f"asked_by_day:{number}"]):
            missing = [ordered - outcome.weeks[f"given_by_day:{number}"][ahead] for outcome in outcomes]
            short = [kg for kg in missing if kg > ENOUGH_KG]
            ripe = [outcome.weeks.get(f"ripe_by_day:{order.crop}", (1.0,) * WEEK_DAYS)[ahead] for outcome in outcomes]
            if (len(missing) - len(short)) / len(missing) < SAFE:
                date = scenario.room.start_date + dt.timedelta(days=days - WEEK_DAYS + ahead)
                mean = math.fsum(short) / len(short)
                unripe = sum(kg > ENOUGH_KG and not plants for kg, plants in zip(missing, ripe, strict=True))
                found.append(
                    Shortfall(date, order.partner, order.crop, ordered, mean, len(short), len(missing), unripe)
                )
    return tuple(sorted(found, key=lambda each: (each.date, -each.short)))


@dataclass(frozen=True)
class Supply:
    """So much of a thing. price: what that costs by the room's prices."""

    name: str
    amount: float
    unit: str
    price: float


def seed_of(crop: Crop, count: int) -> Supply:
    """Seed for so many as are counted as sown: seeds, or kilograms where it goes by weight."""
    name = f"seed of {crop.name}"
    if crop.seed_g_each is not None:
        return Supply(name, count * crop.seed_g_each / 1000.0, "kg", count * crop.seed_price)
    return Supply(name, count * crop.seeds_per_cell // crop.seeds_counted, "seeds", count * crop.seed_price)


def supplies_of(book: Book, scenario: Scenario, begin: int, end: int) -> tuple[Supply, ...]:
    """Supplies used in [begin, end) minutes of the log book. Whole seeds, plugs and liters."""
    prices, crops = scenario.prices, {crop.name: crop for crop in scenario.crops}
    seeds: dict[str, int] = {}
    plugs = 0
    for sown in book.of(Sown):
        if begin <= sown.minute < end:
            seeds[sown.crop] = seeds.get(sown.crop, 0) + sown.seeds
            plugs += 0 if crops[sown.crop].sown_by == "tray" else sown.cells
    liters = sum(topped.added_ml for topped in book.of(ToppedUp) if begin <= topped.minute < end) / 1000.0
    packed = sum(packed.grams for packed in book.of(Packed) if begin <= packed.minute < end) / 1000.0
    nutrient_kg = liters * prices.nutrient_g_per_l / 1000.0
    found = [seed_of(crops[crop], count) for crop, count in sorted(seeds.items())]
    return (
        *found,
        Supply("starter plugs", plugs, "plugs", plugs * prices.plug_each),
        Supply("dry nutrient", nutrient_kg, "kg", nutrient_kg * prices.nutrient_per_kg),
        Supply("water for the reservoirs", math.ceil(liters), "L", liters / 1000.0 * prices.water_per_m3),
        Supply("packing, for greens of", packed, "kg", packed * prices.packing_per_kg),
    )
