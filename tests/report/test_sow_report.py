"""The report of a sowing plan: sentences, tables and files that tell the same as the plan."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import tomllib
from pathlib import Path

import figure_boxes
import pandas as pd
import pytest
from one_system import foreign
from plain_words import of_answer
from sow_plans import ORIGIN, TINY

from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.sow import tables, words
from growsim.report.sow.answer import plan_change, write_sowing_plan
from growsim.scenario.change import changed_room, load_change
from growsim.study.causes import Cause, Share
from growsim.study.pay_back import Range
from growsim.study.sow.answer import SowingPlan, compared_plans
from growsim.study.to_try import Trial
from growsim.study.tried import Held, Tried
from growsim.vocabulary.days import NAME_OF_WEEKDAY


@pytest.fixture(scope="module")
def folder(plan: SowingPlan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of the tiny room's plan."""
    out = tmp_path_factory.mktemp("reports") / "tiny-sow"
    write_sowing_plan(plan, out, provenance=ORIGIN)
    return out


def test_the_table_is_the_week(plan: SowingPlan) -> None:
    """Every sowing in use and every one of today's, day by day, with cells and sheets; nothing else."""
    made = words.table(plan)
    used = {f"{NAME_OF_WEEKDAY[line.weekday]}: {line.crop}": (line.crop, cells)
            for line, cells in zip(plan.frame.lines, plan.cells, strict=True) if cells}  # fmt: skip
    shown = {row.label: row.cells for row in made.rows}

    assert [(column.label, column.of) for column in made.columns] == [
        ("sow", "the plan found"), ("today", "today's plan"),
    ]  # fmt: skip
    assert {label: cells[0].mean for label, cells in shown.items()} == {
        label: used.get(label, ("", 0))[1] for label in shown
    }
    assert used.keys() | {"Monday: cutting leaf", "Monday: small head"} == shown.keys()
    for label, (crop, cells) in used.items():
        assert shown[label][0].text == f"{cells} ({words.sheets(plan, crop, cells)})"
    assert shown["Monday: cutting leaf"][1].text == "60 (1 seed tray)"  # as its room file sows
    assert shown["Monday: small head"][1].text == "30 (½ seed tray)"
    assert made.note == "Every week alike."


def test_what_is_sown_on_another_day_stands_beside_today_day_by_day(plan: SowingPlan) -> None:
    """Small head on Fridays instead: on Thursday none today, on Friday none of it."""
    cutting, head = plan.room.scenario.sowing
    friday = plan.room.scenario.model_copy(update={"sowing": (cutting, head.model_copy(update={"weekday": "fri"}))})
    moved = dataclasses.replace(plan, room=dataclasses.replace(plan.room, scenario=friday))
    shown = {row.label: [cell.text for cell in row.cells] for row in words.table(moved).rows}

    assert list(shown)[-1] == "Friday: small head"
    assert shown["Friday: small head"] == ["none", "30 (½ seed tray)"]
    assert shown["Thursday: small head"][1] == "none"


@pytest.mark.parametrize(
    ("cells", "said"),
    [(60, "1 seed tray"), (90, "1½ seed trays"), (8, "⅛ seed tray"), (48, "¾ seed tray"), (3, "⅛ seed tray")],
)
def test_cells_as_sheets(cells: int, said: str, plan: SowingPlan) -> None:
    """Sheets of 60, to the nearest eighth, never none."""
    assert words.sheets(plan, "cutting leaf", cells) == said


def test_a_met_plan_says_so_with_its_least_certain_order(plan: SowingPlan) -> None:
    """With its range; and how much more than today's plan, with the range of that."""
    least = min(plan.kept, key=lambda each: each.share)
    page = words.front(plan)

    assert plan.is_met
    (gain,) = (each.gain for each in compared_plans(plan) if each.which == "today")
    chance = "" if (gain[1] or 0.0) > 0 else "; the difference may be chance"
    assert page.headline == (
        "Sow as in the table: every order is met in full in 90% of its weeks or more, the least sure in "
        f"{words.share(least)}. Today's plan meets {words.percent(plan.today_score.share_kept)} of all{chance}."
    )
    assert page.advice == ("Put it into your room: `growsim keep ROOM sowing.toml`, with the file beside this report.",)
    assert page.sure.startswith("From 4 rehearsals of 84 days that the search had not seen: ")
    assert page.sure.endswith(" more of 100 weekly orders than today's plan.")
    assert page.spent()[0] <= MOST_WORDS and page.spent()[1] <= MOST_NUMBERS


def test_what_is_short_is_said_by_what_to_promise(short: SowingPlan) -> None:
    """How many have the certainty, what is out of reach, what would be safe of the one that is short."""
    (order,) = short.short
    page = words.front(short)

    assert page.headline.startswith("Sow as in the table: ") or page.headline.startswith("Keep today's plan: ")
    assert f"{len(short.kept) - 1} of {len(short.kept)} order" in page.headline and "the 90% asked for" in page.headline
    assert page.advice[0].startswith("Nothing that is harvested can be there in time for early, cutting leaf")
    promised = words.advice(short)[1]
    assert promised.startswith("Promise pantry, small head ")
    assert f"in 90% of weeks, the whole order in {words.percent(order.share)}." in promised
    assert page.spent()[0] <= MOST_WORDS and page.spent()[1] <= MOST_NUMBERS


def test_what_would_bring_more_is_told_as_it_was_tried(short: SowingPlan) -> None:
    """In pick-ups met in full, which the plan is judged by; that nothing does; before that why plants are lost. Four
    years are too few to try anything: then only what was waited for is told, behind the page."""
    shelf = Trial("one more head shelf", "slots", {})

    def held(pick_ups: Range) -> SowingPlan:
        tried = Tried((shelf,), Range(-1, -2, 0), Range(1, 0, 2), pick_ups, 12, by_pick_ups=True)
        cause = Cause("no harvest day", 3.0, (Share("small head", "overgrown", 30.0, 3.0),), 0.0)
        return dataclasses.replace(short, impossible=(), held=Held((cause,), was_tried=True, best=(tried,)))

    page = words.front(held(Range(0.30, 0.2, 0.4)))
    assert page.advice[0] == (
        "With this plan, one more head shelf: +30.0 of 100 weekly orders met in full (+20.0 to +40.0), tried in the "
        "same years."
    )
    assert page.why.endswith(
        " Small head: 30 plants in 84 days are lost overgrown because no harvest day comes in time."
    )
    assert words.advice(held(Range(0.005, 0.001, 0.01)))[0].startswith(
        "With this plan, nothing we tried brings more for certain"
    )
    assert short.held is not None
    assert not short.held.was_tried
    assert len(words.advice(dataclasses.replace(short, impossible=()))) == 1


def test_what_is_safe_is_the_same_in_sentence_and_table(short: SowingPlan) -> None:
    """Rounded down in both: a kilogram promised is not one that rounding made."""
    (order,) = short.short
    cut_off = dataclasses.replace(short, kept=(dataclasses.replace(order, safe_kg=0.58),))
    said = "0.5 kg"  # of 0.58 kg, to a tenth, down

    assert f"Promise pantry, small head {said} instead of " in words.what_is_short(cut_off)
    assert tables.orders(cut_off).rows[0][4] == said


def test_the_wall_table_has_every_week(plan: SowingPlan) -> None:
    """One row a week, one column a sowing; its cells add up to those of the tidy table."""
    wall, tidy = tables.every_week(plan), plan.to_frame()

    assert len(wall.rows) == 12
    assert len(wall.head) == 1 + sum(cells > 0 for cells in plan.cells)
    total = sum(int(cell.replace(",", "")) for row in wall.rows for cell in row[1:] if cell != "–")
    assert total == tidy.cells.sum()
    start = plan.room.scenario.room.start_date
    shut = [start + dt.timedelta(days=day) for day in range(7, 20)]  # all of the second week, six days of the third
    shut_room = plan.room.scenario.room.model_copy(update={"closed_days": tuple(shut)})
    room = dataclasses.replace(plan.room, scenario=plan.room.scenario.model_copy(update={"room": shut_room}))
    assert len(tables.every_week(dataclasses.replace(plan, room=room)).rows) == 11


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
    assert {f"figures/{name}{end}" for name in ("orders-kept",) for end in figure_boxes.FILES} <= files


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
        assert each["found_less_it"]["mean"] == pytest.approx(row.found_less_it)
    assert sum(each["cells"] for each in summary["sowing_arithmetic"]) == sum(plan.arithmetic.cells)
    assert sum(each["cells"] for each in summary["sowing"]) == sum(plan.cells)
    assert all(sentence.replace("'", "&#39;").partition("`")[0] in page for sentence in summary["answer"])
    assert "Lifting." in page and "Food safety." in page
    assert not [where for where in ('src="http', 'href="http', "url(http") if where in page]


def test_a_plan_that_falls_short_has_a_page_too(short: SowingPlan, tmp_path: Path) -> None:
    """With the marks of what is short."""
    summary = write_sowing_plan(short, tmp_path / "out", provenance=ORIGIN)

    assert summary["is_met"] is False
    assert summary["holds_back"]["causes"]
    assert "this plan, still short" in (tmp_path / "out" / "figures" / "orders-kept.svg").read_text("utf-8")


def test_every_sentence_is_plain(folder: Path) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(folder) == []
