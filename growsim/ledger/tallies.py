"""Counts and means over the window: where every seed went, how late, how full."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.ledger.events import (
    Cut,
    FloodMissed,
    Found,
    HandedOut,
    Lost,
    MetersRead,
    SowingSkipped,
    Sown,
    WentDown,
)

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.spec.scenario import Scenario


def fates_of(book: Book, end: int) -> dict[tuple[str, str], int]:
    """(crop, fate) -> plants, of the seeds sown in the window or found on the shelves on day 0.

    Raises AssertionError where seeds sown and fates differ: no plant may come from nowhere or vanish.
    """
    cohort: dict[tuple[str, str], int] = {}
    began: set[str] = set()
    parts: dict[str, int] = {}
    for record in book.records:
        kind = type(record)
        if kind is Sown and 0 <= record.minute < end:
            began.add(f"{record.lot}#{record.part}")
            parts[record.lot] = parts.get(record.lot, 0) + record.seeds
        elif kind is Found:
            parts[record.lot] = parts.get(record.lot, 0) + record.plants
    before = {record.lot for record in book.of(Sown) if record.minute < 0}
    mixed = before & parts.keys()  # lots sown partly before the window count as sown before it
    counted = parts.keys() - mixed
    for record in book.records:
        kind = type(record)
        if kind is Lost and record.lot in counted and not record.after_cut:
            key = (record.crop, record.cause)
            cohort[key] = cohort.get(key, 0) + record.plants
        elif kind is Cut and record.number == 1 and record.lot in counted:
            key = (record.crop, "cut")
            cohort[key] = cohort.get(key, 0) + record.plants
    for standing in book.standing:
        if standing.lot in counted and not standing.was_cut:
            key = (standing.crop, "growing_at_end")
            cohort[key] = cohort.get(key, 0) + standing.plants
    sown = sum(seeds for lot, seeds in parts.items() if lot in counted)
    assert sown == sum(cohort.values()), f"{sown} seeds sown, {sum(cohort.values())} accounted for"
    return cohort


def means_of(book: Book, scenario: Scenario, end: int) -> dict[str, float]:
    """Means and counts that are no weekly flow."""
    values: dict[str, float] = {}
    late: list[tuple[float, int]] = []
    ages: list[tuple[float, int]] = []
    waited: list[tuple[float, int]] = []
    counts = {"sowings_skipped": 0, "machine_failures": 0, "power_cuts": 0, "floods_missed": 0}
    warmest: list[float] = []
    for record in book.records:
        if not 0 <= record.minute <= end:
            continue
        kind = type(record)
        if kind is Cut:
            late.append((record.days_late, record.plants))
            if record.number == 1 and record.sown_minute > -(2**50):
                ages.append(((record.minute - record.sown_minute) / 1440.0, record.plants))
        elif kind is HandedOut:
            waited.append(((record.minute - record.cut_minute) / 60.0, record.grams))
        elif kind is SowingSkipped:
            counts["sowings_skipped"] += 1
        elif kind is WentDown:
            counts["power_cuts" if record.machine == "power" else "machine_failures"] += 1
        elif kind is FloodMissed:
            counts["floods_missed"] += 1
        elif kind is MetersRead and record.minute > 0:
            warmest.append(record.warmest_c)
    for key, pairs in (
        ("days_cut_late_mean", late),
        ("days_sown_to_cut_mean", ages),
        ("hours_cut_to_pickup_mean", waited),
    ):
        weight = sum(weight for _, weight in pairs)
        if weight > 0:
            values[key] = sum(value * weight for value, weight in pairs) / weight
    values.update(counts)
    if warmest:
        values["air_temperature_max_c"] = max(warmest)
    values.update(_fill(book, scenario, end))
    return values


def _fill(book: Book, scenario: Scenario, end: int) -> dict[str, float]:
    """Share of slots in use, altogether and by stage (of the slots that may hold the stage), and trays waiting."""
    total = sum(shelves.total_slots for rack in scenario.racks for shelves in rack.shelves)
    used: dict[str, float] = {}
    waiting = 0.0
    for key, level in book.levels.items():
        (mean,) = level.means(0, end, 1)
        if key[0] == "slots":
            used[key[2]] = used.get(key[2], 0.0) + mean
        elif key[0] == "waiting":
            waiting += mean
    values = {"slots_waiting_mean": waiting}
    if total:
        values["shelf_fill_fraction"] = sum(used.values()) / total
        for stage, mean in used.items():
            room_for = sum(
                shelves.total_slots for rack in scenario.racks for shelves in rack.shelves if stage in shelves.stages
            )
            values[f"shelf_fill_fraction:{stage}"] = mean / room_for if room_for else 0.0
    return values
