"""Sums on paper, done again by hand."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from wrong_rooms import edited

from growsim.scenario import on_paper
from growsim.scenario.checks.crops import sowing_fits
from growsim.scenario.load import load_scenario
from growsim.scenario.scenario import Scenario
from growsim.scenario.size import paces_stated, size_of, size_sentences
from growsim.vocabulary.tasks import TASKS

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.fixture
def tiny() -> Scenario:
    """The tiny room."""
    return load_scenario(TINY).scenario


def test_emergence_lies_on_straight_lines_between_the_table(tiny: Scenario) -> None:
    """At 22 °C, between 20 (3 days) and 25 (2 days); held level beyond 10 and 30 °C."""
    crop = tiny.crops[0]

    assert on_paper.emergence_at(crop, 22) == pytest.approx((2.6, 1.0))
    assert on_paper.emergence_at(crop, 27.5) == pytest.approx((2.5, 0.56))
    assert on_paper.emergence_at(crop, 5) == (7, 1)
    assert on_paper.emergence_at(crop, 40) == (3, 0.12)


def test_a_cell_is_filled_if_any_seed_comes_up(tiny: Scenario) -> None:
    """Two seeds at 0.85: 1 - 0.15 squared."""
    assert on_paper.filled_fraction(tiny.crops[0], 22) == pytest.approx(0.9775)


def test_output_of_a_week(tiny: Scenario) -> None:
    """60 cells of leaf at 25 g and 30 of heads at 110 g, less what stays away and 5 % trimmed off."""
    leaf, head = on_paper.weekly_plan(tiny)

    assert leaf.kg == pytest.approx(60 * 0.9775 * 0.025 * 0.95)
    assert head.kg == pytest.approx(30 * 0.9 * 0.110 * 0.95)


def test_slots_wanted(tiny: Scenario) -> None:
    """Trays a week times days in the stage, over seven: whole trays, however full."""
    assert on_paper.slots_wanted(tiny) == pytest.approx(
        {
            ("seedling", "seed tray"): (1 * 12 + 1 * 14) / 7,
            ("leaf", "seed tray"): 1 * 13 / 7,
            ("head", "head tray"): 3 * 21 / 7,
        }
    )


def test_slots_for_a_stage(tiny: Scenario) -> None:
    """Seedlings only on the top shelf, heads only below, leaf on all."""
    leaf, head = tiny.crops

    assert [on_paper.slots_for(tiny, stage) for stage in (*leaf.stages, head.stages[1])] == [4, 16, 12]


def test_later_cuts_hold_the_slot_and_give_less(tmp_path: Path) -> None:
    """Two harvests: 14 days more in the last stage, and 1.6 times the mass."""
    text = edited([("typical_mass_g = 25", "typical_mass_g = 25\nharvests = 2")])
    (tmp_path / "room.toml").write_text(text, encoding="utf-8")
    crop = load_scenario(tmp_path).scenario.crops[0]

    assert on_paper.stage_days(crop, crop.stages[1]) == 13 + 14
    assert on_paper.stage_days(crop, crop.stages[0]) == 12
    assert on_paper.kg_of_plants(crop, 100) == pytest.approx(100 * 0.025 * 1.6 * 0.95)


def test_hours_of_hands(tiny: Scenario) -> None:
    """Two shifts of two hours: two volunteers by their chance of coming, and the lead."""
    mean_chance = sum(tiny.crew.chance_of_coming) / 12

    assert on_paper.crew_hours_per_week(tiny) == pytest.approx(2 * 2 * (2 * mean_chance + 1))


def test_hours_of_hands_of_a_shift_of_some_months(tiny: Scenario) -> None:
    """Thursdays in January and July alone: a sixth of the year, with the chances of these two months, lead and all."""
    monday, thursday = tiny.crew.shifts
    shifts = (monday, thursday.model_copy(update={"months": (1, 7)}))
    some = tiny.model_copy(update={"crew": tiny.crew.model_copy(update={"shifts": shifts})})
    chance = tiny.crew.chance_of_coming
    mondays = 2 * (2 * sum(chance) / 12 + 1)
    thursdays = 2 * (2 * (chance[0] + chance[6]) + 2) / 12

    assert on_paper.crew_hours_per_week(some) == pytest.approx(mondays + thursdays)


def test_hours_of_work(tiny: Scenario) -> None:
    """Each task's minutes for a week of the plan, added by hand."""
    leaf, head = 60 * 0.9775, 30 * 0.9
    sow = 5 + 6 + 5 + 3
    thin = 2 + 0.05 * (2 * 0.85 - 0.9775) * 60
    move = 3 + 0.2 * leaf + 3 + 0.2 * head
    cut = 5 + 0.4 * leaf + 5 + 0.4 * head
    pack = 5 + 6 * leaf * 0.02375 + 5 + 6 * head * 0.1045
    wash = 2 * 2 + 3 * (1 + 1) + 2 * 2 + 3 * (1 + 3)
    change, top_up = 40 / 4, 2 * 8
    total = sow + thin + move + cut + pack + wash + change + top_up

    assert on_paper.work_hours_per_week(tiny) * 60 == pytest.approx(total)


@pytest.mark.parametrize("task", TASKS)
def test_every_task_counts_on_paper(tiny: Scenario, task: str) -> None:
    """A room that is short of one kind of work asks for fewer hours: none is forgotten."""
    others = tuple(each for each in tiny.crew.tasks if each.name != task)
    without = tiny.model_copy(update={"crew": tiny.crew.model_copy(update={"tasks": others})})

    assert on_paper.work_hours_per_week(without) < on_paper.work_hours_per_week(tiny) - 0.02


def test_a_line_of_some_months_and_every_other_week_counts_for_less(tiny: Scenario) -> None:
    """Every two weeks in February, March and April: 89 of 182 days from January 6 on, half of it."""
    line = tiny.sowing[0].model_copy(update={"every_weeks": 2, "months": (2, 3, 4)})

    assert on_paper.sowings_per_week(tiny, line) == pytest.approx(89 / 182 / 2)


def test_a_line_with_dates_counts_in_its_time_alone(tiny: Scenario) -> None:
    """From March 1 (day 54 of 182) and, another, until then: the two together are one line of the whole time."""
    since = tiny.sowing[0].model_copy(update={"from_date": dt.date(2031, 3, 1)})
    until = tiny.sowing[0].model_copy(update={"until_date": dt.date(2031, 2, 28)})
    never = tiny.sowing[0].model_copy(update={"from_date": dt.date(2040, 1, 1)})

    assert on_paper.sowings_per_week(tiny, since) == pytest.approx(128 / 182)
    assert on_paper.sowings_per_week(tiny, until) == pytest.approx(54 / 182)
    assert on_paper.sowings_per_week(tiny, never) == 0.0


def test_size_in_sentences(tiny: Scenario) -> None:
    """The first sentence says that the room is sound; figures follow, singular where there is one."""
    first, room, plan, promises, crew, last = size_sentences("Tiny", size_of(tiny))

    assert first == "Tiny: the description is complete and possible."
    assert room.startswith("Room: 1 rack, 4 shelves, 16 slots for trays, 3.8 m² to grow on")
    assert "90 cells sown a week" in plan
    assert plan.endswith(" A week gives 86 plants and 4.2 kg of greens.")
    assert promises == "Promises: 2.8 kg a week to partners."
    assert crew.startswith("Crew: 2 shifts, about 10 labor hours a week; the plan asks for 3 hours")
    assert "growsim rehearse" in last


def test_what_is_sown_by_the_tray_is_told_in_trays(tiny: Scenario) -> None:
    """Of two crops one in trays that are harvested whole: in the plan, and in what asks for too many."""
    whole = tiny.crops[0].model_copy(update={"sown_by": "tray", "seed_g_each": 150.0})
    trays = tiny.model_copy(update={"crops": (whole, *tiny.crops[1:])})
    line = next(each for each in tiny.sowing if each.crop == whole.name)
    many = trays.model_copy(update={"sowing": (line.model_copy(update={"cells": 9000}),)})
    ((_, problem, remedy),) = list(sowing_fits(many))

    plan = size_sentences("Tiny", size_of(trays))[2]
    assert re.search(r"\d+ trays and \d+ cells sown a week|\d+ cells and \d+ trays sown", plan)
    assert problem.startswith("is ") and " trays, and only " in problem
    assert re.fullmatch(r"sow at most \d+ trays, or permit the stage on more shelves", remedy)


def test_plants_that_are_cut_again_are_told_beside_their_cuttings(tiny: Scenario) -> None:
    """A rehearsal counts harvests: two numbers for what is one plan must not stand unexplained."""
    twice = tiny.model_copy(update={"crops": tuple(crop.model_copy(update={"harvests": 2}) for crop in tiny.crops)})
    once = tiny.model_copy(update={"crops": tuple(crop.model_copy(update={"harvests": 1}) for crop in tiny.crops)})
    size = size_of(twice)
    told = size_sentences("Tiny", size)[2]

    assert size.harvest_days_per_week == pytest.approx(2 * size.plants_harvested_per_week)
    assert f" plants (some of them harvested again: {size.harvest_days_per_week:,.0f} harvests) and " in told
    assert "cuttings" not in size_sentences("Tiny", size_of(once))[2]


def test_a_pace_that_is_written_down_is_told(tiny: Scenario) -> None:
    """Of those crops alone that have one: their days and mass no longer change how fast they grow."""
    leaf, head = tiny.crops
    one, both = (
        tiny.model_copy(update={"crops": crops})
        for crops in (
            (leaf, head.model_copy(update={"growth_rate": 1.1})),
            tuple(crop.model_copy(update={"growth_rate": 1.1}) for crop in (leaf, head)),
        )
    )

    assert (paces_stated(tiny), paces_stated(one)) == ((), ("small head",))
    *_, said, last = size_sentences("Tiny", size_of(one), paces_stated(one))
    assert said == (
        "Pace: how fast small head grows is written down (growth_rate), so other days or another typical mass would "
        "not change it. Take growth_rate out of it to have the pace found from days and mass again."
    )
    assert "growsim rehearse" in last
    said = size_sentences("Tiny", size_of(both), paces_stated(both))[-2]
    assert said.startswith("Pace: how fast cutting leaf and small head grow is written down")
