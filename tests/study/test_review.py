"""Drifts: the sums held to a handbook's table, and a made-up room that differs from its file in one figure."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from growsim.errors import InputError
from growsim.report.review import words
from growsim.run.prepare import prepare_room
from growsim.run.replicate import trace
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import Records
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.review import drift
from growsim.study.review.question import Drifted, Held, Review, review
from tests.kept_records import as_csv, kept

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
WEEKS = 20
LOWER = 0.15


@pytest.mark.parametrize(("shift", "weeks"), [(0.5, 26.6), (1.0, 8.38), (2.0, 3.34)])
def test_a_shift_is_found_as_soon_as_a_handbook_says(shift: float, weeks: float) -> None:
    """Average run lengths of two-sided sums with k = 0.5 and h = 4: Montgomery, *Introduction to Statistical Quality
    Control*, table of the tabular cusum's ARL (from memory)."""
    scores = np.random.default_rng(5).standard_normal((4000, 400)) + shift
    above, below = drift._paths(scores)
    over = np.maximum(above, below) > 4.0
    assert over.any(axis=1).all()
    first = over.argmax(axis=1) + 1.0
    assert abs(first.mean() - weeks) < 4 * first.std() / len(first) ** 0.5 + 0.01 * weeks


@pytest.mark.slow
def test_false_alarms_of_all_figures_together_are_as_many_as_said() -> None:
    """Twelve figures in which nothing changed, counted in 400 years; three of them mostly nothing, as failures are."""
    rng = np.random.default_rng(7)
    years, weeks, figures = 400, 52, 12
    alarms = 0
    for number in range(figures):
        rate = 0.08 if number < 3 else 40.0
        made_up = rng.poisson(rate, (2000, weeks)).astype(float)
        for _ in range(years // 10):
            seen = rng.poisson(rate, weeks).astype(float)
            sums = drift.sums_of(seen, made_up, figures)
            alarms += sums.first_over(sums.limit) is not None
    a_year = alarms / (years / 10)
    assert a_year < drift.FALSE_ALARMS + 3 * (drift.FALSE_ALARMS / (years / 10)) ** 0.5
    assert a_year <= 1.0


def a_record(room: LoadedRoom, lived: Scenario, folder: Path) -> Records:
    """What people would have written down in a room that is otherwise than its file."""
    book = trace(replace(prepare_room(room), scenario=lived), 404, 1, RunPlan(7 * WEEKS, 0, "empty"))
    return read_records(as_csv(kept(book, room.scenario), folder), room.scenario)


def reviewed(room: LoadedRoom, records: Records) -> Review:
    """The last week, few times rehearsed."""
    return review(room, records, seed=1, replications=20)


@pytest.fixture(scope="module")
def room() -> LoadedRoom:
    """The tiny room."""
    return load_scenario(TINY)


def test_a_crop_that_comes_up_less_is_named_with_what_explains_it(room: LoadedRoom, tmp_path: Path) -> None:
    """Its share since it began, its days of sowing, and the key of the room file; nothing else is named."""
    crop = room.scenario.crops[1]
    lower = crop.model_copy(
        update={"germination_fraction": Uncertain(value=crop.germination_fraction.expected() - LOWER)}
    )
    lived = room.scenario.model_copy(update={"crops": (room.scenario.crops[0], lower)})
    records = a_record(room, lived, tmp_path)
    found = reviewed(room, records)
    assert [(each.kind, each.what) for each in found.drifted] == [("seedlings", crop.name)]
    (figure,) = found.drifted
    assert figure.drifted is not None
    rows = [row for row in records.plantings if row.crop == crop.name and row.emerged is not None and row.cells]
    since = [row for row in rows if row.sown >= figure.drifted.since and row.sown < found.monday + dt.timedelta(days=7)]
    up, cells = sum(row.emerged or 0 for row in since), sum(row.cells or 0 for row in since)
    assert (figure.drifted.seen.seen, figure.drifted.seen.of) == (up, cells)
    assert figure.drifted.years > 20
    said = words.front(found)
    assert said.why.startswith(f"{crop.name.capitalize()} cells with a seedling: {round(100 * up / cells)}% since ")
    assert said.advice[0].startswith("Sow ")
    assert said.advice[0].endswith(f"% more cells of {crop.name}, to have as many seedlings as planned.")
    told = ((("other",), "Of others less.", -0.4, -0.2), ((figure.key,), "Of your seeds 64% germinate.", -0.2, -0.1))
    whole = words.front(found, words.Whole("All of the record says more.", told))
    named = " ".join(each[1] for each in told[: words.MOST_NAMED])
    assert whole.advice[1].startswith(f"All of the record says more. {named} `growsim learn`")
    assert "would make. Of your seeds 64% germinate." in whole.why and "Of others" not in whole.why
    assert said.table.rows[0].label.startswith(f"{crop.name} cells with a seedling (drifted since ")
    on_page = {row.label for row in said.table.rows}
    others = {row.label for row in words.table(found, in_full=True).rows}
    assert on_page.isdisjoint(others)
    assert len(on_page | others) == len(found.figures)
    assert len(on_page) <= 6
    spent = said.spent()
    assert spent[0] <= 120
    assert spent[1] <= 15


def test_an_unchanged_room_is_held_to_what_then_stood(room: LoadedRoom, tmp_path: Path) -> None:
    """Nothing is named; kilograms of the week and of eight are those of the record, beside a range; no week of which
    nothing is on record."""
    records = a_record(room, room.scenario, tmp_path)
    found = reviewed(room, records)
    assert found.drifted == ()
    assert "No figure has drifted from the room file" in words.headline(found)
    assert words.front(found).advice == ("Nothing to do this week.",)
    greens = next(each for each in found.figures if each.kind == "greens")
    more, less = ((("a",), "More of a.", 1.3, 1.6), (("b",), "Less of b.", -1.6, -1.3))
    little = (("c",), "A little less of c.", -1.5, -1.2)  # of 50 kg in eight weeks a quarter is 1.56 kg a week
    for kg, told, says in (
        (150.0, (more, less), "Less of b."),
        (250.0, (less, more), "More of a."),
        (150.0, (more, little), "Nothing on record tells why."),
        (250.0, (less,), "Nothing on record tells why."),
    ):  # what is heavier is no reason for fewer kilograms
        figures = (replace(greens, lately=Held(kg, 190.0, 210.0)), *(each for each in found.figures if each != greens))
        there, whole = replace(found, figures=figures), words.Whole("Learned.", told)
        assert words.why(there, whole) == says
        named = " ".join(each[1] for each in told)
        new = f"Nothing new to do this week. Learned. {named} `growsim learn` writes it as a change"
        assert words.advice(there, whole)[0].startswith(words.LOOK if kg < 190.0 else new)
        lost = replace(greens, kind="losses", lately=Held(20.0, 3.0, 10.0))
        lossy = words.why(replace(there, figures=(lost, *[each for each in figures if each.kind != "losses"])), whole)
        assert lossy == (f"{says} 20 plants were lost, 3 to 10 were expected." if kg < 190.0 else says)
    first = found.monday - dt.timedelta(weeks=7)
    end = found.monday + dt.timedelta(days=7)
    kg = sum((row.grams or 0) / 1000 for row in records.plantings if row.harvested and first <= row.harvested < end)
    assert greens.lately is not None
    assert greens.lately.seen == pytest.approx(kg)
    inside = sum(held.low <= held.seen <= held.high for _, held in found.greens)
    assert inside >= 4  # of eight weeks, eight in ten each: fewer come about in one of a hundred records
    people = next(each for each in found.figures if each.kind == "people").lately
    shifts = [row for row in records.attendance if first <= row.date < end]
    assert people is not None
    assert (people.seen, people.of) == (sum(row.came for row in shifts), sum(row.signed_up for row in shifts))
    with pytest.raises(InputError, match="nothing of the week of 2033"):
        review(room, records, week=dt.date(2033, 1, 5), seed=1, replications=20)


def test_losses_are_held_against_weeks_that_could_go_wrong(room: LoadedRoom, tmp_path: Path) -> None:
    """A crop of which a fifth is lost in moving: as many as come about, by the record and as expected (eight weeks
    of 30 cells, 9 in 10 of which germinate: binomial); of a record too short to tell, none are shown."""
    head = room.scenario.crops[1]
    fragile = tuple(
        stage.model_copy(update={"loss_fraction": Uncertain(value=0.2)}) if stage.after else stage
        for stage in head.stages
    )
    crops = (room.scenario.crops[0], head.model_copy(update={"stages": fragile}))
    there = replace(room, scenario=room.scenario.model_copy(update={"crops": crops}))
    records = a_record(there, there.scenario, tmp_path)
    found = {each.kind: each for each in reviewed(there, records).figures}["losses"]
    assert found.lately is not None
    expected, sd = 8 * 30 * 0.9 * 0.2, (8 * 30 * 0.9 * 0.2 * 0.8) ** 0.5
    assert abs((found.lately.low + found.lately.high) / 2 - expected) < 2 * sd
    assert 1.5 * sd < found.lately.high - found.lately.low < 8 * sd
    early = records.first + dt.timedelta(weeks=10)
    short = review(there, records, week=early, seed=1, replications=20)
    assert "greens" in {each.kind for each in short.figures}
    assert "losses" not in {each.kind for each in short.figures}


def test_one_story_of_what_is_otherwise(room: LoadedRoom, tmp_path: Path) -> None:
    """Nothing drifted and figures that differ all along are told apart, and which these are is said; where more come
    than planned nobody is to be turned away."""
    found = reviewed(room, a_record(room, room.scenario, tmp_path))
    found = replace(found, figures=tuple(each for each in found.figures if each.kind != "greens"))
    learned = words.Whole("By your record a figure differs.", ((("a",), "Your heads weigh less.", -1.6, -1.3),))
    said = words.front(found, learned)
    assert said.why == f"None of the {found.watched} figures watched has moved in these weeks."
    assert said.advice[0].startswith(
        "Nothing new to do this week. By your record a figure differs. Your heads weigh less."
    )
    assert said.fits
    people = next(each for each in found.figures if each.kind == "people")
    more = replace(people, drifted=Drifted(found.monday, Held(30.0, 20.0, 26.0, 30.0), 900.0, True))
    assert words.make_up(more) == ""
    fewer = replace(people, drifted=Drifted(found.monday, Held(15.0, 20.0, 26.0, 30.0), 900.0, False))
    assert words.make_up(fewer).startswith("Sign up 53% more people")


def test_crops_are_compared_as_soon_as_the_record_tells_of_all_that_stood(room: LoadedRoom, tmp_path: Path) -> None:
    """A crop that lives longer than the record is left out of the week, and that is said; with none known, why not."""
    records = a_record(room, room.scenario, tmp_path)
    first = min(row.sown for row in records.plantings if row.cells)
    monday = first + dt.timedelta(weeks=1)
    none = review(room, records, week=monday, seed=1, replications=20)
    assert "cannot be compared: the record does not go back to all that stood there." in words.headline(none)
    some = [review(room, records, week=first + dt.timedelta(weeks=week), seed=1, replications=20) for week in (4, 5, 6)]
    part = next(each for each in some if 0 < len(each.unknown) < len(room.scenario.crops))
    assert f"Left out: {part.unknown[0]}, since" in words.how_sure(part)
    known = next(crop.name for crop in room.scenario.crops if crop.name not in part.unknown)
    kg = sum((row.grams or 0.0) / 1000.0 for row in records.plantings if row.crop == known and row.harvested
             and 0 <= (row.harvested - part.monday).days < 7)  # fmt: skip
    greens = next(each for each in part.figures if each.kind == "greens")
    assert greens.week is not None
    assert greens.week.seen == pytest.approx(kg)
    assert f"kg of {known}, " in words.headline(part)
    assert "orders" not in {each.kind for each in part.figures}
