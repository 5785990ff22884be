"""What a record teaches: little stays near the room file and says so; drift and odd rows are named."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path
from statistics import stdev

import pytest
from kept_records import Tables, as_csv, kept

from growsim.ledger.events import Germinated
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.change import changed_room, load_change
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import AttendanceRow, PlantingRow, Records, WorkRow
from growsim.study.learn.learned import Learned
from growsim.study.learn.question import Learning, learn, merged

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
PREPARED = prepare(TINY.scenario)
MONDAY = dt.date(2031, 3, 3)
THURSDAY = dt.date(2031, 3, 6)  # the tiny room harvests on Thursdays


@pytest.fixture(scope="module")
def tables() -> Tables:
    """The record of half a year of the tiny room, as its file has it."""
    return kept(trace(PREPARED, 11, 0, RunPlan(days=182, warm_up_days=56)), TINY.scenario)


@pytest.fixture(scope="module")
def learning(tables: Tables, tmp_path_factory: pytest.TempPathFactory) -> Learning:
    """What it teaches."""
    return learned(tables, tmp_path_factory.mktemp("record"))


def learned(tables: Tables, folder: Path, *, no_faults: bool = False) -> Learning:
    """What the tables teach about the tiny room."""
    return learn(TINY, PREPARED, read_records(as_csv(tables, folder), TINY.scenario), no_faults=no_faults)


def figure(learning: Learning, key: str) -> Learned:
    """One figure by its key."""
    (found,) = [each for each in learning.figures if each.key == key]
    return found


def trays(*rows: dict[str, object]) -> Records:
    """A record of sowings only."""
    made = [
        PlantingRow("plantings.csv", line, **{"sown": MONDAY, "crop": "small head", **row})  # type: ignore[arg-type]
        for line, row in enumerate(rows, start=2)
    ]
    return Records(plantings=tuple(made))


def test_one_sowing_hardly_moves_a_figure_and_says_so() -> None:
    """Fifty of sixty cells: between the room file's 90 % and the record's 83 %; the range is hardly narrower."""
    found = figure(learn(TINY, PREPARED, trays({"cells": 60, "emerged": 50})), "crops.small head.germination_fraction")

    assert 0.833 < found.after.middle < 0.9
    assert found.records == 1
    assert found.after.width > 0.5 * found.before.width


def test_nothing_written_leaves_the_room_file_and_the_change_silent() -> None:
    """Figures without a record stay as they are and are in no CHANGE file."""
    found = learn(TINY, PREPARED, trays({"cells": 60, "emerged": 50}))

    assert {each.key for each in found.figures if not each.is_little} <= {"crops.small head.germination_fraction"}
    assert set(found.change) == {"crops"}
    assert [crop["name"] for crop in found.change["crops"]] == ["small head"]
    assert "growth_pace" not in found.change["crops"][0]
    mass = figure(found, "crops.cutting leaf.typical_mass_g")
    assert mass.after.middle == pytest.approx(mass.before.middle, rel=1e-6)


def test_fifty_sowings_have_the_say() -> None:
    """Seventy of a hundred cells, fifty times over, against 90 % in the room file."""
    rows = [{"cells": 100, "emerged": 70, "sown": MONDAY + dt.timedelta(days=7 * week)} for week in range(50)]
    found = figure(learn(TINY, PREPARED, trays(*rows)), "crops.small head.germination_fraction")

    assert found.after.middle == pytest.approx(0.7, abs=0.01)
    assert found.is_clear
    assert not found.is_little


def test_a_record_of_the_room_as_it_is_bears_the_room_file_out(learning: Learning) -> None:
    """At most a few figures of the true room seem clear of it (95 % ranges)."""
    taught = [each for each in learning.figures if each.records and each.group != "spreads"]

    assert len(taught) > 15
    assert sum(each.is_clear for each in taught) <= 3


def test_months_without_shifts_move_with_the_others() -> None:
    """Half of those signed up come in spring: autumn is thought lower too, but less surely."""
    attendance = tuple(
        AttendanceRow("attendance.csv", week + 2, MONDAY + dt.timedelta(days=7 * week), "", 4, 2) for week in range(12)
    )
    found = learn(TINY, PREPARED, Records(attendance=attendance))
    april, october = (figure(found, f"crew.chance_of_coming.{month}") for month in ("april", "october"))

    def moved(each: Learned) -> float:
        return math.log(each.stated / (1 - each.stated) * (1 - each.after.middle) / each.after.middle)

    assert moved(april) > moved(october) > 0.5
    assert april.after.width < october.after.width
    assert october.is_little
    assert any("No shift is written down for January" in note for note in found.notes)


def test_people_who_come_and_stay_away_together_count_for_less() -> None:
    """All or none at a time is worth less than the same share spread evenly."""

    def of(came: list[int]) -> Learned:
        attendance = tuple(
            AttendanceRow("attendance.csv", k + 2, MONDAY + dt.timedelta(days=k), "", 6, number)
            for k, number in enumerate(came)
        )
        return figure(learn(TINY, PREPARED, Records(attendance=attendance)), "crew.chance_of_coming.march")

    assert of([6, 6, 6, 0] * 6).after.width > 1.5 * of([5, 4, 5, 4] * 6).after.width


def test_drift_is_named_with_its_lines() -> None:
    """Ninety of a hundred germinate until summer, seventy after: said, with the day and the lines of both halves."""
    rows = [
        {"cells": 100, "emerged": 90 + week % 3 if week < 20 else 70 + week % 3,
         "sown": MONDAY + dt.timedelta(days=7 * week)}
        for week in range(40)
    ]  # fmt: skip
    (drift,) = learn(TINY, PREPARED, trays(*rows)).drift

    assert (round(drift.early, 2), round(drift.late, 2)) == (0.91, 0.71)
    assert drift.since == MONDAY + dt.timedelta(days=140)
    assert drift.lines == "plantings.csv lines 2 to 21, against plantings.csv lines 22 to 41"


def test_a_steady_record_has_no_drift_and_nothing_odd() -> None:
    """The same all year long."""
    rows = [
        {"cells": 100, "emerged": 88 + week % 5, "sown": MONDAY + dt.timedelta(days=7 * week)} for week in range(40)
    ]
    found = learn(TINY, PREPARED, trays(*rows))

    assert (found.drift, found.odd) == ((), ())


def test_a_slip_of_the_pen_is_named_by_line_and_kept_out() -> None:
    """Ten times the grams in one row: named, not believed; the same figure comes out as without it."""
    cut = [
        {"cells": 60, "emerged": 55, "harvested": MONDAY + dt.timedelta(days=35 + 7 * week), "plants_harvested": 54,
         "grams": 5800.0 + 50 * (week % 4), "sown": MONDAY + dt.timedelta(days=7 * week)}
        for week in range(16)
    ]  # fmt: skip
    slipped = [{**row, "grams": 58000.0} if week == 5 else row for week, row in enumerate(cut)]
    sound, odd = learn(TINY, PREPARED, trays(*cut)), learn(TINY, PREPARED, trays(*slipped))
    key = "crops.small head.typical_mass_g"

    assert [(each.line, each.used) for each in odd.odd] == [(7, False)]
    assert "g a plant" in odd.odd[0].says
    assert figure(odd, key).after.middle == pytest.approx(figure(sound, key).after.middle, rel=0.01)
    assert figure(odd, key).records == figure(sound, key).records - 1


def test_slower_plants_are_told_from_lighter_ones() -> None:
    """Harvested a week later at the same mass: slower. Harvested on the day and lighter: lighter."""

    def of(days: int, grams: float) -> Learning:
        return learn(
            TINY,
            PREPARED,
            trays(*(
                {"cells": 60, "emerged": 55, "transplanted": THURSDAY + dt.timedelta(days=7 * week + 14),
                 "plants_harvested": 54,
                 "harvested": THURSDAY + dt.timedelta(days=7 * week + days), "grams": 54 * grams,
                 "sown": THURSDAY + dt.timedelta(days=7 * week)}
                for week in range(20)
            )),
        )  # fmt: skip

    usual, late, light = of(35, 104.0), of(42, 104.0), of(35, 80.0)
    days, mass = "crops.small head.days_to_typical_mass", "crops.small head.typical_mass_g"

    assert figure(usual, days).after.low < 35 < figure(usual, days).after.high
    assert figure(late, days).after.low > figure(usual, days).after.high
    assert figure(late, days).after.middle == pytest.approx(figure(usual, days).after.middle + 7, abs=3.0)
    assert figure(late, mass).after.middle == pytest.approx(figure(usual, mass).after.middle, rel=0.12)
    assert figure(light, mass).after.middle < 0.85 * figure(usual, mass).after.middle


def test_an_empty_table_of_faults_teaches_nothing_unless_told_so(tables: Tables, tmp_path: Path) -> None:
    """It may be that nobody wrote them down. With --no-faults machines are thought better than before."""
    empty = {**tables, "faults": []}
    unsaid, said = learned(empty, tmp_path / "a"), learned(empty, tmp_path / "b", no_faults=True)
    key = "pump.running_hours_to_failure"

    assert key not in {each.key for each in unsaid.figures}
    assert any("--no-faults" in note for note in unsaid.notes)
    assert figure(said, key).after.middle > figure(said, key).before.middle
    assert "reservoirs" in said.change


def test_work_that_is_told_by_rounding_teaches_no_minutes() -> None:
    """Two minutes by the clock say little; the row is used up with a note, not in silence."""
    work = tuple(WorkRow("work.csv", line, MONDAY, "thin", 3.0, 1.0, 3.0) for line in range(2, 12))
    found = learn(TINY, PREPARED, Records(work=work))

    assert figure(found, "crew.tasks.thin.minutes_per_unit").records == 0
    assert any(note.startswith("thin: 10 jobs planned for under eight minutes") for note in found.notes)


def test_the_change_file_loads_and_makes_the_room_that_was_learned(learning: Learning, tmp_path: Path) -> None:
    """Written, read and merged as any CHANGE file is; every figure says how many records it rests on."""
    from growsim.report.learn.answer import learned_text

    path = tmp_path / "learned.toml"
    path.write_text(learned_text(learning), "utf-8")
    change = load_change(path)

    assert change.title == "learned from the record"
    assert changed_room(TINY, change).scenario == learning.scenario
    crop = learning.scenario.crops[1]
    assert crop.germination_fraction.source.startswith("learned from ")
    assert crop.germination_fraction.distribution == "beta"
    assert learning.scenario.crew.chance_doubt_sd


def test_every_rehearsed_year_draws_its_own_figures(learning: Learning) -> None:
    """Years of the learned room differ in what share germinates more than one year's sowings let one expect."""
    crops = learning.scenario.crops
    wide = [crop.germination_fraction.model_copy(update={"sd": 0.06}) for crop in crops]
    doubtful = learning.scenario.model_copy(
        update={
            "crops": tuple(
                crop.model_copy(update={"germination_fraction": figure})
                for crop, figure in zip(crops, wide, strict=True)
            )
        }
    )

    def share_up(room: LoadedRoom, i: int) -> float:
        came_up = trace(prepare(room.scenario), 3, i, RunPlan(120, 28)).of(Germinated)
        up = [came for came in came_up if came.crop == "small head"]
        return sum(came.filled_cells for came in up) / sum(came.filled_cells + came.not_emerged for came in up)

    narrow = stdev(share_up(replace(TINY, scenario=learning.scenario), i) for i in range(8))

    assert stdev(share_up(replace(TINY, scenario=doubtful), i) for i in range(8)) > 2 * narrow


def test_learning_twice_from_one_record_is_warned_of(learning: Learning, tables: Tables, tmp_path: Path) -> None:
    """A room that has learned from this very time must not learn from it again unawares."""
    again = replace(TINY, scenario=learning.scenario)
    records = read_records(as_csv(tables, tmp_path), TINY.scenario)
    notes = learn(replace(again, raw=TINY.raw), prepare(learning.scenario), records).notes

    assert any("counts twice" in note for note in notes)
    assert not any("counts twice" in note for note in learning.notes)


def test_pieces_of_a_change_come_together_by_name() -> None:
    """Tables key by key, lists of tables by name, figures whole."""
    one = {"crops": [{"name": "basil", "a": 1}], "crew": {"tasks": [{"name": "harvest", "b": {"value": 2}}]}}
    two = {"crops": [{"name": "basil", "c": 3}, {"name": "kale", "d": 4}], "crew": {"e": [1, 2]}}

    assert merged([one, two]) == {
        "crops": [{"name": "basil", "a": 1, "c": 3}, {"name": "kale", "d": 4}],
        "crew": {"tasks": [{"name": "harvest", "b": {"value": 2}}], "e": [1, 2]},
    }


def test_dark_hours_are_said_not_to_count(tables: Tables, tmp_path: Path) -> None:
    """A record with the lights out twice says so, and takes the crops to be faster than one that keeps quiet of it."""
    down = dt.datetime(2031, 3, 10)
    rows = [["lights", None, at, at, at + dt.timedelta(hours=60)] for at in (down, down + dt.timedelta(days=40))]
    told = learned({**tables, "faults": rows}, tmp_path / "told")
    quiet = learned({**tables, "faults": []}, tmp_path / "quiet")
    key = "crops.cutting leaf.days_to_typical_mass"

    assert any(note.startswith("The lights were out 2 times") for note in told.notes)
    assert not any("lights were out" in note for note in quiet.notes)
    assert figure(told, key).after.middle < figure(quiet, key).after.middle
