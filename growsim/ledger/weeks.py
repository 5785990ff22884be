"""Weekly series of a replication: one value for each whole week of the window."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from growsim.ledger.accounts import paid_at_once
from growsim.ledger.events import (
    FloodMissed,
    HandedOut,
    Harvested,
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
from growsim.vocabulary.losses import LOSSES

if TYPE_CHECKING:
    from growsim.ledger.book import Book, WorkDue
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario

FLOWS: Final = (
    "plants_harvested", "kg_packed", "kg_handed_out", "kg_to_partners", "kg_surplus", "kg_wasted", "kg_ordered",
    "servings",
    "crew_hours_worked", "crew_hours_needed", "crew_hours_present", "volunteers_came", "volunteers_signed_up",
    "tasks_done", "tasks_late", "liters", "floods_missed",
)  # fmt: skip


class _Weeks:
    """Series of one value for each whole week; whatever falls outside the whole weeks is left out."""

    def __init__(self, weeks: int) -> None:
        self.weeks = weeks
        self.series: dict[str, list[float]] = {name: [0.0] * weeks for name in FLOWS}

    def of(self, name: str) -> list[float]:
        """The series of that name, at zero where it is new."""
        series = self.series.get(name)
        if series is None:
            series = self.series[name] = [0.0] * self.weeks
        return series


class _Each(dict[str, list[float]]):
    """Series by what they are of, found once and then at hand: of the tasks, of the crops."""

    def __init__(self, weeks: _Weeks, prefix: str) -> None:
        self._weeks, self._prefix = weeks, prefix

    def __missing__(self, name: str) -> list[float]:
        series = self[name] = self._weeks.of(f"{self._prefix}:{name}")
        return series


def weekly_series(book: Book, scenario: Scenario, plan: RunPlan) -> dict[str, tuple[float, ...]]:
    """All series that ledger.outcome names."""
    weeks = _Weeks(plan.days // 7)
    for name in [crop.name for crop in scenario.crops]:
        for prefix in ("kg_packed", "plants_harvested", "seeds_sown"):
            weeks.series[f"{prefix}:{name}"] = [0.0] * weeks.weeks
    for partner in scenario.partners:
        weeks.series[f"kg_to:{partner.name}"] = [0.0] * weeks.weeks
        weeks.series[f"kg_ordered:{partner.name}"] = [0.0] * weeks.weeks
    for loss in LOSSES:
        weeks.series[loss.series] = [0.0] * weeks.weeks
    short = _count(book, weeks, scenario.prices.wash_liters_per_tray)
    servings_per_kg = 1000.0 / scenario.harvest.serving_g
    weeks.series["servings"] = [kg * servings_per_kg for kg in weeks.series["kg_handed_out"]]
    weeks.series["orders_met"] = [0.0 if week in short else 1.0 for week in range(weeks.weeks)]
    _meters(book, weeks)
    _levels(book, scenario, weeks)
    weeks.series["cost"] = _cost(book, scenario, weeks)
    return {name: tuple(series) for name, series in weeks.series.items()}


def _count(book: Book, weeks: _Weeks, wash_liters: float) -> set[int]:
    """Add every happening to its week; gives the weeks in which some order was not met in full."""
    end = weeks.weeks * MINUTES_PER_WEEK
    for kind, count in _COUNTS.items():
        count(book.bare(kind, 0, end), weeks)
    liters, due = weeks.of("liters"), book.due(0, end)
    for minute, task, _, units, _, _, _ in due:
        if task == "wash":
            liters[minute // MINUTES_PER_WEEK] += units * wash_liters
    return {
        served.minute // MINUTES_PER_WEEK
        for served in book.between(OrderServed, 0, end)
        if served.grams_given < served.grams_ordered
    }


# Each of these takes all records of its kind at once: there are ten thousand, and a call for each would take longest.
# They are taken as the plain tuples they are, figure by figure as in ledger.events (work is bare: see ledger.book). It
# is quicker than by name, and most of all in machine code, which knows what each figure is.


def _worked(records: list[tuple[int, str, str, str, int, type]], weeks: _Weeks) -> None:
    hours, of_task = weeks.of("crew_hours_worked"), _Each(weeks, "crew_hours_worked")
    for minute, _, task, _, began_minute, _ in records:
        week, worked = minute // MINUTES_PER_WEEK, (minute - began_minute) / 60.0
        hours[week] += worked
        of_task[task][week] += worked


def _task_due(records: list[WorkDue], weeks: _Weeks) -> None:
    hours = weeks.of("crew_hours_needed")
    for minute, _, _, _, minutes, _, _ in records:
        hours[minute // MINUTES_PER_WEEK] += minutes / 60.0


def _task_done(records: list[tuple[int, str, str, int, int, bool, type]], weeks: _Weeks) -> None:
    done, late, done_of, late_of = (
        weeks.of("tasks_done"),
        weeks.of("tasks_late"),
        _Each(weeks, "done"),
        _Each(weeks, "late"),
    )
    for minute, task, _, due_minute, _, finished, _ in records:
        week = minute // MINUTES_PER_WEEK
        done[week] += 1.0
        done_of[task][week] += 1.0
        if minute > due_minute or not finished:
            late[week] += 1.0
            late_of[task][week] += 1.0


def _lost(records: list[tuple[int, str, int, str, int, str, str, bool, str]], weeks: _Weeks) -> None:
    lost_to = _Each(weeks, "lost")
    for minute, _, _, _, plants, cause, _, _, _ in records:
        lost_to[cause][minute // MINUTES_PER_WEEK] += plants


def _cut(records: list[tuple[int, str, int, str, int, int, int, float, int, str, str]], weeks: _Weeks) -> None:
    cut, of_crop = weeks.of("plants_harvested"), _Each(weeks, "plants_harvested")
    for minute, _, _, crop, plants, _, _, _, _, _, _ in records:
        week = minute // MINUTES_PER_WEEK
        cut[week] += plants
        of_crop[crop][week] += plants


def _packed(records: list[tuple[int, str, int, str, int]], weeks: _Weeks) -> None:
    kg, of_crop = weeks.of("kg_packed"), _Each(weeks, "kg_packed")
    for minute, _, _, crop, grams in records:
        week, packed = minute // MINUTES_PER_WEEK, grams / 1000.0
        kg[week] += packed
        of_crop[crop][week] += packed


def _handed_out(records: list[tuple[int, str, str, str, int, int]], weeks: _Weeks) -> None:
    kg, to_partners, surplus = weeks.of("kg_handed_out"), weeks.of("kg_to_partners"), weeks.of("kg_surplus")
    to = _Each(weeks, "kg_to")
    for minute, _, _, partner, grams, _ in records:
        week, given = minute // MINUTES_PER_WEEK, grams / 1000.0
        kg[week] += given
        if partner:
            to_partners[week] += given
            to[partner][week] += given
        else:
            surplus[week] += given


def _order_served(records: list[tuple[int, str, str, int, int]], weeks: _Weeks) -> None:
    kg, of_partner = weeks.of("kg_ordered"), _Each(weeks, "kg_ordered")
    of_crop, given_of = _Each(weeks, "kg_ordered_of"), _Each(weeks, "kg_given_of")
    for minute, partner, crop, grams_ordered, grams_given in records:
        week, ordered = minute // MINUTES_PER_WEEK, grams_ordered / 1000.0
        kg[week] += ordered
        of_partner[partner][week] += ordered
        of_crop[crop][week] += ordered
        given_of[crop][week] += grams_given / 1000.0


def _sown(records: list[tuple[int, str, int, str, int, int, str]], weeks: _Weeks) -> None:
    seeds_of = _Each(weeks, "seeds_sown")
    for minute, _, _, crop, _, seeds, _ in records:
        seeds_of[crop][minute // MINUTES_PER_WEEK] += seeds


def _wasted(records: list[tuple[int, str, str, int]], weeks: _Weeks) -> None:
    kg = weeks.of("kg_wasted")
    for minute, _, _, grams in records:
        kg[minute // MINUTES_PER_WEEK] += grams / 1000.0


def _topped_up(records: list[tuple[int, str, int, int, int, int, float, bool]], weeks: _Weeks) -> None:
    liters = weeks.of("liters")
    for minute, _, _, _, added_ml, _, _, _ in records:
        liters[minute // MINUTES_PER_WEEK] += added_ml / 1000.0


def _shift_held(records: list[ShiftHeld], weeks: _Weeks) -> None:
    present, came = weeks.of("crew_hours_present"), weeks.of("volunteers_came")
    signed_up, came_to, signed_up_for = (
        weeks.of("volunteers_signed_up"),
        _Each(weeks, "came"),
        _Each(weeks, "signed_up"),
    )
    for record in records:
        week = record.minute // MINUTES_PER_WEEK
        present[week] += (record.volunteer_minutes + record.lead_minutes) / 60.0
        came[week] += record.came
        signed_up[week] += record.signed_up
        came_to[record.shift][week] += record.came
        signed_up_for[record.shift][week] += record.signed_up


def _flood_missed(records: list[FloodMissed], weeks: _Weeks) -> None:
    missed = weeks.of("floods_missed")
    for record in records:
        missed[record.minute // MINUTES_PER_WEEK] += 1.0


_COUNTS: dict[type[Any], Callable[[list[Any], _Weeks], None]] = {
    Worked: _worked,
    TaskDue: _task_due,
    TaskDone: _task_done,
    Lost: _lost,
    Harvested: _cut,
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


def _cost(book: Book, scenario: Scenario, weeks: _Weeks) -> list[float]:
    """What each week costs: the money of `ledger.accounts`, week by week. Called once all else is counted."""
    prices, series, end = scenario.prices, weeks.series, weeks.weeks * MINUTES_PER_WEEK
    cost = [
        prices.fixed_per_week
        + prices.electricity_per_kwh * kwh
        + prices.water_per_m3 * liters / 1000.0
        + prices.packing_per_kg * packed
        for kwh, liters, packed in zip(series["kwh"], series["liters"], series["kg_packed"], strict=True)
    ]
    a_liter = prices.nutrient_g_per_l / 1000.0 * prices.nutrient_per_kg
    for topped in book.between(ToppedUp, 0, end):
        cost[topped.minute // MINUTES_PER_WEEK] += topped.added_ml / 1000.0 * a_liter
    for shift in book.between(ShiftHeld, 0, end):
        cost[shift.minute // MINUTES_PER_WEEK] += shift.lead_minutes / 60.0 * prices.lead_hour
    for minute, _, money in paid_at_once(book, scenario, end):
        cost[minute // MINUTES_PER_WEEK] += money
    readings = [reading for reading in book.of(MetersRead) if 0 <= reading.minute <= end]
    for last, reading in pairwise(readings):
        if last.minute < end:
            cost[last.minute // MINUTES_PER_WEEK] += (reading.co2_g - last.co2_g) / 1000.0 * prices.co2_per_kg
    return cost


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
        total = sum([shelves.total_slots for shelves in rack.shelves])
        weeks.series[f"slots_free:{rack.name}"] = [total - mean for mean in used[rack.name]]
