"""Counts and means over the window: where every seed went, how late, how full, what was dry for lack of a hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from growsim.ledger.events import (
    FloodMissed,
    Found,
    HandedOut,
    Harvested,
    Lost,
    MetersRead,
    SowingSkipped,
    Sown,
    Transplanted,
    WentDown,
)
from growsim.vocabulary.losses import GROWING_AT_END, HARVESTED, fate_of
from growsim.vocabulary.machines import BY_KEY, MACHINES

SKIPPED: Final = "sowings skipped"
LATE: Final = "days late"

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.scenario.scenario import Scenario


def fates_of(book: Book, end: int) -> dict[tuple[str, str], int]:
    """(crop, fate) -> plants, of the seeds sown in the window or found on the shelves on day 0.

    Raises AssertionError where seeds sown and fates differ: no plant may come from nowhere or vanish. Raises
    LookupError for a loss to something that is no fate.
    """
    cohort: dict[tuple[str, str], int] = {}
    began = _begun_in(book, end)
    for lost in book.of(Lost):
        fate_of(lost.cause)
        if lost.lot in began and not lost.after_harvest:
            key = (lost.crop, lost.cause)
            cohort[key] = cohort.get(key, 0) + lost.plants
    for cut in book.of(Harvested):
        if cut.number == 1 and cut.lot in began:
            key = (cut.crop, HARVESTED.key)
            cohort[key] = cohort.get(key, 0) + cut.plants
    for standing in book.standing:
        if standing.lot in began and not standing.was_harvested:
            key = (standing.crop, GROWING_AT_END.key)
            cohort[key] = cohort.get(key, 0) + standing.plants
    seeds = sum(began.values())
    assert seeds == sum(cohort.values()), f"{seeds} seeds sown, {sum(cohort.values())} accounted for"
    return cohort


def _begun_in(book: Book, end: int) -> dict[str, int]:
    """Lot -> seeds sown in the window, or plants found on the shelves on day 0."""
    began: dict[str, int] = {}
    for sown in book.of(Sown):
        if 0 <= sown.minute < end:
            began[sown.lot] = began.get(sown.lot, 0) + sown.seeds
    for found in book.of(Found):
        if not found.was_harvested:
            began[found.lot] = began.get(found.lot, 0) + found.plants
    for sown in book.of(Sown):
        if sown.minute < 0:  # a lot sown partly before the window counts as sown before it
            began.pop(sown.lot, None)
    return began


def held_up(book: Book, end: int) -> dict[tuple[str, str, str], float]:
    """(crop, what, obstacle) -> how much, where an obstacle is written down. what: the key of a loss, in plants that
    `fates_of` counts; SKIPPED, in cells that were not sown in the window; LATE, in days late times plants.
    """
    found: dict[tuple[str, str, str], float] = {}
    began = _begun_in(book, end)
    for lost in book.of(Lost):
        if lost.held_up and lost.lot in began and not lost.after_harvest:
            key = (lost.crop, lost.cause, lost.held_up)
            found[key] = found.get(key, 0) + lost.plants
    for skipped in book.of(SowingSkipped):
        if 0 <= skipped.minute <= end:
            key = (skipped.crop, SKIPPED, skipped.held_up)
            found[key] = found.get(key, 0) + skipped.cells
    late_ones: list[Transplanted | Harvested] = [*book.of(Transplanted), *book.of(Harvested)]
    for late in late_ones:
        if late.held_up and 0 <= late.minute <= end:
            key = (late.crop, LATE, late.held_up)
            found[key] = found.get(key, 0) + late.plants * late.days_late
    return found


def means_of(book: Book, scenario: Scenario, end: int) -> dict[str, float]:
    """Means and counts that are no weekly flow."""
    values: dict[str, float] = {
        "sowings_skipped": _count(book, SowingSkipped, end),
        "floods_missed": _count(book, FloodMissed, end),
        **dict.fromkeys([row.measure for row in MACHINES], 0),
    }
    for down in book.of(WentDown):
        if 0 <= down.minute <= end:
            values[BY_KEY[down.machine].measure] += 1
    cuts = [cut for cut in book.of(Harvested) if 0 <= cut.minute <= end]
    late = [(cut.days_late, cut.plants) for cut in cuts]
    ages = [((cut.minute - cut.sown_minute) / 1440.0, cut.plants) for cut in cuts if cut.number == 1]
    waited = [
        ((given.minute - given.harvest_minute) / 60.0, given.grams)
        for given in book.of(HandedOut)
        if 0 <= given.minute <= end
    ]
    warmest = [reading.warmest_c for reading in book.of(MetersRead) if 0 < reading.minute <= end]
    for key, pairs in (
        ("days_harvested_late_mean", late),
        ("days_sown_to_harvest_mean", ages),
        ("hours_harvest_to_pickup_mean", waited),
    ):
        weight = sum([weight for _, weight in pairs])
        if weight > 0:
            values[key] = math.fsum([value * weight for value, weight in pairs]) / weight
    if warmest:
        values["air_temperature_max_c"] = max(warmest)
    values.update(_fill(book, scenario, end))
    return values


def _count(book: Book, kind: type[SowingSkipped] | type[FloodMissed], end: int) -> int:
    return len([record for record in book.of(kind) if 0 <= record.minute <= end])


def _fill(book: Book, scenario: Scenario, end: int) -> dict[str, float]:
    """Share of slots in use, altogether and by stage (of the slots that may hold the stage), and trays waiting."""
    total = sum([shelves.total_slots for rack in scenario.racks for shelves in rack.shelves])
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
        values["shelf_fill_fraction"] = min(1.0, math.fsum(used.values()) / total)
        for stage, mean in used.items():
            room_for = sum(
                [shelves.total_slots for rack in scenario.racks for shelves in rack.shelves if stage in shelves.stages]
            )
            values[f"shelf_fill_fraction:{stage}"] = mean / room_for if room_for else 0.0
    return values
