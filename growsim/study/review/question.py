"""The week that was, and the eight weeks up to it: what was written down beside what the room as described gives for
those very weeks, from what then stood on the shelves.

Greens and orders are rehearsed week by week from each Monday's shelves; losses in one go from weeks before, since what
goes wrong unseen on a Monday, such as trays that nobody washed, has to come about first. What a record tells by itself
(`review.told`) is held against made-up years, and watched for drifts of many weeks (`review.drift`).
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import prepare_room
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.load import LoadedRoom, refuse_lacking
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.record import PlantingRow, Records
from growsim.scenario.scenario import Scenario
from growsim.study.review.drift import YEAR_WEEKS, sums_of, years_to_tell
from growsim.study.review.offered import Learn, Offer, offered
from growsim.study.review.told import Told, told_by
from growsim.study.standing import Count, Standing, standing_on
from growsim.study.today import room_today
from growsim.vocabulary.losses import PLANT_LOSSES

WEEK_DAYS = 7
LATELY_WEEKS = 8
EIGHT_IN_TEN = (0.1, 0.9)
LEAD_IN_WEEKS = 4
FEWEST_IN_ONE_GO = 20
_SEEDS_APART = 7919  # so that no two weeks have the same luck


@dataclass(frozen=True)
class Held:
    """What is on record, beside the range that holds eight in ten of what was to be expected. of: how much it is of
    (cells, sign-ups, jobs; kilograms ordered); 0 where it is of nothing."""

    seen: float
    low: float
    high: float
    of: float = 0.0


@dataclass(frozen=True)
class Drifted:
    """A figure that is not what the room file says. since: the Monday it began. seen: of all weeks since, beside what
    was to be expected of them. years: once in so many years chance alone brings as much. days: of the sowings."""

    since: dt.date
    seen: Held
    years: float
    is_above: bool
    days: tuple[dt.date, ...] = ()
    is_sure: bool = False


@dataclass(frozen=True)
class Reviewed:
    """One figure. kind: seedlings, people, minutes, failures; greens, orders, losses. stated: as the room file has it,
    low and high. key: of the room file, what would explain it. week, lately: None where nothing is on record. tells:
    of failures, after so many years a record tells that they come twice as often."""

    kind: str
    what: str
    unit: str
    week: Held | None
    lately: Held | None
    key: str = ""
    stated: tuple[float, float] | None = None
    drifted: Drifted | None = None
    tells: float = 0.0


@dataclass(frozen=True)
class Review:
    """The week from `monday` on. weeks: watched for drifts, up to it; lately: of them, how many `lately` is of.
    greens: (Monday, kg on record, low, high) of these weeks, where the shelves were known. watched: figures watched.
    offer: what of the room file to change, where that is sure; None: nothing. unknown: crops left out of the greens of
    the week, since plants of theirs that nothing on record tells of may have stood there."""

    room: LoadedRoom
    records: Records
    monday: dt.date
    weeks: int
    lately: int
    figures: tuple[Reviewed, ...]
    greens: tuple[tuple[dt.date, Held], ...]
    watched: int
    seed: int
    replications: int
    offer: Offer | None = None
    unknown: tuple[str, ...] = ()

    @property
    def scenario(self) -> Scenario:
        """The room as described."""
        return self.room.scenario

    @property
    def drifted(self) -> tuple[Reviewed, ...]:
        """What is not as described, the surest first."""
        found = [each for each in self.figures if each.drifted is not None]
        return tuple(sorted(found, key=lambda each: -each.drifted.years if each.drifted is not None else 0.0))


def review(
    room: LoadedRoom,
    records: Records,
    *,
    week: dt.date | None = None,
    counts: Sequence[Count] = (),
    learn: Learn | None = None,
    seed: int,
    replications: int,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Review:
    """The record's last whole week, or the one in which `week` falls. learn: makes an offer of what drifts.
    Raises InputError where nothing of it is on record, RoomFileError for a room that cannot be rehearsed."""
    refuse_lacking(room)
    last = records.last
    monday = _monday(week or last - dt.timedelta(days=WEEK_DAYS - 1 if last.weekday() < 4 else 0))
    first = max(_monday(records.first), monday - dt.timedelta(weeks=YEAR_WEEKS - 1))
    if not records.first <= monday + dt.timedelta(days=WEEK_DAYS - 1) or monday > last:
        raise InputError(
            f"--week: nothing of the week of {monday} is on record; it goes from {records.first} to {last}."
        )
    weeks = (monday - first).days // WEEK_DAYS + 1
    lately = min(LATELY_WEEKS, weeks)
    told = told_by(records, room.scenario, first, weeks, seed)
    figures = [_reviewed(each, len(told), first, lately, records) for each in told]
    mondays = [monday - dt.timedelta(weeks=back) for back in range(lately - 1, -1, -1)]
    shared = SharedProgress(progress, replications * (lately + 1))
    with Rehearsers(workers, executor=executor) as rehearsers:
        rehearsing = _Rehearsing(room, records, counts, rehearsers, shared, seed)
        weekly = {day: rehearsing.lived(day, 1, replications, of_some=True) for day in mondays}
        began = mondays[0] - dt.timedelta(weeks=LEAD_IN_WEEKS)
        in_one_go = rehearsing.lived(began, LEAD_IN_WEEKS + lately, max(FEWEST_IN_ONE_GO, replications // 4))
    sure = {each.key: records.first if each.kind == "failures" else each.drifted.since
            for each in figures if each.drifted is not None and each.drifted.is_sure}  # fmt: skip
    offer = None
    if sure and learn is not None:
        offer = offered(
            room, records, counts, monday + dt.timedelta(days=WEEK_DAYS), sure, learn, seed=seed, futures=replications,
            workers=workers, executor=executor, progress=shared.more(2 * replications),
        )  # fmt: skip
    unknown = {day: rehearsing.standing(day).unknown for day in mondays}
    lived = {day: found for day, found in weekly.items() if found}
    greens, of_greens = _greens(records, room.scenario, mondays, lived, unknown)
    of_greens += _losses(records, mondays, in_one_go)
    return Review(
        room,
        records,
        monday,
        weeks,
        lately,
        (*of_greens, *figures),
        greens,
        len(told),
        seed,
        replications,
        offer,
        unknown[monday],
    )


def _monday(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=day.weekday())


def _reviewed(told: Told, figures: int, first: dt.date, lately: int, records: Records) -> Reviewed:
    weeks, sums = len(told.seen), sums_of(told.watched, told.made_up, figures)
    drifted, at = None, sums.standing(lately)
    if at is not None:
        began = sums.began(at)
        since = first + dt.timedelta(weeks=began)
        until = first + dt.timedelta(weeks=at, days=WEEK_DAYS - 1)
        held = _held(told, range(began, at + 1))
        if held is not None:
            days = _days_sown(records, told.what, since, until) if told.kind == "seedlings" else ()
            drifted = Drifted(since, held, sums.years_to_chance(at), sums.is_above(at), days, sums.is_sure(at))
    tells = years_to_tell(told.a_year, figures) if told.kind == "failures" else 0.0
    return Reviewed(
        told.kind, told.what, told.unit, _held(told, range(weeks - 1, weeks)),
        _held(told, range(weeks - lately, weeks)), told.key, told.stated, drifted, tells,
    )  # fmt: skip


def _held(told: Told, weeks: range) -> Held | None:
    """The figure over several weeks. Minutes: of a unit, jobs counting alike."""
    there = [week for week in weeks if not math.isnan(told.seen[week])]
    if not there:
        return None
    of = float(told.of[there].sum())
    if told.kind == "minutes":
        middle = math.sqrt(told.stated[0] * told.stated[1])
        share = told.of[there] / of
        made_up = middle * np.exp(told.made_up[:, there] @ share)
        return Held(float(middle * math.exp(told.seen[there] @ share)), *_range(made_up), of)
    return Held(float(told.seen[there].sum()), *_range(told.made_up[:, there].sum(axis=1)), of)


def _range(values: np.ndarray) -> tuple[float, float]:
    low, high = np.quantile(values, EIGHT_IN_TEN)
    return float(low), float(high)


def _days_sown(records: Records, crop: str, since: dt.date, until: dt.date) -> tuple[dt.date, ...]:
    rows = [row for row in records.plantings if row.crop == crop and row.emerged is not None]
    return tuple(sorted({row.sown for row in rows if since <= row.sown <= until}))


class _Rehearsing:
    """Weeks of the room as described, from what stood on a Monday by the record and the counts."""

    def __init__(
        self, room: LoadedRoom, records: Records, counts: Sequence[Count], rehearsers: Rehearsers,
        shared: SharedProgress, seed: int,
    ) -> None:  # fmt: skip
        self._room, self._records, self._counts, self._rehearsers = room, records, counts, rehearsers
        self._prepared, self._shared, self._seed = prepare_room(room), shared, seed
        self._standing: dict[dt.date, Standing] = {}

    def standing(self, monday: dt.date) -> Standing:
        """What stood there that morning."""
        if monday not in self._standing:
            self._standing[monday] = standing_on(self._records, self._room.scenario, monday, self._counts)
        return self._standing[monday]

    def lived(self, monday: dt.date, weeks: int, replications: int, *, of_some: bool = False) -> list[Outcome]:
        """Empty where nobody knows what stood there. of_some: it is enough to know it of one crop."""
        standing = self.standing(monday)
        is_known = len(standing.unknown) < len(self._room.scenario.crops) if of_some else standing.is_all
        if not is_known or not standing.batches:
            return []
        today = standing.today
        there = replace(self._prepared, scenario=room_today(self._room.scenario, monday, today.lots))
        plan = RunPlan(WEEK_DAYS * weeks, 0, "shelves", today.lots, cooler=today.cooler)
        own = self._seed + _SEEDS_APART * monday.toordinal()
        told = self._shared.more(replications)
        return list(self._rehearsers.run({"": there}, own, range(replications), plan, told)[""])


def _greens(
    records: Records, scenario: Scenario, mondays: Sequence[dt.date], lived: dict[dt.date, list[Outcome]],
    unknown: dict[dt.date, tuple[str, ...]],
) -> tuple[tuple[tuple[dt.date, Held], ...], list[Reviewed]]:  # fmt: skip
    """Kilograms harvested, of the crops of which all that stood there is known; kilograms of orders handed out."""
    some = [monday for monday in mondays if monday in lived]
    if not some:
        return (), []
    known = {monday: tuple(crop.name for crop in scenario.crops if crop.name not in unknown[monday]) for monday in some}
    seen = {monday: _kg(records.plantings, monday, known[monday]) for monday in some}
    made = {monday: np.array([_packed(outcome, known[monday]) for outcome in lived[monday]]) for monday in some}
    greens = tuple((monday, Held(seen[monday], *_range(made[monday]))) for monday in some)
    figures = [_figure("greens", seen, made, dict.fromkeys(some, 0.0), mondays[-1])]
    whole = [monday for monday in some if not unknown[monday]]
    if records.deliveries and whole:
        ordered = {monday: _ordered(scenario, monday) for monday in whole}
        seen = {monday: _given(records, ordered[monday], monday) for monday in whole}
        made = {monday: np.array([outcome.weeks["kg_to_partners"][0] for outcome in lived[monday]]) for monday in whole}
        of = {monday: math.fsum(ordered[monday].values()) for monday in whole}
        figures.append(_figure("orders", seen, made, of, mondays[-1]))
    return greens, figures


def _figure(
    kind: str, seen: dict[dt.date, float], made: dict[dt.date, np.ndarray], of: dict[dt.date, float], last: dt.date
) -> Reviewed:
    """Of all those weeks, and of the last one where it is among them."""
    whole = Held(math.fsum(seen.values()), *_range(np.sum(list(made.values()), axis=0)), math.fsum(of.values()))
    week = Held(seen[last], *_range(made[last]), of[last]) if last in seen else None
    return Reviewed(kind, "", "kg", week, whole)


def _packed(outcome: Outcome, crops: Sequence[str]) -> float:
    return math.fsum(outcome.weeks.get(f"kg_packed:{crop}", (0.0,))[0] for crop in crops)


def _losses(records: Records, mondays: Sequence[dt.date], in_one_go: Sequence[Outcome]) -> list[Reviewed]:
    """Plants lost; nothing where the record does not go back so far that they can be compared."""
    if not in_one_go:
        return []
    made = np.array([np.sum([outcome.weeks[loss.series] for loss in PLANT_LOSSES], axis=0) for outcome in in_one_go])
    made = made[:, -len(mondays) :]
    seen = [_lost(records.bits, monday) for monday in mondays]
    week, whole = Held(seen[-1], *_range(made[:, -1])), Held(math.fsum(seen), *_range(made.sum(axis=1)))
    return [Reviewed("losses", "", "plants", week, whole)]


def _in_week(day: dt.date | None, monday: dt.date) -> bool:
    return day is not None and 0 <= (day - monday).days < WEEK_DAYS


def _kg(rows: Sequence[PlantingRow], monday: dt.date, crops: Sequence[str]) -> float:
    return math.fsum((row.grams or 0.0) / 1000.0 for row in rows
                     if row.crop in crops and _in_week(row.harvested, monday))  # fmt: skip


def _lost(bits: Sequence[PlantingRow], monday: dt.date) -> float:
    """Plants lost, by the day they were written down, or the last day of a row of a table of somebody's own."""
    days = [(dt.date.fromisoformat(row.entry[:10]) if row.entry else row.date, row.lost or 0) for row in bits]
    return float(sum(lost for day, lost in days if _in_week(day, monday)))


def _ordered(scenario: Scenario, monday: dt.date) -> dict[tuple[dt.date, str, str], float]:
    from growsim.vocabulary.days import WEEKDAYS

    found: dict[tuple[dt.date, str, str], float] = {}
    for ahead in range(WEEK_DAYS):
        day = monday + dt.timedelta(days=ahead)
        for partner in scenario.partners:
            if partner.weekday == WEEKDAYS[ahead] and partner.collects(day) and day not in scenario.room.closed_days:
                for order in partner.ordered_in(day.month):
                    found[day, partner.name, order.crop] = order.kg
    return found


def _given(records: Records, ordered: dict[tuple[dt.date, str, str], float], monday: dt.date) -> float:
    """Of what was ordered, what was handed out: a crop that was not ordered that day fills no order."""
    given: dict[tuple[dt.date, str, str], float] = {}
    for row in records.deliveries:
        if _in_week(row.date, monday):
            key = (row.date, row.partner, row.crop)
            given[key] = math.fsum((given.get(key, 0.0), row.kg))
    return math.fsum(min(kg, given.get(key, 0.0)) for key, kg in ordered.items())
