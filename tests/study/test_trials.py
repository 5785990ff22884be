"""What is tried against what holds a room back, and what comes of it: kinds, ranks, and rooms with a known cure.

The cures are worked out in tests/timeline/test_held_up.py by hand; common practice, no source.
"""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from small_rooms import tables

from growsim.ledger.outcome import Outage, Outcome
from growsim.run.prepare import Prepared, prepare
from growsim.run.progress import SharedProgress
from growsim.run.rehearse import rehearse
from growsim.run.rehearsers import Rehearsers
from growsim.run.replicate import replicate
from growsim.scenario.change import change_text, file_name, load_change
from growsim.scenario.load import LoadedRoom, load_scenario, scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.alternatives import keep_pace
from growsim.study.causes import AtFirst, Cause, Lacking, Share, causes_of, lacking_of, missing_at_first
from growsim.study.compare.question import compare
from growsim.study.pay_back import Range
from growsim.study.to_try import Trial, sown_on_other_days, trials_for
from growsim.study.trials import judge, to_prove, try_all, try_with, with_trials
from growsim.study.tried import Held, Tried
from growsim.vocabulary.obstacles import parts_of

ROOT = Path(__file__).parents[2]
PLAN = RunPlan(days=182, warm_up_days=56)


def room_of(raw: dict[str, Any]) -> LoadedRoom:
    """A room from its tables."""
    scenario, warnings = scenario_from(raw, "room.toml")
    return LoadedRoom(scenario, raw, Path("room.toml"), "ab" * 32, warnings)


def garage(**changes: Any) -> LoadedRoom:
    """The garage of tests/cases with some tables changed."""
    raw = tomllib.loads((ROOT / "tests" / "cases" / "garage.toml").read_text(encoding="utf-8"))
    for change in changes.values():
        change(raw)
    return room_of(raw)


def one_harvest_day(raw: dict[str, Any]) -> None:
    """Harvest on Fridays only, and only with a lead: peas are ripe on Sunday and overgrown by Thursday."""
    raw["harvest"] |= {"weekdays": ["fri"], "surplus_weekday": "fri"}
    next(task for task in raw["crew"]["tasks"] if task["name"] == "harvest")["needs_lead"] = True


def held_of(room: LoadedRoom, years: int = 12, plan: RunPlan = PLAN) -> Held:
    """What holds it back, and what was tried."""
    lived = rehearse(room.scenario, seed=5, replications=years, plan=plan)
    return try_all(room, lived.outcomes, seed=5, plan=plan)


def year(number: int, kg: float, to_partners: float, orders: float | None = None) -> Outcome:
    """A made-up year."""
    given = {} if orders is None else {"orders_filled_fraction": orders}
    return Outcome(number, {"kg_handed_out_per_week": kg, "kg_to_partners_per_week": to_partners, **given}, {}, {}, {})


def test_causes_are_added_up_over_years_and_weighed() -> None:
    """Two years: 30 and 10 heads overgrown, 60 cells skipped in one. A head is 110 g, 0.9 of the cells fill."""
    scenario = load_scenario(ROOT / "scenarios" / "tiny").scenario
    once = {("small head", "overgrown", "no lead"): 30.0, ("small head", "sowings skipped", "no slot"): 60.0}
    again = {("small head", "overgrown", "no lead"): 10.0, ("cutting leaf", "days late", "no slot"): 8.0}
    outcomes = [Outcome(i, {}, {}, {}, {}, (), held) for i, held in enumerate((once, again))]
    no_slot, no_lead = causes_of(outcomes, scenario)
    crop = next(crop for crop in scenario.crops if crop.name == "small head")
    each = 0.110 * (1.0 - crop.trimmed_fraction)
    filled = 1.0 - 0.1**crop.seeds_per_cell
    moved = 1.0 - crop.stages_in_order()[1].loss_fraction.expected()

    assert (no_slot.held_up, no_slot.days_late) == ("no slot", 4.0)
    assert no_slot.kg == pytest.approx(30 * filled * moved * each, rel=1e-3)
    assert (no_lead.held_up, no_lead.shares[0].count) == ("no lead", 20.0)
    assert no_lead.kg == pytest.approx(20 * each)


@pytest.mark.parametrize(
    ("held_up", "names"),
    [
        ("no harvest day + no lead", ["harvest on Tuesdays too, with or without a lead",
                                      "harvesting by anybody, with or without a lead"]),
        ("no slot", ["blackout trays on the lit shelves of micro rack too"]),
        ("people busy", ["2 more people on every shift", "2 more people on Tuesday evening"]),
        ("reservoir low", ["a float valve on micro reservoir"]),
        ("machine down", ["a second pump on every reservoir", "a spare part for heating and cooling on the shelf"]),
        ("closed", ["2 more people on every shift"]),
        ("air not held", ["3.75 kW of cooling instead of 2.5 kW"]),
    ],
)  # fmt: skip
def test_each_obstacle_is_lifted_by_a_change_of_its_own(held_up: str, names: list[str]) -> None:
    """All can be made in the room file; nothing is tried against a closing, and people always."""
    room = garage(day=one_harvest_day)
    shares = (Share("radish shoots", "sowings skipped", 100.0, 1.0), Share("radish shoots", "heat", 30.0, 0.9))
    cause = Cause(held_up, 1.9, shares, 0.0)
    trials = trials_for(room.scenario, [cause], 0.0)

    assert set(names) <= {trial.name for trial in trials}
    assert all(with_trials(room, [trial]) is not None for trial in trials)
    lifted = {trial.kind for trial in trials} - {"people"}
    assert lifted <= {part.lift for part in parts_of(held_up)} - {"closings"}


def test_spoiled_greens_try_another_day_of_giving_away() -> None:
    """From a twentieth of what is packed on."""
    scenario = garage().scenario

    assert not [trial for trial in trials_for(scenario, [], 0.04) if trial.kind == "greens"]
    assert [trial.name for trial in trials_for(scenario, [], 0.06) if trial.kind == "greens"] == [
        "giving away on Fridays", "giving away on Wednesdays", "giving away on Tuesdays",
    ]  # fmt: skip


def test_orders_that_are_short_try_other_seed_and_greens_kept_for_as_long_as_they_keep() -> None:
    """A fifth more and a fifth less of every line, in whole cells; eight days where a crop ordered keeps eight."""
    scenario = garage().scenario
    more, less = [trial for trial in trials_for(scenario, [], 0.0, lacking="basil") if trial.kind == "seed"]

    assert [more.name, less.name] == ["sowing 20% more of everything", "sowing 20% less of everything"]
    assert [line["cells"] for line in more.tables["sowing"]] == [5, 5, 72, 72]  # of 4, 4, 60 and 60
    assert [line["cells"] for line in less.tables["sowing"]] == [3, 3, 48, 48]
    assert {trial.kind for trial in trials_for(scenario, [], 0.0)} == {"people"}  # seven days, as lettuce keeps

    (kept,) = [trial for trial in trials_for(tiny(), [], 0.0, lacking="any") if trial.kind == "greens"]
    assert kept.name == "keeping greens up to 8 days in the cooler instead of 7"
    assert kept.tables == {"harvest": {"longest_wait_days": 8}}


def test_the_crop_of_which_most_is_missing_is_sown_on_other_days() -> None:
    """All its lines one shift on, and round the end of the week; days that come to what is done today are no trial."""
    scenario = load_scenario(ROOT / "scenarios" / "millrace").scenario  # shifts from Monday to Thursday and on Saturday
    moved = {each.name: each.tables for each in sown_on_other_days(scenario, "pak choi")}
    names = ["pak choi Mondays", "pak choi Thursdays"]
    assert {each: [line["weekday"] for line in tables["sowing"]] for each, tables in moved.items()} == {
        "sowing pak choi on Tuesdays and Saturdays instead": ["tue", "sat"],
        "sowing pak choi on Wednesdays and Saturdays instead": ["sat", "wed"],
        "sowing pak choi on Mondays and Wednesdays instead": ["wed", "mon"],
    }
    assert all([line["name"] for line in tables["sowing"]] == names for tables in moved.values())
    assert "sowing pak choi on Tuesdays and Saturdays instead" in [
        each.name for each in trials_for(scenario, [], 0.0, lacking="pak choi")
    ]

    two_shifts = garage().scenario  # on Tuesdays and Fridays: a step either way is the same, and two are none
    assert [each.name for each in sown_on_other_days(two_shifts, "basil")] == ["sowing basil on Tuesdays instead"] * 2
    assert not [*sown_on_other_days(two_shifts, "any")]


def tiny() -> Scenario:
    """The tiny room: harvested and collected on Thursdays alone, so that a head kept for the next is 7 days and 5 hours
    old by then."""
    return load_scenario(ROOT / "scenarios" / "tiny").scenario


def test_what_partners_lack_is_held_to_what_other_weeks_have_too_much() -> None:
    """Of 4 kg in two weeks 3 are given and 5 packed: one is missing, and other weeks had it. In the second year 3 are
    given of 3 packed: one is missing, and none had it. For any greens, all that is packed and not given counts."""
    series = [
        {"kg_packed:leaf": (5.0, 0.0), "kg_given_of:leaf": (2.0, 1.0), "kg_ordered_of:leaf": (2.0, 2.0),
         "kg_packed": (5.0, 2.0), "kg_to_partners": (2.0, 1.0)},
        {"kg_packed:leaf": (1.0, 2.0), "kg_given_of:leaf": (1.0, 2.0), "kg_ordered_of:leaf": (2.0, 2.0),
         "kg_packed": (1.0, 2.0), "kg_to_partners": (1.0, 2.0)},
    ]  # fmt: skip
    years = [Outcome(number, {}, weeks, {}, {}) for number, weeks in enumerate(series)]
    (leaf,) = lacking_of(years)
    assert leaf == Lacking("leaf", 4.0, 1.0, 0.5)

    of_any = [{name.replace("of:leaf", "of:any"): weeks for name, weeks in each.items()} for each in series]
    (any_crop,) = lacking_of([Outcome(number, {}, weeks, {}, {}) for number, weeks in enumerate(of_any)])
    assert any_crop == Lacking("any", 4.0, 1.0, 0.5)
    lost = Cause("no slot", 0.7, (Share("leaf", "no_room", 20.0, 0.4), Share("chard", "no_room", 9.0, 0.3)), 0.0)
    assert [each.lost_over([lost]) for each in (leaf, any_crop)] == pytest.approx([0.4, 0.7])


def test_what_is_missing_while_bare_shelves_fill_is_told_apart() -> None:
    """Nothing in two weeks, nothing ordered in the third, half in the fourth, then nine of ten, now more, now less: of
    26 kg missing a year, 25 in the first four weeks. Begun with full shelves the same year lacks 20 kg less."""
    room, plan = garage(), RunPlan(70, 56, "empty")
    asked = (10.0, 10.0, 0.0, 10.0, *(10.0,) * 6)

    def work(prepared: Prepared, seed: int, number: int, plan: RunPlan) -> Outcome:
        first = (10.0, 10.0, 0.0, 5.0) if plan.start == "filled" else (0.0, 0.0, 0.0, 5.0)
        given = (*first, 9.5, 10.0, 10.0, 9.5, 10.0, 10.0)
        weeks = {"kg_ordered": asked, "kg_to_partners": given, "kg_ordered_of:any": asked, "kg_given_of:any": given}
        return replace(year(number, 1.0, 0.0), weeks=weeks)

    def held_in(plan: RunPlan) -> Held:
        known, today = [work(prepare(room.scenario), 5, number, plan) for number in range(12)], prepare(room.scenario)
        with Rehearsers(work=work) as rehearsers:
            return try_with(rehearsers, SharedProgress(None, 0), room, today, known, seed=5, plan=plan)

    held, full = held_in(plan), held_in(replace(plan, start="filled"))
    assert held.at_first == AtFirst(4, 25.0)
    assert held.with_full_shelves is not None
    assert (held.with_full_shelves.less_missing, held.with_full_shelves.years) == (Range(20.0, 20.0, 20.0), 6)
    assert (full.at_first, full.with_full_shelves) == (None, None)
    never = replace(
        work(prepare(room.scenario), 5, 0, plan), weeks={"kg_ordered": asked, "kg_to_partners": (0.0,) * 10}
    )
    assert missing_at_first([never]) == AtFirst(0, 0.0)


def test_more_orders_with_fewer_greens_are_to_be_weighed_and_a_hair_less_is_none() -> None:
    """Ten points of orders more: advice where greens stay but for 5 g a week, to be weighed where they fall by 600."""
    trial, more = Trial("less seed", "seed", {}), Range(0.28, 0.25, 0.31)

    def tried(kg: float) -> Tried:
        return Tried((trial,), Range(kg, kg - 0.02, kg + 0.02), more, Range(0.1, 0.09, 0.11), 14)

    hair, weigh = (Held((), was_tried=True, best=(tried(kg),)) for kg in (-0.005, -0.6))
    assert (len(hair.advice), len(hair.to_weigh)) == (1, 0)
    assert (len(weigh.advice), len(weigh.to_weigh)) == (0, 1)


@pytest.mark.slow
def test_the_tiny_room_is_short_of_heads_for_it_gets_them_unevenly() -> None:
    """What waits a week is too old by hours: kept for the day longer that heads keep, it fills nearly all orders; so
    does less seed, which ripens in time. Dried-out plants, heaviest of what is lost, are a tenth of what is missing."""
    held = held_of(load_scenario(ROOT / "scenarios" / "tiny"), years=14)
    heads = max(held.lacking, key=lambda each: each.missing)
    tried = {each.trials[0].name: each for each in held.tried}

    assert heads.crop == "small head"
    assert heads.uneven > 0.9 * heads.missing
    assert max(held.explained_by(cause) for cause in held.causes) < 0.25
    kept = "keeping greens up to 8 days in the cooler instead of 7"
    for name in (kept, "sowing 20% less of everything", held.advice[0].name):
        orders = tried[name].orders
        assert orders is not None and orders.mean > 0.05


def test_differences_are_taken_in_the_same_years() -> None:
    """Years differ by 10 kg and the change by 1 kg in each: the range is of the differences."""
    before = [year(i, 10.0 * i, 5.0, 0.5) for i in range(6)]
    after = [year(i, 10.0 * i + 1.0, 5.0 + 0.2 * (i % 2), 0.6) for i in range(6)]
    found = judge((), before, after, tried=3)

    assert (found.kg.mean, found.kg.low, found.kg.high) == pytest.approx((1.0, 1.0, 1.0))
    assert found.to_partners.mean == pytest.approx(0.1)
    assert found.orders is not None
    assert found.orders.mean == pytest.approx(0.1)
    assert found.brings_more
    assert found.worth == pytest.approx(1.1)


def test_more_greens_for_fewer_orders_is_not_more() -> None:
    """Nor is what may be chance."""
    before = [year(i, 10.0, 5.0, 0.5) for i in range(6)]
    fewer = judge((), before, [year(i, 12.0, 4.0, 0.4) for i in range(6)], tried=1)
    chance = judge((), before, [year(i, 10.0 + (-1) ** i * 3.0 + 0.1, 5.0, 0.5) for i in range(6)], tried=1)

    assert not fewer.brings_more
    assert not chance.brings_more


def test_next_to_nothing_is_not_advised_however_certain() -> None:
    """20 g more in each of six years: certain, and not worth a word. Nor is a second thing to do for 5% more."""
    before = [year(i, 10.0, 5.0, 0.5) for i in range(6)]
    little = judge((), before, [year(i, 10.02, 5.0, 0.5) for i in range(6)], tried=1)
    one = judge((), before, [year(i, 12.0, 5.0, 0.5) for i in range(6)], tried=1)
    both = judge((), before, [year(i, 12.1, 5.0, 0.5) for i in range(6)], tried=1)
    enough = judge((), before, [year(i, 12.3, 5.0, 0.5) for i in range(6)], tried=1)

    assert not little.brings_more
    assert one.brings_more
    assert not both.beats(one)
    assert enough.beats(one)


def test_two_things_to_do_are_told_apart() -> None:
    """A name with a comma of its own keeps its end from the next."""
    lead, people, shelf = (Trial(name, "", {}) for name in ("harvest, with a lead", "2 more people", "one more shelf"))
    before = [year(i, 10.0, 5.0) for i in range(6)]

    assert judge((lead, people), before, before, tried=1).name == "harvest, with a lead, and 2 more people"
    assert judge((shelf, people), before, before, tried=1).name == "one more shelf and 2 more people"


def test_a_valve_is_tried_where_plants_dried_out_also_in_a_closing() -> None:
    """Lettuce stands on the nursery rack and on the tables: their two reservoirs, together."""
    share = Share("crisp lettuce", "dried_out", 100.0, 10.0)
    trials = trials_for(garage().scenario, [Cause("closed + reservoir low", 10.0, (share,), 0.0)], 0.0)

    assert "a float valve on rack reservoir and on table reservoir" in {trial.name for trial in trials}


def test_too_few_years_try_nothing() -> None:
    """Four are too few to tell a difference from chance."""
    room = load_scenario(ROOT / "scenarios" / "tiny")
    held = held_of(room, years=4, plan=RunPlan(28, 28))

    assert (held.was_tried, held.best, held.advice) == (False, (), ())


def test_trials_live_through_no_more_years_than_tell() -> None:
    """Made-up years: each person more on Tuesdays brings 1 kg, a spare part 3 kg in the one year of four in which the
    heat pump fails. All eight things are tried in three years, the better four in three more; of the other years a sure
    thing takes half, an unsure one all; and no year is lived twice in which a spare part has nothing to do."""
    room = garage()
    causes = {("radish shoots", "sowings skipped", "no slot"): 100.0, ("radish shoots", "heat", "machine down"): 30.0}
    lived: list[tuple[str, int]] = []

    def work(prepared: Prepared, seed: int, number: int, plan: RunPlan) -> Outcome:
        fails, climate = number % 4 == 0, prepared.scenario.climate
        people = prepared.scenario.crew.shifts[0].people
        kg = people + 0.3 * math.sin(97 * number * people) + 3.0 * fails * climate.reliability.spares
        opened = not prepared.scenario.room.closed_days
        weeks = {"kg_ordered_of:any": (5.0,) * 26, "kg_given_of:any": (5.0,) * 24 + (5.0 * opened, 5.0)}
        lived.append(("spare " * climate.reliability.spares + f"people {people}", number))
        down = (Outage("heat pump", "", 10, 20, 90),) if fails else ()
        return replace(year(number, kg + 0.2 * opened, 0.0), weeks=weeks, outages=down, held_up=causes)

    known = [work(prepare(room.scenario), 5, number, PLAN) for number in range(30)]
    lived.clear()
    with Rehearsers(work=work) as rehearsers:
        held = try_with(rehearsers, SharedProgress(None, 0), room, prepare(room.scenario), known, seed=5, plan=PLAN)

    spare = "a spare part for heating and cooling on the shelf"
    years = {tried.name: tried.years for tried in held.tried}
    assert sorted(years.values()) == [3, 3, 3, 3, 6, 6, 6, 6]
    assert years["2 more people on every shift"] == 6
    assert {tried.name: tried.years for tried in held.best if len(tried.trials) == 1} == {
        "2 more people on every shift": 12, spare: 24,
    }  # fmt: skip
    assert held.without_closings is not None
    assert held.without_closings.kg.mean == pytest.approx(0.2)  # 5 kg that were missing, in six years of 26 weeks
    assert (held.without_closings.less_missing, held.without_closings.years) == (Range(5.0, 5.0, 5.0), 6)
    assert not [name for name, number in lived if "spare" in name and number % 4 and number < 18]


def test_what_is_sure_in_few_years_is_tried_again_before_what_is_more_on_average() -> None:
    """Half a kilogram for certain, then what fills most orders; the room's heaviest average is left."""
    trials = {name: Trial(name, name, {}) for name in ("people", "shelf", "seed")}

    def tried(name: str, kg: float, low: float, to_partners: float) -> Tried:
        return Tried((trials[name],), Range(kg, low, 9.0), Range(to_partners, -1.0, 1.0), None, 6)

    found = [tried("people", 0.9, -0.2, 0.1), tried("shelf", 0.8, -0.2, 0.2), tried("seed", 0.5, 0.3, 0.0)]
    assert to_prove(found, is_short=True) == [(trials["seed"],), (trials["shelf"],)]
    assert to_prove(found, is_short=False) == [(trials["seed"],), (trials["people"],)]
    assert to_prove([], is_short=False) == []


def test_a_spare_part_changes_no_year_in_which_nothing_fails() -> None:
    """So such a year need not be lived again: the same to the last bit."""
    room = garage()
    shares = (Share("radish shoots", "heat", 30.0, 0.9),)
    trials = trials_for(room.scenario, [Cause("machine down", 0.9, shares, 0.0)], 0.0)
    (spare,) = [trial for trial in trials if trial.touches]
    today, plan = prepare(room.scenario), RunPlan(56, 56)
    changed = with_trials(room, [spare])
    assert changed is not None
    years = [replicate(today, 5, number, plan) for number in range(6)]
    alike = [lived for lived in years if not spare.may_act(lived)]

    assert alike
    other = prepare(keep_pace(today, changed)[0])
    assert [replicate(other, 5, lived.replication, plan) for lived in alike] == alike


def test_the_garage_with_one_harvest_day_is_told_so_and_cured() -> None:
    """Peas overgrown for lack of a harvest day and a lead together, never of people; the cure is both at once, and what
    it brings in these years lies in the range of the same CHANGE compared in others."""
    room = garage(day=one_harvest_day)
    held = held_of(room)
    of_peas = [
        (cause.held_up, share.count)
        for cause in held.of_closings(are=False)
        for share in cause.shares
        if (share.crop, share.what) == ("pea shoots", "overgrown")
    ]
    cure = next(tried for tried in held.advice if len(tried.trials) == 1)

    assert max(of_peas, key=lambda pair: pair[1])[0] == "no harvest day + no lead"
    assert cure.name.startswith("harvest on Tuesdays too, with ")  # a lead there, or without: the lead alone is no cure
    assert cure.tables is not None
    change = load_change(written(cure.tables, cure.name))
    (found,) = compare(room, [change], plan=PLAN, seed=77, at_most=10, why=False).changes
    difference = found.verdicts["kg_handed_out_per_week"].difference
    assert difference.low is not None
    assert difference.high is not None
    assert cure.kg.low is not None
    assert cure.kg.high is not None
    assert difference.low <= cure.kg.high
    assert cure.kg.low <= difference.high


def written(tables_: dict[str, Any], name: str) -> Path:
    """The CHANGE file that a report writes of it."""
    import tempfile

    path = Path(tempfile.mkdtemp()) / file_name(name)
    path.write_text(change_text(tables_, {"name": name}), encoding="utf-8")
    return path


def test_people_are_named_only_where_they_help() -> None:
    """The garage with one harvest day and twelve people on each shift: still no harvest day, and more people are no
    part of what is advised."""

    def many(raw: dict[str, Any]) -> None:
        raw["room"]["people_at_once"] = 14
        for shift in raw["crew"]["shifts"]:
            shift["people"] = 12

    held = held_of(garage(day=one_harvest_day, people=many))

    of_peas = {
        share.count: cause.held_up
        for cause in held.of_closings(are=False)
        for share in cause.shares
        if (share.crop, share.what) == ("pea shoots", "overgrown")
    }
    assert of_peas[max(of_peas)] == "no harvest day + no lead"
    assert not [each for tried in held.advice for each in tried.trials if each.kind == "people"]


def test_full_shelves_may_be_a_lack_of_people() -> None:
    """The round room with thirty slots a shelf, 40 cells a week and a lead alone for two hours a week: much is lost for
    lack of a slot, for what stands there waits to be washed. More people bring more, one more shelf nothing."""
    raw = tables()
    raw["sowing"][0] |= {"every_weeks": 1, "cells": 40}
    for group in raw["racks"][0]["shelves"]:
        group["slots"] = 30
    raw["room"] |= {"people_at_once": 10, "air_changes_per_hour": 5}
    raw["crew"]["chance_of_coming"] = [1] * 12
    for shift in raw["crew"]["shifts"]:
        shift |= {"people": 0, "lead": True, "hours": 1}
    held = held_of(room_of(raw), years=8, plan=RunPlan(140, 56))

    assert held.causes[0].held_up == "no slot + people busy"
    assert held.advice[0].trials[0].name == "2 more people on every shift"
    assert held.advice[0].brings_more
    assert not [tried for tried in held.tried if tried.name.startswith("one more") and tried.brings_more]


def test_the_room_with_a_trial_keeps_the_pace_of_its_crops() -> None:
    """Else a brighter place would seem to change nothing. Two years of the same seed and number differ by the trial."""
    room = garage(day=one_harvest_day)
    (trial, *_) = trials_for(
        room.scenario, [Cause("no slot", 1.0, (Share("radish shoots", "sowings skipped", 9.0, 1.0),), 0.0)], 0.0
    )
    changed = with_trials(room, [trial])
    assert changed is not None
    assert prepare(changed).scenario.crops == prepare(room.scenario).scenario.crops
    assert replace(trial).tables["racks"][0]["name"] == "micro rack"


def test_the_other_case_rooms_are_told_the_truth() -> None:
    """Of two alike racks with people to spare nothing is lost for waiting. The garage with two harvest days: most is
    lost to its closings; greens spoil, so another day of giving away is among what is tried."""
    racks = load_scenario(ROOT / "tests" / "cases" / "two_racks.toml").scenario
    lived = rehearse(racks, seed=5, replications=2, plan=PLAN)
    assert [cause.held_up for cause in causes_of(lived.outcomes, racks) if cause.kg] == []

    room = garage()
    years = rehearse(room.scenario, seed=5, replications=2, plan=PLAN).outcomes
    causes = causes_of(years, room.scenario)
    spoiled = math.fsum(year.measures["kg_wasted_per_week"] / year.measures["kg_packed_per_week"] for year in years) / 2
    assert causes[0].is_of_closing
    assert {trial.kind for trial in trials_for(room.scenario, causes, spoiled)} >= {"greens", "people"}
