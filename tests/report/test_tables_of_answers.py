"""Tables behind answers, cell by cell, from made-up answers in which no two numbers are alike."""

from __future__ import annotations

import datetime as dt
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

from growsim.report.compare import tables as of_compare
from growsim.report.crew import tables as of_crew
from growsim.report.learn import tables as of_learn
from growsim.report.promise import tables as of_promise
from growsim.report.sow import tables as of_sow
from growsim.report.tables import Table
from growsim.run.intervals import Difference, Estimate, Share
from growsim.scenario.orders import standing_orders
from growsim.study.compare.answer import Comparison
from growsim.study.crew.goals import ON_TIME, ORDERS, Target
from growsim.study.crew.late import Rung
from growsim.study.learn.learned import Known, Learned
from growsim.study.promised import CropWeek, Delivery, Levels
from growsim.study.sow.score import Kept
from growsim.study.verdicts import judge

KG = "kg_handed_out_per_week"
MONDAY = dt.date(2031, 2, 10)


def cells(table: Table) -> list[tuple[str, ...]]:
    """Its rows, each as long as its head."""
    assert {len(row) for row in table.rows} <= {len(table.head)}
    return list(table.rows)


@pytest.fixture(scope="module")
def room(made_up: ModuleType) -> Any:
    """The tiny room."""
    return made_up.tiny_room()


def estimate(key: str, mean: float, around: float | None = 0.02) -> Estimate:
    """A figure with its range."""
    low, high = (None, None) if around is None else (mean - around, mean + around)
    return Estimate(key, mean, low, high, mean - 0.1, mean, mean + 0.1, 10, "one year")


def test_every_figure_of_a_comparison(room: Any) -> None:
    """Today, changed, the difference and its range, how often better, what is decided and whether it matters."""
    found = {
        key: judge(difference, margin)
        for key, difference, margin in (
            (KG, Difference(KG, 0.5, 0.25, 0.75, 0.9, 20), 0.1),
            (ORDERS, Difference(ORDERS, -0.03, -0.05, -0.01, 0.1, 20), 0.1),
            ("kwh_per_kg", Difference("kwh_per_kg", 0.4, -1.5, 2.25, None, 20), 0.1),
            ("machine_failures", Difference("machine_failures", 0.0, 0.0, 0.0, 0.0, 20), 0.1),
            ("cost_per_kg", Difference("cost_per_kg", -1.25, None, None, 1.0, 1), 0.1),
        )
    }
    comparison = SimpleNamespace(
        scenario=room, plan=SimpleNamespace(days=364),
        estimates={key: estimate(key, mean) for key, mean in zip(found, (4.0, 0.9, 30.0, 2.0, 8.0), strict=True)},
    )  # fmt: skip
    comparison.with_change = lambda changed, key: Comparison.with_change(comparison, changed, key)  # type: ignore[arg-type]
    changed = SimpleNamespace(title="a rack", verdicts=found, outcomes=(None,) * 20)
    table = of_compare.every_figure(changed, comparison)  # type: ignore[arg-type]

    assert table.head == (
        "", "today", "changed", "difference", "range of the difference", "years it is better in", "verdict",
    )  # fmt: skip
    assert [row[1:] for row in cells(table)] == [
        ("4.0", "4.5", "+0.5", "+0.2 to +0.8", "90%", "more"),
        ("90%", "87%", "-3.0 of 100", "-5.0 of 100 to -1.0 of 100", "10%", "less, small"),
        ("30.0", "30.4", "+0.4", "-1.5 to +2.2", "–", "may be chance"),
        ("2.0", "2.0", "0.0", "exactly none", "0%", "none"),
        ("USD 8.00", "USD 6.75", "USD -1.25", "–", "100%", "may be chance"),
    ]
    assert "a rack" in table.title and "20 rehearsed years" in table.note


def test_what_a_change_file_changes(room: Any) -> None:
    """Key by key: what it is today and what it becomes; what is new, what is taken away; what stays is not told."""
    raw = {
        "climate": {"air_temperature_c": 22, "fans_w": 30},
        "crops": [{"name": "basil", "typical_mass_g": 20, "shelf_life_days": 5}, {"name": "mint", "typical_mass_g": 9}],
        "room": {"closed_days": ["2031-05-26"]},
    }
    change = {
        "change": {"name": "all"},
        "climate": {"air_temperature_c": 20, "fans_w": 30},
        "crops": [
            {"name": "basil", "typical_mass_g": {"low": 18, "likely": 21, "high": 25}},
            {"name": "mint", "remove": True},
            {"name": "dill", "typical_mass_g": 5},
        ],
        "lights": {"is_there": True},
    }
    changed = SimpleNamespace(alternative=SimpleNamespace(change=SimpleNamespace(tables=change)))
    table = of_compare.what_it_changes(changed, SimpleNamespace(room=SimpleNamespace(raw=raw)))  # type: ignore[arg-type]

    assert table.head == ("key", "today", "changed to")
    assert cells(table) == [
        ("climate.air_temperature_c", "22", "20"),
        ("crops.basil.typical_mass_g", "20", "low 18, likely 21, high 25"),
        ("crops.mint", "there", "taken away"),
        ("crops.dill", "–", "new"),
        ("lights.is_there", "–", "yes"),
    ]


@pytest.fixture
def crew(room: Any) -> Any:
    """A made-up answer about the crew."""
    spring, rest = SimpleNamespace(months=(2, 3, 4)), SimpleNamespace(months=(0, 1, 5, 6, 7, 8, 9, 10, 11))
    rungs = [("three", Rung((3, 4), 9.04, 0.99, 0.97, 5.25, {"wash": 0.02}, 12)),
             ("today", Rung((2, 1), 3.0, None, 0.61, None, {"wash": 0.4, "sow": 0.2}, 30))]  # fmt: skip
    return SimpleNamespace(
        scenario=room, end="proven",
        targets={ON_TIME: Target(ON_TIME, 0.9, 0.97, 0.98, None), ORDERS: Target(ORDERS, 0.95, 0.88, 0.9, 0.025)},
        estimates={ON_TIME: estimate(ON_TIME, 0.93), ORDERS: estimate(ORDERS, 0.87, None)},
        today={ON_TIME: estimate(ON_TIME, 0.8)},
        seasons=[
            SimpleNamespace(season=spring, sign_up=(3, 4), chance=0.85, hard=1.25, floor=0.9,
                            values={ORDERS: (0.91, 0.89, 0.93), ON_TIME: (0.95, None, None)}),
            SimpleNamespace(season=rest, sign_up=(2, 1), chance=0.7, hard=1.0, floor=None, values={}),
        ],
        one_less=[SimpleNamespace(shift="Monday", differences={
            KG: Difference(KG, -0.5, -0.75, -0.25, 0.1, 10), ORDERS: Difference(ORDERS, -0.03, -0.08, 0.02, 0.3, 10),
        })],
        named_rungs=lambda: rungs,
    )  # fmt: skip


def test_tables_about_the_crew(crew: Any) -> None:
    """Goals, seasons, one less, crews of every size from the fewest hours on, and late jobs."""
    goals = of_crew.goals(crew)
    assert goals.head[1:] == (
        "yours", "asked for", "today", "with the answer (95% range of the average)", "with as many people as fit",
    )  # fmt: skip
    assert cells(goals) == [
        ("tasks in time", "90%", cells(goals)[0][2], "80.0%", "93.0% (91.0% to 95.0%)", "97.0%"),
        ("orders filled", "95%", cells(goals)[1][2], "–", "87.0%", "88.0%"),
    ]
    assert cells(goals)[0][2] == "90.0%"
    assert cells(goals)[1][2].endswith("(2.5 in 100 below as many people as fit)")
    assert "met with 95% confidence" in goals.note

    seasons = of_crew.seasons(crew)
    assert seasons.head == (
        "months", "sign-ups a week", "of 100 come", "effort to find one", "orders to fill at least", "orders filled",
        "tasks in time",
    )  # fmt: skip
    assert [row[1:] for row in cells(seasons)] == [
        ("7", "85", "1.25", "90.0%", "91.0% (89.0% to 93.0%)", "95.0%"), ("3", "70", "1.00", "–", "–", "–"),
    ]  # fmt: skip
    assert cells(of_crew.one_less(crew)) == [
        ("Monday", "-0.50", "-0.75 to -0.25", "–", "–", "-3.0", "-8.0 to +2.0"),
    ]
    assert cells(of_crew.crews(crew)) == [
        ("today", "2 / 1", "3.0", "–", "61%", "–", "30"), ("three", "3 / 4", "9.0", "99%", "97%", "5.2", "12"),
    ]  # fmt: skip
    late = of_crew.late(crew)
    assert (late.head, cells(late)) == (
        ("task", "today, 3 h", "three, 9 h"), [("sow", "20%", "–"), ("wash", "40%", "2%")],
    )  # fmt: skip


def test_tables_of_promises(room: Any) -> None:
    """Amounts rounded down, what is ordered and missing to the nearest; what is at risk is said so."""
    week = CropWeek("", 0, MONDAY, Levels(5.29, 6.0, 7.5), Levels(2.49, 3.0, 4.0), 2.8)
    leaf = CropWeek("cutting leaf", 0, MONDAY, Levels(0.04, 1.0, 2.0), Levels(0.0, 0.5, 1.0), 0.0)
    sure, risky = (
        Delivery(partner, crop, 0, MONDAY + dt.timedelta(days=3), 1.5, Levels(gets, 1.45, 1.5),
                 Share(share, low, high, 200), short)
        for partner, crop, gets, share, low, high, short in (
            ("pantry", "any", 1.39, 0.93, 0.89, 0.96, 0.01), ("kitchen", "small head", 0.75, 0.5, 0.43, 0.57, 0.35))
    )  # fmt: skip
    rescues = [
        SimpleNamespace(name=name, saves=(1,) * saves, risks=(1,) * risks, kg=SimpleNamespace(mean=1.75), helps=helps,
                        met=SimpleNamespace(mean=mean, low=low, high=high))
        for name, saves, risks, mean, low, high, helps in (
            ("sow more", 3, 0, 2.5, 1.5, 3.5, True), ("wash later", 0, 2, -1.5, -2.5, -0.5, False),
            ("come on Friday", 1, 0, 0.5, -0.5, 1.25, False), ("wait", 0, 0, 0.0, 0.0, 0.0, False))
    ]  # fmt: skip
    promises: Any = SimpleNamespace(
        crops=(week, leaf), deliveries=(sure, risky), together=(), rescues=rescues,
        given_up=[SimpleNamespace(lot="a", plants=12, crop="small head", stage="head", to_move=False),
                  SimpleNamespace(lot="b", plants=30, crop="cutting leaf", stage="seedling", to_move=True)],
    )  # fmt: skip

    by_week = of_promise.by_week(promises)
    assert by_week.head == ("kg", "safe", "likely", "possible", "ordered", "safe on top of orders")
    assert cells(by_week) == [
        ("week of 10 Feb: all greens", "5.2", "6.0", "7.5", "2.8", "2.4"),
        ("week of 10 Feb: cutting leaf", "–", "1.0", "2.0", "–", "–"),
    ]
    partners = of_promise.by_partner(promises)
    assert partners.head == ("kg", "ordered", "safe", "likely", "met in full", "short on average", "")
    assert cells(partners) == [
        ("Thu 13 Feb, pantry: any greens", "1.5", "1.3", "1.4", "93% (89% to 96%)", "–", ""),
        ("Thu 13 Feb, kitchen: small head", "1.5", "0.7", "1.4", "50% (43% to 57%)", "0.3", "at risk"),
    ]
    tried = of_promise.tried(promises)
    assert tried.head == (
        "what", "saves", "puts at risk", "more deliveries met in full", "more kg to partners", "",
    )  # fmt: skip
    assert cells(tried) == [
        ("sow more", "3", "–", "2.5 (1.5 to 3.5)", "1.8", "helps"),
        ("wash later", "0", "2", "-1.5 (-2.5 to -0.5)", "1.8", "worse"),
        ("come on Friday", "1", "–", "0.5 (-0.5 to 1.2)", "1.8", "not certain"),
        ("wait", "0", "–", "0.0 (0.0 to 0.0)", "1.8", "no effect"),
    ]
    assert cells(of_promise.given_up(promises)) == [
        ("a", "12", "small head", "head", "harvested"), ("b", "30", "cutting leaf", "seedling", "transplanted"),
    ]  # fmt: skip


def test_tables_of_a_sowing_plan(room: Any) -> None:
    """The week by weekday, weeks that differ, every week for the wall, orders beside two other plans."""
    one, two = standing_orders(room)[:2]
    feeds = [SimpleNamespace(order=SimpleNamespace(partner=who, crop=crop)) for who, crop in (
        ("kitchen", "any"), ("pantry", "small head"))]  # fmt: skip
    cut = [SimpleNamespace(days=days, chance=chance) for days, chance in ((35, 0.6), (38, 0.3), (42, 0.1))]
    lines = [
        SimpleNamespace(crop="small head", weekday="thu", cut=cut, feeds=feeds),
        SimpleNamespace(crop="cutting leaf", weekday="mon", cut=cut[2:], feeds=feeds[:1]),
        SimpleNamespace(crop="cutting leaf", weekday="wed", cut=cut, feeds=feeds),
    ]
    start = room.room.start_date

    def cells_on(line: int, amount: int) -> list[tuple[dt.date, int]]:
        first = start + dt.timedelta(days=(3, 0, 2)[line])
        days = [first + dt.timedelta(weeks=week) for week in range(5)]
        return [(day, 10 if line == 0 and week in (1, 2) else amount) for week, day in enumerate(days)]

    def kept(order: Any, share: float, safe: float, worst: Any, around: float | None) -> Kept:
        low, high = (None, None) if around is None else (share - around, share + around)
        return Kept(order, share, low, high, 20, 0.97, safe, 1.8, 0.4, worst)

    plan: Any = SimpleNamespace(
        frame=SimpleNamespace(lines=lines, cells_on=cells_on), cells=(30, 90, 0), certainty=0.9,
        room=SimpleNamespace(scenario=room), run=SimpleNamespace(days=28), has_other_today=True,
        kept=(kept(one, 0.95, 1.79, (7, 0.84), 0.02), kept(two, 0.72, 0.99, None, None)),
        today_kept=(kept(one, 0.81, 0, None, None), kept(two, 0.64, 0, None, None)),
        arithmetic_kept=(kept(one, 0.55, 0, None, None), kept(two, 0.46, 0, None, None)),
    )  # fmt: skip

    week = of_sow.the_week(plan)
    assert week.head == ("day and crop", "cells", "that is", "harvested mostly after", "is there for")
    assert cells(week) == [
        ("Monday: cutting leaf", "90", "1½ seed trays", "42 days (Mon, 10%)", "kitchen"),
        ("Thursday: small head", "30", "½ seed tray", "35 days (Thu, 60%), 38 days (Sun, 30%)", "pantry"),
    ]
    assert cells(of_sow.differing(plan)) == [("16 Jan to 23 Jan: small head", "10", "30")]
    wall = of_sow.every_week(plan)
    assert wall.head == ("week from", "Mon cutting leaf", "Thu small head")
    assert cells(wall) == [
        ("6 Jan", "90", "30"), ("13 Jan", "90", "10"), ("20 Jan", "90", "10"), ("27 Jan", "90", "30"),
    ]  # fmt: skip
    orders = of_sow.orders(plan)
    assert orders.head == (
        "order", "this plan", "range of the average (95%)", "weakest month", "safe (90%)", "today's plan",
        "by arithmetic", "",
    )  # fmt: skip
    assert [row[1:] for row in cells(orders)] == [
        ("95%", "93% to 97%", "July, 84%", "1.7 kg", "81%", "55%", "met"),
        ("72%", "–", "–", "0.9 kg", "64%", "46%", "short"),
    ]
    assert cells(orders)[0][0] == f"{one.partner}, {one.crop}, 1.8 kg"


def test_plans_in_the_same_years(room: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """The plan found, today's and arithmetic's, each with its own figures."""
    made = [
        SimpleNamespace(which=which, met=met, gain=gain, score=SimpleNamespace(filled=filled, seeds=seeds))
        for which, met, gain, filled, seeds in (
            ("found", (0.9, 0.88, 0.92), None, 0.97, 5000.0),
            ("today", (0.8, 0.75, 0.85), (0.1, 0.05, 0.15), 0.93, 4000.0),
            ("arithmetic", (0.6, None, None), (0.3, None, None), 0.85, 6000.0))
    ]  # fmt: skip
    monkeypatch.setattr(of_sow, "compared_plans", lambda _: made)
    monkeypatch.setattr(of_sow, "what_arithmetic_sows", lambda _: "")
    plan: Any = SimpleNamespace(run=SimpleNamespace(days=364), is_todays=False)
    table = of_sow.plans(plan)

    assert table.head[1:] == (
        "weekly orders met in full", "range of the average (95%)", "the plan found meets more by (range, 95%)",
        "greens ordered, handed over", "seeds a year",
    )  # fmt: skip
    assert cells(table) == [
        ("the plan found", "90.0%", "88.0% to 92.0%", "–", "97.0%", "5,000"),
        ("today's plan", "80.0%", "75.0% to 85.0%", "10.0 of 100 (5.0 to 15.0)", "93.0%", "4,000"),
        ("just what is ordered, by arithmetic", "60.0%", "–", "30.0 of 100", "85.0%", "6,000"),
    ]


def test_tables_of_what_was_learned() -> None:
    """Before, after, range, records, what the room file counts for, and who tells; early and late; weeks held back."""
    before = Known(110.0, 12.0, 88.0, 95.0, 111.0, 126.0, 134.0)
    after = Known(130.0, 3.0, 124.0, 126.5, 131.0, 134.0, 136.0)
    figures = [
        Learned("crops.x.typical_mass_g", "mass", what, "on its typical day", "g", 112.0, before, known, records,
                "harvests", 4.04, "Bayes")
        for what, known, records in (("basil", after, 17), ("mint", before, 3), ("dill", before, 0))
    ]  # fmt: skip
    learning: Any = SimpleNamespace(
        figures=figures,
        records=SimpleNamespace(
            tables=[SimpleNamespace(file="a.csv", table="work", rows=9, used=7, set_aside=2, not_read=("mood",))],
            set_aside=[SimpleNamespace(file="a.csv", line=4, reason="came is five")],
        ),
        odd=[SimpleNamespace(file="a.csv", line=8, says="heavy", used=True),
             SimpleNamespace(file="a.csv", line=3, says="light", used=False)],
        drift=[SimpleNamespace(what="seeds", early=0.9, late=0.8, since=MONDAY, unit="fraction", lines="2-9, 10-20"),
               SimpleNamespace(what="mass", early=131.0, late=99.0, since=MONDAY, unit="g", lines="2-5, 6-9")],
    )  # fmt: skip

    table = of_learn.figures_table(learning, "mass")
    assert table.head == (
        "",
        "room file",
        "learned",
        "8 in 10 lie within",
        "harvests",
        "room file counts as",
        "told by",
    )
    assert cells(table) == [
        ("basil", "112 g", "131 g", "126 to 134 g", "17", "4.0", "your record"),
        ("mint", "112 g", "111 g", "95.0 to 126 g", "3", "4.0", "mostly room file"),
        ("dill", "112 g", "111 g", "95.0 to 126 g", "0", "4.0", "room file"),
    ]
    (basil, *_) = of_learn.measures(learning)
    assert dict(zip(of_learn.MEASURES_HEAD, basil, strict=True)) == {
        "key": "crops.x.typical_mass_g", "what": "basil", "label": "on its typical day", "unit": "g",
        "room_file": 112.0, "before_p10": 95.0, "before_p50": 111.0, "before_p90": 126.0, "mean": 130.0,
        "mean_low": 124.0, "mean_high": 136.0, "p10": 126.5, "p50": 131.0, "p90": 134.0, "records": 17,
        "records_are": "harvests", "room_file_counts_as": 4.04, "stays_near_room_file": "false", "method": "Bayes",
    }  # fmt: skip
    assert cells(of_learn.read_table(learning)) == [("a.csv", "work", "9", "7", "2", "mood")]
    assert cells(of_learn.aside_table(learning)) == [("a.csv line 4", "came is five")]
    assert cells(of_learn.odd_table(learning)) == [("a.csv line 3", "light", "no"), ("a.csv line 8", "heavy", "yes")]
    assert cells(of_learn.drift_table(learning)) == [
        ("seeds", "90.0%", "10 Feb 2031", "80.0%", "2-9, 10-20"), ("mass", "131 g", "10 Feb 2031", "99 g", "2-5, 6-9"),
    ]  # fmt: skip

    week = SimpleNamespace(begins=MONDAY, came=2.25, forecast=(1.0, 2.0, 4.0), naive=(2.5, 3.0, 3.5))
    above = SimpleNamespace(begins=MONDAY + dt.timedelta(weeks=1), came=4.75, forecast=(1.0, 2.0, 4.0), naive=(3, 3, 3))
    held: Any = SimpleNamespace(key="kg", label="greens", unit="kg", weeks=(week, above), loss=0.25, naive_loss=0.5)
    weeks = of_learn.weeks_table(held)
    assert weeks.head == ("week from", "came", "forecast, 8 in 10", "middle", "inside", "last four weeks")
    assert cells(weeks) == [
        ("10 Feb 2031", "2.2", "1.0 to 4.0", "2.0", "yes", "2.5 to 3.5"),
        ("17 Feb 2031", "4.8", "1.0 to 4.0", "2.0", "no", "3.0 to 3.0"),
    ]
    assert "0.25 kg, against 0.5 kg" in weeks.note
    learning.forecast_check = SimpleNamespace(series=[held])
    (first, _) = of_learn.weeks_rows(learning)
    assert dict(zip(of_learn.WEEKS_HEAD, first, strict=True)) == {
        "series": "kg", "unit": "kg", "week": 1, "week_from": "2031-02-10", "came": 2.25, "forecast_p10": 1.0,
        "forecast_p50": 2.0, "forecast_p90": 4.0, "last_four_lowest": 2.5, "last_four_mean": 3.0,
        "last_four_highest": 3.5,
    }  # fmt: skip
