"""The report of a sowing plan: sentences, tables and files that tell the same as the plan."""

from __future__ import annotations

import copy
import dataclasses
import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from both_units import alone_in

from growsim.report import figures_sow
from growsim.report import sow_tables as tables
from growsim.report import sow_words as words
from growsim.report.provenance import Provenance
from growsim.report.sow import change_text, write_sowing_plan
from growsim.report.sow_against import against
from growsim.spec.change import LoadedChange, changed_room, load_change
from growsim.spec.load import LoadedRoom, load_scenario, scenario_from
from growsim.spec.plan import RunPlan
from growsim.study.sow import SowingPlan, sow
from growsim.study.sow_change import change_tables
from growsim.study.sow_kept import kept_orders
from growsim.study.sow_score import score_of

ORIGIN = Provenance("sow", "growsim sow scenarios/tiny --certainty 90", "ab" * 32)
TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")


def edited(**changes: Any) -> LoadedRoom:
    """The tiny room with top-level tables replaced."""
    raw = copy.deepcopy(TINY.raw) | changes
    return dataclasses.replace(TINY, raw=raw, scenario=scenario_from(raw, "tiny")[0])


def planned(**changes: Any) -> SowingPlan:
    """A plan for the tiny room with top-level tables replaced, quickly."""
    return sow(edited(**changes), plan=RunPlan(84, 56), seed=4, replications=4, trial_years=2)


@pytest.fixture(scope="module")
def plan() -> SowingPlan:
    """The tiny room's plan."""
    return planned()


@pytest.fixture(scope="module")
def short() -> SowingPlan:
    """More heads ordered than the shelves can hold, and leaf at an hour nothing cut can reach."""
    orders = [{"crop": "small head", "kg": 9.0}]
    early = {"name": "early", "weekday": "wed", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 1}]}
    return planned(partners=[{"name": "pantry", "weekday": "thu", "hour": 14, "orders": orders}, early])


@pytest.fixture(scope="module")
def folder(plan: SowingPlan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of the tiny room's plan."""
    out = tmp_path_factory.mktemp("reports") / "tiny-sow"
    write_sowing_plan(plan, out, provenance=ORIGIN)
    return out


def test_the_week_in_a_sentence(plan: SowingPlan) -> None:
    """Every line in use is named with its cells and sheets."""
    said = words.what_to_sow(plan)

    assert said.startswith("Each week sow on ")
    for line, cells in zip(plan.frame.lines, plan.cells, strict=True):
        if cells:
            assert f"{cells} cells of {line.crop} ({words.sheets(plan, line.crop, cells)})" in said


@pytest.mark.parametrize(
    ("cells", "said"),
    [(60, "1 seed sheet"), (90, "1½ seed sheets"), (8, "⅛ seed sheet"), (48, "¾ seed sheet"), (3, "⅛ seed sheet")],
)
def test_cells_as_sheets(cells: int, said: str, plan: SowingPlan) -> None:
    """Sheets of 60, to the nearest eighth, never none."""
    assert words.sheets(plan, "cutting leaf", cells) == said


def test_a_met_plan_says_so_with_its_least_certain_order(plan: SowingPlan) -> None:
    """And its range."""
    least = min(plan.kept, key=lambda each: each.share)

    said = words.how_surely(plan)

    assert plan.is_met
    assert said.startswith("Every standing order is then met in full in 90% of its weeks or more, on average over 4 ")
    assert f"trial pantry, {least.order.crop}: met in full in " in said
    assert "(range of the average " in said
    assert [head for head, _ in words.answer(plan)] == [
        "What to sow",
        "Standing orders",
        "Against the plan of today",
        "Against sowing the same every week by arithmetic",
    ]


def test_what_is_short_is_said_by_how_much(short: SowingPlan) -> None:
    """How often it is met, what is missing, what would be safe, what stands in the way, what is out of reach."""
    (order,) = short.short

    said = dict(words.answer(short))

    assert said["Standing orders"].startswith("Not every standing order can be met in full in 90% of its weeks.")
    assert said["What is short"].startswith(f"pantry, small head: {words.percent(order.share)} instead of 90%, ")
    assert "missing in a week that falls short" in said["What is short"]
    assert said["What stands in the way"].startswith("Slots are what lacks.")
    assert "early, cutting leaf" in said["Out of reach"]


def test_todays_plan_is_beside_it(plan: SowingPlan) -> None:
    """Pick-ups, kilograms, seed of both."""
    said = words.against_today(plan)

    assert f"{words.percent(plan.today_score.share_kept, 1)} of all pick-ups in full, this one" in said
    assert f"Seeds: {plan.today_score.seeds:,.0f} with the room file's plan, {plan.score.seeds:,.0f} with" in said


def test_orders_that_the_plan_keeps_less_often_are_named(plan: SowingPlan) -> None:
    """A better sum may be a worse bargain for one partner; two points or more are told."""
    first, *rest = plan.kept
    lower = dataclasses.replace(first, share=0.89)
    today = (dataclasses.replace(first, share=0.96), *(dataclasses.replace(each, share=0.5) for each in rest))
    traded = dataclasses.replace(plan, kept=(lower, *rest), today_kept=today)

    assert f" Met in full less often than now: {words.whose(first.order)} (89%, now 96%). Seeds: " in (
        words.against_today(traded)
    )
    alike = dataclasses.replace(traded, today_kept=(dataclasses.replace(first, share=0.9), *today[1:]))
    assert "less often than now" not in words.against_today(alike)


def test_a_limit_is_lifted_in_some_of_the_years_only_and_that_is_said(short: SowingPlan) -> None:
    """Four years: all of them. Of sixty: the twelve in which it was tried."""
    assert "In the same 4 rehearsals of 84 days it meets " in words.what_limits(short)
    many = dataclasses.replace(short, outcomes=short.outcomes * 15)
    assert "In the first 12 of the 60 rehearsals of 84 days it meets " in words.what_limits(many)


def test_what_is_safe_is_the_same_in_sentence_and_table(short: SowingPlan) -> None:
    """Rounded down in both: a kilogram promised is not one that rounding made."""
    (order,) = short.short
    cut_off = dataclasses.replace(short, kept=(dataclasses.replace(order, safe_kg=0.58),))
    said = "0.5 kg (1.2 lb)"  # 0.58 kg are 1.279 lb; both to a tenth, down

    assert f"; {said} of the" in words.what_is_short(cut_off)
    assert tables.orders(cut_off).rows[0][4] == said


def beside(plan: SowingPlan, met: list[float], **other: Any) -> SowingPlan:
    """The plan beside one by arithmetic that meets such shares of pick-ups in full in the four years."""
    outcomes = []
    for outcome, share in zip(plan.outcomes, met, strict=True):
        weeks = dict(outcome.weeks)
        for number in range(2):
            asked = outcome.weeks[f"order_asked:{number}"]
            full = round(share * len(asked))
            weeks[f"order_given:{number}"] = tuple(kg if week < full else 0.0 for week, kg in enumerate(asked))
        outcomes.append(dataclasses.replace(outcome, weeks=weeks))
    proof = score_of(outcomes, plan.room.scenario, plan.certainty)
    cells = tuple(each + 8 for each in plan.arithmetic.cells)  # another plan than the one found
    other_plan = dataclasses.replace(plan.arithmetic, cells=cells, outcomes=outcomes, proof=proof)
    kept = kept_orders(outcomes, plan.room.scenario, plan.certainty, [0] * 12)
    return dataclasses.replace(plan, arithmetic=other_plan, arithmetic_kept=kept, **other)


def half_met(plan: SowingPlan) -> SowingPlan:
    """The plan, had it met half of its pick-ups or so."""
    worse = beside(plan, [0.5, 0.42, 0.58, 0.5]).arithmetic
    return dataclasses.replace(plan, outcomes=tuple(worse.outcomes), score=worse.proof)


def test_more_than_by_arithmetic_is_said_with_its_range(plan: SowingPlan) -> None:
    """How much more, and where most."""
    said = against(beside(half_met(plan), [0.25, 0.17, 0.33, 0.25]))

    assert said.startswith(
        "Sowing 56 cells of cutting leaf and 32 cells of small head every Monday, as the kilograms ordered ask for on "
        "paper, would meet 25.0% of all pick-ups in full (range of the average "
    )
    assert "the plan found 50.0%: 25.0 points more (range of the average difference 25.0 to 25.0 points), in" in said
    assert "The widest gap: trial pantry, " in said
    assert said.endswith(f"Seeds: {plan.score.seeds:,.0f} by arithmetic, {plan.score.seeds:,.0f} with the plan found.")


def test_what_may_be_chance_is_called_so(plan: SowingPlan) -> None:
    """Better in some years, worse in others."""
    said = against(beside(half_met(plan), [0.33, 0.58, 0.42, 0.5]))

    assert "points more (range of the average difference -" in said
    assert "That difference may be chance." in said


def test_arithmetic_that_meets_more_is_said_to(plan: SowingPlan) -> None:
    """By how much, and why it is not the answer all the same."""
    met = against(beside(plan, [0.5, 0.5, 0.5, 0.5], outcomes=half_met(plan).outcomes))
    more = beside(half_met(plan), [0.75, 0.67, 0.83, 0.75])
    saved = against(dataclasses.replace(more, score=plan.score))

    assert "the same" in met
    assert ": 25.0 points fewer (range of the average difference 25.0 to 25.0 points)" in against(more)
    assert "Each order counts up to 90% of its weeks and no further" in against(more)
    assert "Past 90% of the weeks of each order only less seed is looked for." in saved


def test_where_arithmetic_is_the_answer_it_says_so(plan: SowingPlan) -> None:
    """The plan found is that of arithmetic."""
    own = plan.arithmetic
    same = dataclasses.replace(plan, frame=own.frame, cells=own.cells, outcomes=tuple(own.outcomes), score=own.proof)

    assert against(same).startswith("It is the plan by arithmetic: of ")
    assert tables.plans(same).rows[-1][3].startswith("0.0 points")


def test_what_arithmetic_sows_is_told(plan: SowingPlan) -> None:
    """The cells worked out by hand in tests/study/test_sow_arithmetic.py, in whole eighths of a sheet."""
    assert "48 cells of cutting leaf and 24 cells of small head every Monday would be sown: " in tables.plans(plan).note


def test_todays_own_plan_is_not_held_against_itself(plan: SowingPlan) -> None:
    """Where the plan found is the room file's there is one row for both, and the marks beside it are arithmetic's."""
    change = LoadedChange(change_tables(plan), Path("sowing.toml"), "")
    todays = dataclasses.replace(plan, room=changed_room(TINY, change))

    assert todays.is_todays
    assert [row[0] for row in tables.plans(todays).rows] == [
        "the plan found, which is today's",
        "the same every week, by arithmetic",
    ]
    assert "today's plan" not in tables.orders(todays).head
    assert figures_sow.compared(todays)[2] == plan.arithmetic_kept
    assert figures_sow.compared(plan)[2] == plan.today_kept


def test_a_room_without_a_plan_is_held_against_arithmetic_alone(tmp_path: Path) -> None:
    """No word, row or mark of a plan of today."""
    found = sow(edited(sowing=[]), plan=RunPlan(56, 56), seed=4, replications=3, trial_years=2)

    summary = write_sowing_plan(found, tmp_path / "out", provenance=ORIGIN)

    assert "Against the plan of today" not in summary["answer_heads"]
    assert [each["plan"] for each in summary["plans"]] == ["found", "arithmetic"]
    assert "today's plan" not in tables.orders(found).head
    assert "today's plan" not in (tmp_path / "out" / "figures" / "orders-kept.svg").read_text("utf-8")


def test_the_wall_table_has_every_week(plan: SowingPlan) -> None:
    """One row a week, one column a sowing; its cells add up to those of the tidy table."""
    wall, tidy = tables.every_week(plan), plan.to_frame()

    assert len(wall.rows) == 12
    assert len(wall.head) == 1 + sum(cells > 0 for cells in plan.cells)
    total = sum(int(cell.replace(",", "")) for row in wall.rows for cell in row[1:] if cell != "–")
    assert total == tidy.cells.sum()


def test_weeks_that_differ_are_told(plan: SowingPlan) -> None:
    """None in a steady plan; of one that sows nothing on a day, that day."""
    line = next(number for number, cells in enumerate(plan.cells) if cells)
    days = list(plan.frame.full[line])
    place = next(place for place, (day, _) in enumerate(days) if day >= dt.date(2031, 2, 1))
    days[place] = (days[place][0], 0.0)
    full = tuple(tuple(days) if number == line else plan.frame.full[number] for number in range(len(plan.cells)))
    closed = dataclasses.replace(plan, frame=dataclasses.replace(plan.frame, full=full))

    assert tables.differing(plan).rows == ()
    assert [row[1] for row in tables.differing(closed).rows] == ["0"]


def test_the_folder_is_complete(folder: Path) -> None:
    """Page, summary, plan, tables, figures."""
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}

    assert {
        "report.html",
        "summary.json",
        "sowing.toml",
        "sowing.csv",
        "orders.csv",
        "plans.csv",
        "measures.csv",
    } <= files
    assert {
        f"figures/{name}.{kind}" for name in ("orders-kept", "through-the-year") for kind in ("svg", "png")
    } <= files


def test_the_change_file_is_read_back_as_the_plan(folder: Path, plan: SowingPlan) -> None:
    """`growsim compare` reads it: named, and the room with it is the room that was rehearsed."""
    change = load_change(folder / "sowing.toml")

    assert change.title == "sowing plan, 90% certain"
    assert changed_room(TINY, change).scenario == plan.scenario
    assert tomllib.loads(change_text(plan))["change"]["name"] == change.title


def test_summary_tables_and_page_tell_the_same(folder: Path, plan: SowingPlan) -> None:
    """summary.json has what every command states; orders.csv its orders; the page its sentences."""
    summary = json.loads((folder / "summary.json").read_text("utf-8"))
    orders = pd.read_csv(folder / "orders.csv")
    plans = pd.read_csv(folder / "plans.csv")
    page = (folder / "report.html").read_text("utf-8")

    assert alone_in(page) == []

    assert {
        "growsim",
        "command",
        "room",
        "room_sha256",
        "seed",
        "replications",
        "days",
        "warm_up_days",
    } <= summary.keys()
    assert {"repeat_with", "answer", "measures", "differences"} <= summary.keys()
    assert summary["is_met"] is True
    assert [each["share"] for each in summary["orders"]] == pytest.approx(orders.kept.tolist())
    assert [each["share"] for each in summary["orders_arithmetic"]] == pytest.approx(orders.kept_arithmetic.tolist())
    assert plans.plan.tolist() == [each["plan"] for each in summary["plans"]] == ["found", "today", "arithmetic"]
    for each, row in zip(summary["plans"][1:], plans.iloc[1:].itertuples(), strict=True):
        assert each["pick_ups_met"]["mean"] == pytest.approx(row.pick_ups_met)
        assert each["found_less_it"]["low"] == pytest.approx(row.found_less_it_low)
    assert sum(each["cells"] for each in summary["sowing_arithmetic"]) == sum(plan.arithmetic.cells)
    assert sum(each["cells"] for each in summary["sowing"]) == sum(plan.cells)
    assert all(sentence.replace("'", "&#39;") in page for sentence in summary["answer"])
    assert "Lifting." in page and "Food safety." in page
    assert not [where for where in ('src="http', 'href="http', "url(http") if where in page]


def test_a_plan_that_falls_short_has_a_page_too(short: SowingPlan, tmp_path: Path) -> None:
    """With the marks of what is short."""
    summary = write_sowing_plan(short, tmp_path / "out", provenance=ORIGIN)

    assert summary["is_met"] is False
    assert set(summary["without_limits"]) == {"hands", "slots"}
    assert "this plan, still short" in (tmp_path / "out" / "figures" / "orders-kept.svg").read_text("utf-8")
