"""What a row of trays leaves open: the days of its moves, the lamps over it, and what that does to what is learned.

Expected values are counted by hand from the demo room's own timetable of shifts and lights.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from growsim.growth.pace import calibrate
from growsim.scenario.load import load_scenario
from growsim.scenario.record.record import PlantingRow
from growsim.scenario.scenario import Scenario
from growsim.study.learn.curve import PlanCurve, curves_by_mass
from growsim.study.learn.growth import ROUGHNESS, learn_growth, ripening_of
from growsim.study.learn.light import Dark, Lamps
from growsim.study.learn.moves import PROMPT, Delays, WorkDays, delays_of, due_days
from growsim.study.learn.pasts import Around, Pasts
from growsim.study.learn.prior import Prior, known_from

ROOM = load_scenario(Path(__file__).parents[2] / "scenarios" / "millrace").scenario
CROP = next(crop for crop in ROOM.crops if len(crop.stages) == 3)
LEAF = next(crop for crop in ROOM.crops if crop.name == "loose-leaf mix")
CURVE = PlanCurve(ROOM, CROP, calibrate(CROP, ROOM))
WORK = WorkDays(ROOM)
SOWN = dt.date(2032, 4, 15)  # a Thursday
FIRST, SECOND = (SOWN + dt.timedelta(days=days) for days in (14, 23))  # a Thursday; the Saturday after a Friday


def pasts_of(dark: Dark | None = None, delays: Delays = PROMPT, room: Scenario = ROOM, name: str = CROP.name) -> Pasts:
    """Of a crop of the demo room."""
    crop = next(crop for crop in room.crops if crop.name == name)
    return Pasts(room, PlanCurve(room, crop, calibrate(crop, room)), Around(Lamps(room, dark), WORK, delays))


def row_of(sown: dt.date = SOWN, name: str = CROP.name, **cells: dt.date | int | float | None) -> PlantingRow:
    """A sowing harvested 39 days later, moved on time but for what is said otherwise."""
    known = {"transplanted": sown + (FIRST - SOWN), "harvested": sown + dt.timedelta(days=39), **cells}
    return PlantingRow("made up", 1, sown, name, **known)  # type: ignore[arg-type]


def grown(pasts: Pasts, row: PlantingRow, speed: float, moves: list[dt.date]) -> PlantingRow:
    """The row with what its plants weigh if they grew at that speed and were moved on those days."""
    assert row.harvested is not None
    crop = next(crop for crop in ROOM.crops if crop.name == row.crop)
    curve = PlanCurve(ROOM, crop, calibrate(crop, ROOM))
    days = pasts.growing_days(row.sown, moves, WORK.at_work(row.harvested))
    grams = 1000 * float(curve.relative_mass(np.array([speed]), days)[0]) * crop.typical_mass_g.expected()
    return replace(row, plants_harvested=1000, grams=grams * (1 - crop.trimmed_fraction))


def test_delays_count_the_days_with_a_shift() -> None:
    """The demo room has shifts on Mondays to Thursdays and on Saturdays; Monday 5 July it is closed."""
    friday = dt.date(2032, 5, 7)
    days = {-2: dt.date(2032, 5, 5), -1: dt.date(2032, 5, 6), 0: dt.date(2032, 5, 8), 1: dt.date(2032, 5, 10)}

    assert {late: WORK.day_of_delay(friday, late) for late in days} == days
    assert {WORK.shifts_late(friday, day): day for day in days.values()} == days
    assert WORK.day_of_delay(dt.date(2032, 7, 4), 0) == dt.date(2032, 7, 6)
    assert due_days(SOWN, CROP) == [FIRST, SECOND - dt.timedelta(days=1)]


def test_a_record_tells_how_promptly_plants_are_moved() -> None:
    """Three of four moves a shift late, of either kind; what no record tells counts as one more."""
    monday = dt.date(2032, 4, 12)
    on_time, late = monday + dt.timedelta(days=14), monday + dt.timedelta(days=15)
    rows = [row_of(monday, transplanted=day) for day in (on_time, late, late)]
    rows.append(row_of(monday, transplanted=None, transplanted_again=dt.date(2032, 5, 5)))  # due Tuesday the 4th
    delays = delays_of(rows, ROOM, WORK)

    assert sum(delays.values()) == pytest.approx(1.0)
    assert delays[1] == pytest.approx((3 + 0.25 / sum(PROMPT.values())) / 5)
    assert delays[1] > delays[0] > delays[2]


def test_a_row_with_every_date_under_like_lamps_leaves_one_past() -> None:
    """And a missing second move leaves many: apart by what a week in a crowd costs in speed."""
    known = pasts_of().of(row_of(transplanted_again=SECOND), [SOWN + dt.timedelta(days=39)])
    late = {0: 0.5, 5: 0.5}
    unknown = pasts_of(delays=late).of(row_of(), [SOWN + dt.timedelta(days=39)])

    assert len(known) == 1
    assert known[0].chance == pytest.approx(1.0)
    assert known[0].unlike < 0.01
    assert len(unknown) == 2
    assert [past.chance for past in unknown] == pytest.approx([0.5, 0.5])
    assert sorted(past.until_harvest[1] for past in unknown)[1] > known[0].until_harvest[1] + 5.0


def test_a_lamp_that_failed_parts_those_that_stood_under_it() -> None:
    """Four banks over the finishing stage: one in four stood under the one that was dark for four days."""
    down = dt.datetime.combine(SOWN + dt.timedelta(days=28), dt.time())
    pasts = pasts_of({"wide two": [(down, down + dt.timedelta(days=4))]}).of(row_of(transplanted_again=SECOND), [])

    assert [past.chance for past in pasts] == pytest.approx([0.75, 0.25])
    assert pasts[0].until_harvest[2] - pasts[1].until_harvest[2] == pytest.approx(4.0, abs=0.6)


def test_a_brighter_lamp_counts_for_more_days() -> None:
    """A bank that is a third brighter makes its plants faster, and more so where they stand close to being
    harvested.
    """
    lights = tuple(
        bank.model_copy(update={"ppfd_umol_m2_s": bank.ppfd_umol_m2_s * (4 / 3 if bank.name == "wide one" else 1.0)})
        for bank in ROOM.lights
    )
    room = ROOM.model_copy(update={"lights": lights})
    curve = PlanCurve(room, CROP, calibrate(CROP, room))
    spread, finishing = (
        {bank.name: curve.pace_under(room, stage, bank.name) for bank in lights if bank.name.startswith("wide")}
        for stage in CROP.stages_in_order()[1:]
    )

    assert finishing["wide one"] > spread["wide one"] > 1.03
    assert finishing["wide two"] == finishing["wide three"] < 1.0
    assert curve.pace_under(room, CROP.stages_in_order()[0], "narrow one") == pytest.approx(1.0, abs=1e-3)


def learned_spread(rows: list[PlantingRow], pasts: Pasts) -> tuple[float, float]:
    """The range of the spread of speed that holds eight in ten."""
    curves = curves_by_mass(ROOM, CROP)
    sowings = [found for found in (ripening_of(curves, row, pasts) for row in rows) if found is not None]
    after, _ = learn_growth(sowings, Prior(1.0, 0.08, 1.0), CROP.days_spread_cv, Prior(1.0, 0.1, 1.0))
    found = known_from(np.exp(after.axes[1]), after.marginal(1))
    return found.low, found.high


def test_late_second_moves_are_not_taken_for_sowings_that_differ() -> None:
    """Sowings that hardly differ, every other one moved late the second time: with the day written down the spread is
    found, and without it the range is wide enough to hold it still."""
    true, late = 0.02, {0: 0.5, 5: 0.5}
    speeds = np.random.default_rng(7).normal(1.0, true, 24)
    rows = []
    for number, speed in enumerate(speeds):
        sown = SOWN + dt.timedelta(days=7 * number)
        moves = [sown + (FIRST - SOWN), WORK.day_of_delay(due_days(sown, CROP)[1], 5 * (number % 2))]
        cut = sown + dt.timedelta(days=39)
        row = grown(
            pasts_of(),
            row_of(sown, transplanted=moves[0], transplanted_again=moves[1], harvested=cut),
            float(speed),
            moves,
        )
        assert row.grams is not None
        rows.append(replace(row, grams=row.grams * math.exp(ROUGHNESS * (-1) ** (number // 2))))
    unsaid = [replace(row, transplanted_again=None) for row in rows]
    known = learned_spread(rows, pasts_of(delays=late))
    summed_out = learned_spread(unsaid, pasts_of(delays=late))
    as_planned = learned_spread(unsaid, pasts_of(delays={0: 1.0}))

    assert known[0] < true < known[1]
    assert summed_out[0] < true < summed_out[1]
    assert summed_out[1] - summed_out[0] > known[1] - known[0]
    assert as_planned[0] > 1.3 * true  # what was learned before the days were summed out
