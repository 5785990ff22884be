"""A room that has really been lived in: what stands on its shelves on a day, as a careful person would count it."""

from __future__ import annotations

from collections import Counter

from growsim.ledger.book import Book
from growsim.ledger.events import Germinated, HandedOut, Harvested, Lost, Packed, Sown, Wasted
from growsim.run.prepare import Prepared
from growsim.run.replicate import trace
from growsim.scenario.plan import RunPlan, ShelfLot, StoredGreens
from growsim.scenario.shelves import Today


def counted_on(prepared: Prepared, seed: int, i: int, day: int, warm_up_days: int) -> Today:
    """Shelves and cooler of that year at midnight before `day`, counted without a slip."""
    book = trace(prepared, seed, i, RunPlan(day, warm_up_days))
    return Today(tuple(_lots(book, day)), tuple(_greens(book, day)))


def _lots(book: Book, day: int) -> list[ShelfLot]:
    up = {(record.lot, record.part) for record in book.of(Germinated)}
    cells = {(sown.lot, sown.part): sown.cells for sown in book.of(Sown)}
    extra: Counter[tuple[str, int]] = Counter()
    cuts: Counter[tuple[str, int]] = Counter()
    for record in book.of(Germinated):
        extra[record.lot, record.part] += record.extra_seedlings
    for lost in book.of(Lost):
        if lost.cause == "thinned":
            extra[lost.lot, lost.part] -= lost.plants
    for cut in book.of(Harvested):
        cuts[cut.lot, cut.part] += 1
    found: dict[tuple[str, str, str, int, str, int], int] = {}
    for stood in book.standing:
        part = (stood.lot, stood.part)
        first = next(number for number in range(1, stood.part + 1) if (stood.lot, number) in cells)
        is_up = part in up or part not in cells
        plants = stood.plants - extra[part] if is_up else cells[stood.lot, first]
        days = day - stood.sown_minute // 1440
        key = (stood.lot, stood.crop, stood.stage, days, stood.rack, cuts[part])
        found[key] = found.get(key, 0) + plants
    return [
        ShelfLot(lot, crop, stage, days, plants, rack, cuts_)
        for (lot, crop, stage, days, rack, cuts_), plants in found.items()
        if plants
    ]


def _greens(book: Book, day: int) -> list[StoredGreens]:
    left: Counter[tuple[str, str]] = Counter()
    harvest_day: dict[tuple[str, str], int] = {}
    for cut in book.of(Harvested):
        harvest_day[cut.lot, cut.crop] = cut.minute // 1440
    for packed in book.of(Packed):
        left[packed.lot, packed.crop] += packed.grams
    for given in book.of(HandedOut):
        left[given.lot, given.crop] -= given.grams
    for wasted in book.of(Wasted):
        left[wasted.lot, wasted.crop] -= wasted.grams
    return [
        StoredGreens(lot, crop, grams, day - harvest_day[lot, crop]) for (lot, crop), grams in left.items() if grams > 0
    ]
