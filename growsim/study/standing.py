"""What stands on the shelves on a morning, by the record: sown, moved, harvested and lost, from the last count on.

A recount says what stood on its morning, whatever the record says; the record goes on from there. What the record does
not tell (how many germinated, whether what is left of a harvest still stands) is reckoned from the room file: a range.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from growsim.errors import RoomFileError
from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.load import LoadedRoom
from growsim.scenario.names import ANY_CROP
from growsim.scenario.placing import place
from growsim.scenario.plan import ShelfLot, StoredGreens
from growsim.scenario.record.cells import DateOrder
from growsim.scenario.record.files import read_records
from growsim.scenario.record.joined import plantings_by
from growsim.scenario.record.record import PlantingRow, Records
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import Today, harvests_by_age, load_shelves

RECORDS, SHELVES = "records", "shelves"  # folders beside a room file: its record, and counts of its shelves
COUNTED = "counted-"  # how the names of counts begin
OLD_DAYS = 14  # a record that ended so long ago does not tell what stands there
_COUNTED = re.compile(rf"{COUNTED}(\d{{4}}-\d{{2}}-\d{{2}})(?:-\d+)?\.csv")
EIGHT_IN_TEN = 1.2816  # standard deviations to either side that hold eight in ten of a normal distribution
LEFT_OVER = 0.1  # of a planting: so few that were not harvested with the others no longer stand


@dataclass(frozen=True)
class Batch:
    """Plants of a crop sown on one day, at one stage. low, high: where the number is not known, the range that holds
    eight in ten. harvests: so often harvested already. unsure: why the number is not known; "" where it is."""

    crop: str
    sown: dt.date
    stage: str
    plants: int
    low: int
    high: int
    rack: str = ""
    harvests: int = 0
    unsure: str = ""

    @property
    def label(self) -> str:
        """What it is called: its crop and the day it was sown."""
        return f"{self.crop} {self.sown.isoformat()}"


@dataclass(frozen=True)
class Standing:
    """What stands there on the morning of `date`. counted: the morning of the count it begins with; None: none.

    is_all: whether that is everything: the record goes back further than any plant lives, or begins with a count.
    unknown: crops of which plants may stand that were sown before the record began.
    gone: plantings of which the record does not tell the end and which are too old to stand. no_room: plants that the
    shelves have no slots for.
    """

    date: dt.date
    batches: tuple[Batch, ...]
    cooler: tuple[StoredGreens, ...] = ()
    counted: dt.date | None = None
    gone: tuple[Batch, ...] = ()
    no_room: tuple[Batch, ...] = ()
    is_all: bool = True
    unknown: tuple[str, ...] = ()

    @property
    def today(self) -> Today:
        """As a count of the shelves would say it."""
        lots = tuple(
            ShelfLot(each.label, each.crop, each.stage, (self.date - each.sown).days, each.plants, each.rack,
                     each.harvests)
            for each in self.batches
        )  # fmt: skip
        return Today(lots, self.cooler)


@dataclass(frozen=True)
class Count:
    """A count of the shelves, and the morning it was made."""

    date: dt.date
    today: Today


def standing_on(records: Records, scenario: Scenario, date: dt.date, counts: Sequence[Count] = ()) -> Standing:
    """What stands there on a morning, by the record and the last count up to then."""
    count = max((each for each in counts if each.date <= date), key=lambda each: each.date, default=None)
    crops = on_paper.crops_by_name(scenario)
    since = None if count is None else count.date
    batches = [] if count is None else _counted(count)
    before = _lost_by(records, scenario, since) if since is not None else {}
    now = plantings_by(records.bits, scenario, date)
    lost = _lost_of(now)
    found: list[Batch] = []
    for key, rows in _by_planting(now).items():
        crop = crops[key[0]]
        if since is None or key[1] >= since:
            found += _from_seed(rows, crop, scenario, date)
        else:
            batches = _gone_on(batches, rows, crop, since, lost[key] - before.get(key, 0))
    found += batches
    standing = sorted((each for each in found if each.plants > 0), key=lambda each: (each.crop, each.sown, each.stage))
    gone = [each for each in standing if _is_too_old(each, crops[each.crop], date)]
    kept, no_room = _that_fit([each for each in standing if each not in gone], scenario, date)
    first = min((row.sown for row in now if row.cells is not None), default=date)
    unknown = () if since is not None else tuple(
        crop.name for crop in crops.values() if (date - first).days < _last_day(crop, crop.harvests - 1)
    )  # fmt: skip
    cooler = _cooler(records, scenario, date, count)
    return Standing(date, tuple(kept), cooler, since, tuple(gone), tuple(no_room), not unknown, unknown)


def counts_in(folder: Path, scenario: Scenario) -> list[Count]:
    """The counts of the shelves that lie in a folder under the names that the page gives them; those of a room that was
    another are left out."""
    found = []
    for path in sorted(folder.glob(f"{COUNTED}*.csv")):
        named = _COUNTED.fullmatch(path.name)
        if named is not None and not path.is_symlink():
            date = dt.date.fromisoformat(named[1])
            try:
                found.append(Count(date, load_shelves(path, scenario, date)))
            except RoomFileError:
                continue
    return found


def standing_in(home: Path, room: LoadedRoom, date: dt.date, *, records: Path | None = None,
                order: DateOrder | None = None) -> Standing | None:  # fmt: skip
    """What stands there on a morning by the record kept beside a room file, and the counts beside that. records: of
    another place. None where there is neither, or the record ended long before.

    Raises RoomFileError where the record cannot be read.
    """
    folder = home / RECORDS if records is None else records
    counts = counts_in(home / SHELVES, room.scenario)
    kept = read_records(folder, room.scenario, order=order) if records is not None or _has_files(folder) else Records()
    last = [row.date for row in kept.rows if row.date <= date] + [each.date for each in counts if each.date <= date]
    if not last or (date - max(last)).days > OLD_DAYS:
        return None
    return standing_on(kept, room.scenario, date, counts)


def _has_files(folder: Path) -> bool:
    return folder.is_dir() and any(not path.name.startswith(".") for path in folder.iterdir())


@dataclass(frozen=True)
class Difference:
    """Where record and count differ. by_record, counted: plants of a crop sown on one day."""

    crop: str
    sown: dt.date
    by_record: int
    counted: int
    unsure: str


def differences(records: Records, scenario: Scenario, count: Count, earlier: Sequence[Count]) -> list[Difference]:
    """What the record had, on the morning of a count, that the count has otherwise, within the record's own range."""
    before = [each for each in earlier if each.date < count.date]
    by_record = standing_on(records, scenario, count.date, before).batches
    counted: dict[tuple[str, dt.date], int] = {}
    for each in _counted(count):
        counted[each.crop, each.sown] = counted.get((each.crop, each.sown), 0) + each.plants
    found = []
    for key in sorted({*counted, *((each.crop, each.sown) for each in by_record)}):
        said = [each for each in by_record if (each.crop, each.sown) == key]
        low, high = sum(each.low for each in said), sum(each.high for each in said)
        there = counted.get(key, 0)
        if not low <= there <= high:
            unsure = next((each.unsure for each in said if each.unsure), "")
            found.append(Difference(*key, sum(each.plants for each in said), there, unsure))
    return found


def _by_planting(rows: Sequence[PlantingRow]) -> dict[tuple[str, dt.date], list[PlantingRow]]:
    found: dict[tuple[str, dt.date], list[PlantingRow]] = {}
    for row in rows:
        found.setdefault((row.crop, row.sown), []).append(row)
    return found


def _lost_of(rows: Sequence[PlantingRow]) -> dict[tuple[str, dt.date], int]:
    return {key: sum(row.lost or 0 for row in of) for key, of in _by_planting(rows).items()}


def _lost_by(records: Records, scenario: Scenario, morning: dt.date) -> dict[tuple[str, dt.date], int]:
    return _lost_of(plantings_by(records.bits, scenario, morning))


def _counted(count: Count) -> list[Batch]:
    return [
        Batch(lot.crop, count.date - dt.timedelta(days=lot.days_since_sowing), lot.stage, lot.plants, lot.plants,
              lot.plants, lot.rack, lot.harvests)
        for lot in count.today.lots
    ]  # fmt: skip


def _moves(rows: Sequence[PlantingRow]) -> int:
    return max(sum(day is not None for day in (row.transplanted, row.transplanted_again)) for row in rows)


def _from_seed(rows: Sequence[PlantingRow], crop: Crop, scenario: Scenario, date: dt.date) -> list[Batch]:
    """A planting of which the record tells from its sowing on; rows of like sowings of one day together."""
    first = rows[0]
    cells = sum(row.cells or 0 for row in rows)
    known = [row.emerged for row in rows if row.emerged is not None]
    sowings = [row for row in rows if row.cells is not None]
    up_after, _ = on_paper.emergence_at(crop, scenario.climate.air_temperature_c)
    is_up = (date - first.sown).days > up_after
    low = high = plants = sum(known)
    unsure = ""
    if len(known) < len(sowings) and (is_up and not crop.is_cut_whole):
        open_cells = sum(row.cells or 0 for row in sowings if row.emerged is None)
        share = on_paper.filled_fraction(crop, scenario.climate.air_temperature_c)
        spread = crop.germination_spread_sd
        sd = math.sqrt(open_cells * share * (1 - share) + (open_cells * spread) ** 2)
        plants += round(open_cells * share)
        low, high = plants - round(EIGHT_IN_TEN * sd), min(sum(known) + open_cells, plants + round(EIGHT_IN_TEN * sd))
        unsure = "nobody wrote down how many germinated"
    elif len(known) < len(sowings):
        plants = low = high = cells
    lost = sum(row.lost or 0 for row in rows)
    stages, harvests = crop.stages_in_order(), max((row.harvest_number for row in rows if row.harvested), default=0)
    cut = [row for row in rows if row.harvested is not None and row.harvest_number == max(1, harvests)]
    left = plants - lost
    stage = stages[min(_moves(rows), len(stages) - 1)].name
    if not cut:
        whole = Batch(crop.name, first.sown, stage, left, max(0, low - lost), max(0, high - lost), unsure=unsure)
        return _split(whole, first.plants_moved, [each.name for each in stages])
    taken = None if any(row.plants is None for row in cut) else sum(row.plants or 0 for row in cut)
    rest = 0 if taken is None else left - taken
    last = stages[-1].name
    found = []
    if harvests < crop.harvests:
        still = left if taken is None else min(left, taken)
        found.append(Batch(crop.name, first.sown, last, still, still, still, harvests=harvests, unsure=unsure))
    if rest > LEFT_OVER * max(1, plants):
        unsure = _not_with(cut)
        found.append(Batch(crop.name, first.sown, last, rest, 0, rest, harvests=harvests - 1, unsure=unsure))
    return found


def _gone_on(
    batches: Sequence[Batch], rows: Sequence[PlantingRow], crop: Crop, since: dt.date, lost: int
) -> list[Batch]:
    """What was counted, after what the record tells of since: moved, lost, harvested."""
    first = rows[0]
    own = [each for each in batches if (each.crop, each.sown) == (first.crop, first.sown)]
    others = [each for each in batches if each not in own]
    stages = [stage.name for stage in crop.stages_in_order()]
    days = [day for row in rows for day in (row.transplanted, row.transplanted_again) if day is not None]
    if any(day >= since for day in days):
        now = stages[min(_moves(rows), len(stages) - 1)]
        there, moved = own, first.plants_moved
        own = [replace(each, stage=now, rack="") if stages.index(each.stage) < stages.index(now) else each
               for each in own]  # fmt: skip
        if moved is not None and len(own) == 1 and there[0].stage != now:
            own = _split(own[0], moved, stages)
    own = _less(own, lost)
    cut = [row for row in rows if row.harvested is not None and row.harvested >= since]
    if not cut:
        return [*others, *own]
    number = max(row.harvest_number for row in cut)
    taken = [row.plants for row in cut if row.harvest_number == number]
    all_of_them = any(plants is None for plants in taken)
    if number < crop.harvests:
        return [*others, *(replace(each, stage=stages[-1], harvests=number) for each in own)]
    left = [] if all_of_them else _less(own, sum(plants or 0 for plants in taken))
    few = sum(each.plants for each in left) <= LEFT_OVER * sum(each.plants for each in own)
    return [*others, *(() if few else (replace(each, low=0, unsure=_not_with(cut)) for each in left))]


def _split(batch: Batch, moved: int | None, stages: Sequence[str]) -> list[Batch]:
    """The batch as it was moved, and those that stayed where they were."""
    rest = 0 if moved is None else batch.plants - moved
    if moved is None or rest <= LEFT_OVER * batch.plants:
        return [batch]
    before = stages[max(0, stages.index(batch.stage) - 1)]
    return [
        replace(batch, plants=moved, low=moved, high=moved, unsure=""),
        replace(batch, stage=before, plants=rest, low=max(0, batch.low - moved), high=batch.high - moved),
    ]


def _not_with(cut: Sequence[PlantingRow]) -> str:
    return f"not harvested with the others on {max(row.date for row in cut).isoformat()}"


def _less(batches: Sequence[Batch], plants: int) -> list[Batch]:
    """The batches with so many plants fewer, taken from the largest first."""
    left = {number: each.plants for number, each in enumerate(batches)}
    for number in sorted(left, key=lambda number: -left[number]):
        taken = min(max(0, plants), left[number])
        left[number] -= taken
        plants -= taken
    return [replace(each, plants=left[number], low=min(each.low, left[number]), high=left[number])
            for number, each in enumerate(batches)]  # fmt: skip


def _is_too_old(batch: Batch, crop: Crop, date: dt.date) -> bool:
    age = (date - batch.sown).days
    harvests = max(batch.harvests, harvests_by_age(crop, batch.stage, age))
    return age > _last_day(crop, harvests)


def _last_day(crop: Crop, harvests: int) -> float:
    """Days after sowing by which plants harvested so often are overgrown."""
    return crop.typical_days + crop.overgrown_after_days + harvests * crop.regrowth_days


def _that_fit(batches: Sequence[Batch], scenario: Scenario, date: dt.date) -> tuple[list[Batch], list[Batch]]:
    """Those that the shelves hold, and those beyond."""
    lots = Standing(date, tuple(batches)).today.lots
    left_over = place(lots, scenario).left_over
    trays, crops = on_paper.trays_by_name(scenario), on_paper.crops_by_name(scenario)
    kept, beyond = [], []
    for each, left in zip(batches, left_over, strict=True):
        tray = next(stage.tray for stage in crops[each.crop].stages if stage.name == each.stage)
        there = max(0, (math.ceil(each.plants / trays[tray].places) - left)) * trays[tray].places
        if left:
            beyond.append(replace(each, plants=each.plants - min(there, each.plants)))
        if there:
            kept.append(replace(each, plants=min(there, each.plants)))
    return kept, beyond


def _cooler(records: Records, scenario: Scenario, date: dt.date, count: Count | None) -> tuple[StoredGreens, ...]:
    """Greens harvested and not handed out yet, where deliveries are written down; the oldest are handed out first."""
    since = date - dt.timedelta(days=60) if count is None else count.date
    held: list[StoredGreens] = []
    if count is not None:
        days = (date - count.date).days
        held = [replace(each, days_since_harvest=each.days_since_harvest + days) for each in count.today.cooler]
    given = [row for row in records.deliveries if since <= row.date < date]
    if records.deliveries:
        held += [
            StoredGreens(f"{row.crop} {row.sown} {row.harvested}", row.crop, round(row.grams),
                         (date - row.harvested).days)
            for row in records.plantings
            if row.grams and row.harvested is not None and since <= row.harvested < date
        ]  # fmt: skip
    held.sort(key=lambda each: -each.days_since_harvest)
    left = [each.grams for each in held]
    for row in sorted(given, key=lambda row: row.date):
        grams = round(1000 * row.kg)
        for number, each in enumerate(held):
            if row.crop in (each.crop, ANY_CROP):
                taken = min(grams, left[number])
                left[number] -= taken
                grams -= taken
    crops = on_paper.crops_by_name(scenario)
    return tuple(
        replace(each, grams=grams)
        for each, grams in zip(held, left, strict=True)
        if grams and each.days_since_harvest < min(crops[each.crop].shelf_life_days, scenario.harvest.longest_wait_days)
    )
