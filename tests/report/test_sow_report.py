"""The report of a sowing plan: sentences, tables and files that tell the same as the plan."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import tomllib
from pathlib import Path

import pandas as pd
import pytest
from one_system import foreign
from sow_plans import ORIGIN, TINY

from growsim.report.sow import tables, words
from growsim.report.sow.answer import plan_change, write_sowing_plan
from growsim.scenario.change import changed_room, load_change
from growsim.study.sow.answer import SowingPlan


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
    [(60, "1 seed tray"), (90, "1½ seed trays"), (8, "⅛ seed tray"), (48, "¾ seed tray"), (3, "⅛ seed tray")],
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
    assert said["What stands in the way"].startswith("Slots are what is missing.")
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
    said = "0.5 kg"  # of 0.58 kg, to a tenth, down

    assert f"; {said} of the" in words.what_is_short(cut_off)
    assert tables.orders(cut_off).rows[0][4] == said


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
    assert tomllib.loads(plan_change(plan))["change"]["name"] == change.title


def test_the_change_file_is_read_back_whatever_the_room_is_called(plan: SowingPlan, tmp_path: Path) -> None:
    """The room's name stands in a remark, where no line may end and no control character stand."""
    scenario = plan.room.scenario
    named = scenario.model_copy(update={"room": scenario.room.model_copy(update={"name": "Our\nroom\x07 \u2028[a]"})})
    file = tmp_path / "sowing.toml"
    file.write_bytes(
        plan_change(dataclasses.replace(plan, room=dataclasses.replace(plan.room, scenario=named))).encode()
    )

    assert changed_room(TINY, load_change(file)).scenario == plan.scenario


def test_summary_tables_and_page_tell_the_same(folder: Path, plan: SowingPlan) -> None:
    """summary.json has what every command states; orders.csv its orders; the page its sentences."""
    summary = json.loads((folder / "summary.json").read_text("utf-8"))
    orders = pd.read_csv(folder / "orders.csv")
    plans = pd.read_csv(folder / "plans.csv")
    page = (folder / "report.html").read_text("utf-8")

    assert foreign(page) == []

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
    assert set(summary["without_limits"]) == {"people", "slots"}
    assert "this plan, still short" in (tmp_path / "out" / "figures" / "orders-kept.svg").read_text("utf-8")
