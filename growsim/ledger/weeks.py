"""Weekly series of a replication: one value for each whole week of the window."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from growsim.ledger.catalogue import FATES
from growsim.ledger.events import (
    Cut,
    FloodMissed,
    HandedOut,
    Lost,
    MetersRead,
    OrderServed,
    Packed,
    ShiftHeld,
    Sown,
    TaskDone,
    TaskDue,
    ToppedUp,
    Wasted,
    Worked,
)
from growsim.units import MINUTES_PER_WEEK

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.spec.plan import RunPlan
    from growsim.spec.scenario import Scenario

FLOWS = (
    "plants_cut", "kg_cut", "kg_handed_out", "kg_to_partners", "kg_surplus", "kg_wasted", "kg_ordered", "servings",
    "crew_hours_worked", "crew_hours_needed", "crew_hours_present", "volunteers_came", "volunteers_signed_up",
    "tasks_done", "tasks_late", "litres", "floods_missed",
)  # fmt: skip


class _Weeks:
    """Adds amounts to the weeks they fall in; whatever falls outside the whole weeks is left out."""

    def __init__(self, weeks: int) -> None:
        self.weeks = weeks
        self.series: dict[str, list[float]] = {name: [0.0] * weeks for name in FLOWS}

    def add(self, name: str, week: int, amount: float) -> None:
        series = self.series.get(name)
        if series is None:
            series = self.series[name] = [0.0] * self.weeks
        series[week] += amount


def weekly_series(book: Book, scenario: Scenario, plan: RunPlan) -> dict[str, tuple[float, ...]]:
    """All series that ledger.outcome names."""
    weeks = _Weeks(plan.days // 7)
    for name in [crop.name for crop in scenario.crops]:
        for prefix in ("kg_cut", "plants_cut", "seeds_sown"):
            weeks.series[f"{prefix}:{name}"] = [0.0] * weeks.weeks
    for partner in scenario.partners:
        weeks.series[f"kg_to:{partner.name}"] = [0.0] * weeks.weeks
        weeks.series[f"kg_ordered:{partner.name}"] = [0.0] * weeks.weeks
    for fate in FATES:
        if fate != "cut":
            weeks.series[f"lost:{fate}"] = [0.0] * weeks.weeks
    short = _count(book, weeks, scenario.prices.wash_litres_per_tray)
    servings_per_kg = 1000.0 / scenario.harvest.serving_g
    weeks.series["servings"] = [kg * servings_per_kg for kg in weeks.series["kg_handed_out"]]
    weeks.series["orders_met"] = [0.0 if week in short else 1.0 for week in range(weeks.weeks)]
    _meters(book, weeks)
    _levels(book, scenario, weeks)
    return {name: tuple(series) for name, series in weeks.series.items()}


def _count(book: Book, weeks: _Weeks, wash_litres: float) -> set[int]:
    """Add every happening to its week; gives the weeks in which some order was not met in full."""
    end = weeks.weeks * MINUTES_PER_WEEK
    short: set[int] = set()
    for kind, count in _COUNTS.items():
        for record in book.of(kind):
            if 0 <= record.minute < end:
                count(record, record.minute // MINUTES_PER_WEEK, weeks.add)
    for due in book.of(TaskDue):
        if due.task == "wash" and 0 <= due.minute < end:
            weeks.add("litres", due.minute // MINUTES_PER_WEEK, due.units * wash_litres)
    for served in book.of(OrderServed):
        if served.grams_given < served.grams_ordered and 0 <= served.minute < end:
            short.add(served.minute // MINUTES_PER_WEEK)
    return short


Add = Callable[[str, int, float], None]


def _worked(record: Worked, week: int, add: Add) -> None:
    hours = (record.minute - record.began_minute) / 60.0
    add("crew_hours_worked", week, hours)
    add(f"crew_hours_worked:{record.task}", week, hours)


def _task_due(record: TaskDue, week: int, add: Add) -> None:
    add("crew_hours_needed", week, record.minutes / 60.0)


def _task_done(record: TaskDone, week: int, add: Add) -> None:
    add("tasks_done", week, 1.0)
    add(f"done:{record.task}", week, 1.0)
    if record.minute > record.due_minute or not record.finished:
        add("tasks_late", week, 1.0)
        add(f"late:{record.task}", week, 1.0)


def _lost(record: Lost, week: int, add: Add) -> None:
    add(f"lost:{record.cause}", week, record.plants)


def _cut(record: Cut, week: int, add: Add) -> None:
    add("plants_cut", week, record.plants)
    add(f"plants_cut:{record.crop}", week, record.plants)


def _packed(record: Packed, week: int, add: Add) -> None:
    add("kg_cut", week, record.grams / 1000.0)
    add(f"kg_cut:{record.crop}", week, record.grams / 1000.0)


def _handed_out(record: HandedOut, week: int, add: Add) -> None:
    kg = record.grams / 1000.0
    add("kg_handed_out", week, kg)
    add("kg_to_partners" if record.partner else "kg_surplus", week, kg)
    if record.partner:
        add(f"kg_to:{record.partner}", week, kg)


def _order_served(record: OrderServed, week: int, add: Add) -> None:
    add("kg_ordered", week, record.grams_ordered / 1000.0)
    add(f"kg_ordered:{record.partner}", week, record.grams_ordered / 1000.0)


def _sown(record: Sown, week: int, add: Add) -> None:
    add(f"seeds_sown:{record.crop}", week, record.seeds)


def _wasted(record: Wasted, week: int, add: Add) -> None:
    add("kg_wasted", week, record.grams / 1000.0)


def _topped_up(record: ToppedUp, week: int, add: Add) -> None:
    add("litres", week, record.added_ml / 1000.0)


def _shift_held(record: ShiftHeld, week: int, add: Add) -> None:
    add("crew_hours_present", week, (record.volunteer_minutes + record.lead_minutes) / 60.0)
    add("volunteers_came", week, record.came)
    add("volunteers_signed_up", week, record.signed_up)
    add(f"came:{record.shift}", week, record.came)
    add(f"signed_up:{record.shift}", week, record.signed_up)


def _flood_missed(record: FloodMissed, week: int, add: Add) -> None:
    add("floods_missed", week, 1.0)


_COUNTS: dict[type[Any], Callable[[Any, int, Add], None]] = {
    Worked: _worked,
    TaskDue: _task_due,
    TaskDone: _task_done,
    Lost: _lost,
    Cut: _cut,
    Packed: _packed,
    HandedOut: _handed_out,
    OrderServed: _order_served,
    Sown: _sown,
    Wasted: _wasted,
    ToppedUp: _topped_up,
    ShiftHeld: _shift_held,
    FloodMissed: _flood_missed,
}


def _meters(book: Book, weeks: _Weeks) -> None:
    """Electricity and the warmest air of each week, from the weekly readings (taken at week's end)."""
    kwh, warmest = [0.0] * weeks.weeks, [0.0] * weeks.weeks
    last: MetersRead | None = None
    for reading in book.of(MetersRead):
        if last is not None and reading.minute > 0:
            week = last.minute // MINUTES_PER_WEEK
            if 0 <= week < weeks.weeks:
                kwh[week] += total_kwh(reading) - total_kwh(last)
                warmest[week] = reading.warmest_c
        last = reading
    weeks.series["kwh"], weeks.series["air_temperature_max_c"] = kwh, warmest


def total_kwh(reading: MetersRead) -> float:
    """All electricity up to a reading."""
    return reading.kwh_lights + reading.kwh_pumps + reading.kwh_heat_pump + reading.kwh_fans


def _levels(book: Book, scenario: Scenario, weeks: _Weeks) -> None:
    """Slots in use by rack and stage, and slots free by rack: means over each week."""
    if weeks.weeks == 0:
        return
    used: dict[str, list[float]] = {rack.name: [0.0] * weeks.weeks for rack in scenario.racks}
    for key, level in book.levels.items():
        if key[0] == "slots":
            means = level.means(0, MINUTES_PER_WEEK, weeks.weeks)
            weeks.series[f"slots:{key[1]}:{key[2]}"] = means
            used[key[1]] = [a + b for a, b in zip(used[key[1]], means, strict=True)]
    for rack in scenario.racks:
        total = sum(shelves.total_slots for shelves in rack.shelves)
        weeks.series[f"slots_free:{rack.name}"] = [total - mean for mean in used[rack.name]]
