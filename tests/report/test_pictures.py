"""What pictures of answers draw, read back from the drawing: every line, bar, mark and number has its own figure.

Answers are made up, with no two numbers alike, so that nothing can stand in the place of another unnoticed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from growsim.report import figures
from growsim.report.compare import figures as of_compare
from growsim.report.crew import figures as of_crew
from growsim.report.figures import narrowly
from growsim.report.learn import figures as of_learn
from growsim.report.outage import figures as of_outage
from growsim.report.outage import tables as outage_tables
from growsim.report.outage.wall import WallRow
from growsim.report.promise import figures as of_promise
from growsim.report.sow import figures as of_sow
from growsim.run.intervals import Difference
from growsim.scenario.orders import standing_orders
from growsim.study.compare.answer import OPEN
from growsim.study.crew.late import LateFirst, Rung
from growsim.study.outage.event import Effect, EventWeek
from growsim.study.pay_back import Range
from growsim.study.promised import CropWeek, Levels
from growsim.study.verdicts import HEADLINES, judge

MONDAY = dt.date(2031, 2, 10)
KG, ORDERS, HOURS, COST = HEADLINES
ON_TIME = "tasks_on_time_fraction"


def line(each: Any) -> tuple[list[float], list[float]]:
    """(x, y) of a line."""
    return [round(float(x), 2) for x in each.get_xdata()], [round(float(y), 2) for y in each.get_ydata()]


def drawn(axes: Axes) -> list[tuple[list[float], list[float]]]:
    """Every line with something in it, in the order drawn."""
    return [line(each) for each in axes.lines if len(each.get_xdata())]


def by_label(axes: Axes) -> dict[str, list[float]]:
    """y of the lines that the legend names."""
    return {str(each.get_label()): line(each)[1] for each in axes.lines if not str(each.get_label()).startswith("_")}


def said(axes: Axes) -> list[str]:
    """Every text in a drawing."""
    return [each.get_text() for each in axes.texts]


def ticks(axes: Axes, along: str = "y") -> list[str]:
    """What stands at an axis."""
    found = axes.get_yticklabels() if along == "y" else axes.get_xticklabels()
    return [" ".join(each.get_text().split()) for each in found]


def title(axes: Axes) -> str:
    """What stands above a drawing, at its left."""
    return axes.get_title(loc="left") or axes.get_title()


def legend(figure: Figure) -> list[str]:
    """What the legend of a figure says."""
    return [each.get_text() for each in figure.legends[0].get_texts()]


@pytest.fixture(scope="module")
def room(made_up: ModuleType) -> Any:
    """The tiny room."""
    return made_up.tiny_room()


def test_what_the_coming_weeks_bring(room: Any) -> None:
    """Safe up to its amount, then up to possible; likely a line; orders beside; the safe amount written, rounded
    down."""
    weeks = [
        CropWeek(crop, week, MONDAY + dt.timedelta(weeks=week), Levels(base + week, base + week + 0.5, base + week + 2),
                 Levels(0, 0, 0), 0.25 if crop else 0.0)
        for crop, base in (("", 5.0), ("cutting leaf", 1.26), ("small head", 3.0))
        for week in range(2)
    ]  # fmt: skip
    figure = of_promise.weeks_ahead(SimpleNamespace(scenario=room, crops=weeks, at_risk=()))  # type: ignore[arg-type]

    assert [title(axes) for axes in figure.axes[:3]] == ["all greens", "cutting leaf", "small head"]
    leaf = figure.axes[1]
    bars = [(round(p.get_y(), 2), round(p.get_height(), 2)) for p in leaf.patches]  # type: ignore[attr-defined]
    assert bars == [(1.26, 2.0), (0.0, 1.26), (2.26, 2.0), (0.0, 2.26)]
    assert [y[0] for _, y in drawn(leaf)] == [1.76, 0.25, 2.76, 0.25]
    assert said(leaf) == ["1.2", "2.2"]
    assert [y[0] for _, y in drawn(figure.axes[0])] == [5.5, 6.5]  # nothing of it is ordered by name
    assert ticks(figure.axes[2], "x") == ["10 Feb", "17 Feb"]
    assert legend(figure) == ["safe (number: kg)", "likely", "up to possible", "standing orders"]


def test_how_certain_every_delivery_is(room: Any) -> None:
    """A field for each order and week, the share rounded down; what is at risk is hatched."""
    weeks = [CropWeek("", week, MONDAY + dt.timedelta(weeks=week), *[Levels(1, 2, 3)] * 2, 0.0) for week in (0, 1)]
    deliveries = [
        SimpleNamespace(partner=partner, crop=crop, week=week, chance=SimpleNamespace(share=share),
                        is_at_risk=share < 0.9)
        for partner, crop, week, share in (("pantry", "any", 0, 0.959), ("pantry", "any", 1, 0.5),
                                           ("kitchen", "small head", 1, 0.899))
    ]  # fmt: skip
    figure = of_promise.certainty(SimpleNamespace(scenario=room, crops=weeks, deliveries=deliveries))  # type: ignore[arg-type]
    axes = figure.axes[0]

    assert ticks(axes) == ["pantry: any greens", "kitchen: small head"]
    assert [(each.get_text(), each.get_position()) for each in axes.texts] == [
        ("95", (0, 0)), ("50", (1, 0)), ("89", (1, 1)),
    ]  # fmt: skip
    assert [bool(patch.get_hatch()) for patch in axes.patches] == [False, True, True]
    assert [round(patch.get_x(), 2) for patch in axes.patches] == [-0.47, 0.53, 0.53]  # type: ignore[attr-defined]


def test_how_well_a_sowing_plan_keeps_each_order(room: Any) -> None:
    """The least first: before hollow, now filled (a square where it falls short), its range, the goal."""
    one, two = standing_orders(room)[:2]
    made = SimpleNamespace(
        has_other_today=True, certainty=0.9, short=True, today_outcomes=(),
        kept=[SimpleNamespace(order=one, share=0.95, low=0.93, high=0.97),
              SimpleNamespace(order=two, share=0.72, low=0.7, high=0.75)],
        today_kept=(SimpleNamespace(order=one, share=0.8), SimpleNamespace(order=two, share=0.64)),
    )  # fmt: skip
    figure = of_sow.orders_kept(made)  # type: ignore[arg-type]
    axes = figure.axes[0]

    assert ticks(axes) == [f"{each.partner}, {each.crop}" for each in (two, one)]
    assert drawn(axes) == [
        ([64, 72], [0, 0]), ([64], [0]), ([70, 75], [0, 0]), ([72], [0]),
        ([80, 95], [1, 1]), ([80], [1]), ([93, 97], [1, 1]), ([95], [1]), ([90, 90], [0, 1]),
    ]  # fmt: skip
    assert [axes.lines[3].get_marker(), axes.lines[7].get_marker()] == ["s", "o"]
    assert said(axes) == ["72%", "95%"]
    assert legend(figure) == ["this plan, range of the average", "this plan, still short", "today's plan",
                              "asked for: 90%"]  # fmt: skip
    made.has_other_today, made.arithmetic_kept = False, made.today_kept
    made.arithmetic = SimpleNamespace(outcomes=())
    assert "a plan of just what is ordered" in legend(of_sow.orders_kept(made))  # type: ignore[arg-type]


@pytest.fixture
def crew(room: Any) -> Any:
    """A made-up answer about the crew: three a week on Monday in spring, two else; one on Thursday."""
    monday, thursday = room.crew.shifts
    needed = {0: tuple(3 if month in (2, 3, 4) else 2 for month in range(12)), 1: (1,) * 12}
    rungs = [Rung((n,), hours, orders, on_time, 3.0, late, 10) for n, hours, orders, on_time, late in (
        (3, 9.0, 0.99, 0.97, {"wash": 0.02, "sow": 0.01}), (1, 3.0, 0.7, 0.6, {"wash": 0.4, "sow": 0.2}),
        (2, 6.0, 0.9, 0.85, {"wash": 0.15, "sow": 0.05}))]  # fmt: skip
    differences = {
        KG: Difference(KG, -0.5, -0.75, -0.25, 0.1, 10),
        ON_TIME: Difference(ON_TIME, -0.03, -0.08, 0.02, 0.3, 10),
    }
    assert (monday.people, thursday.people) == (2, 2)
    return SimpleNamespace(
        scenario=room, people=lambda shift: needed[shift], rungs=rungs, today_rung=rungs[2], answer_rung=rungs[0],
        wanted={ORDERS: 0.92}, one_less=[SimpleNamespace(shift="Monday", differences=differences)],
        late_first=LateFirst("sow", 1, 0.2, 0.01),
    )  # fmt: skip


def test_how_many_to_recruit_for_which_month(crew: Any, room: Any) -> None:
    """Bars: to sign up, and expected of them; a line for today, said where it differs."""
    axes = of_crew.by_month(crew).axes[0]
    heights = [round(float(p.get_width()), 2) for p in axes.patches if hasattr(p, "get_width")]
    sign_up = [3.0, 3.0, 4.0, 4.0, 4.0, *[3.0] * 7]

    assert heights[:12] == sign_up
    assert heights[12:24] == [
        round(n * chance, 2) for n, chance in zip(sign_up, room.crew.chance_of_coming, strict=True)
    ]
    assert [each.get_text() for each in axes.texts] == [*["3, today 4"] * 2, "4", "4", "4", *["3, today 4"] * 7]
    assert ticks(axes)[:3] == ["Jan", "Feb", "Mar"]
    (today,) = [p for p in axes.patches if hasattr(p, "get_data")]
    assert {float(value) for value in today.get_data().values} == {4.0}


def test_crews_of_every_size(crew: Any) -> None:
    """Orders on the left with their goal, tasks on the right without one; today and the answer marked."""
    left, right = of_crew.frontier(crew).axes[:2]

    assert (title(left), title(right)) == ("Orders filled, %", "Tasks done in time, %")
    assert drawn(left) == [([3, 6, 9], [70, 90, 99]), ([6], [90]), ([9], [99]), ([0, 1], [92, 92])]
    assert drawn(right) == [([3, 6, 9], [60, 85, 97]), ([6], [85]), ([9], [97])]
    assert [str(each.get_label()) for each in left.lines] == [
        "crews of other sizes", "today's sign-up", "the answer", "goal",
    ]  # fmt: skip


def test_what_one_person_less_costs(crew: Any) -> None:
    """Kilograms as they are, shares in points; filled and square where it is certain."""
    kilograms, tasks = of_crew.one_less(crew).axes[:2]

    assert (title(kilograms), title(tasks)) == ("Greens handed out", "Tasks in time")
    assert drawn(kilograms)[1:] == [([-0.75, -0.25], [0, 0]), ([-0.5], [0])]
    assert drawn(tasks)[1:] == [([-8, 2], [0, 0]), ([-3], [0])]
    assert (kilograms.lines[2].get_marker(), tasks.lines[2].get_marker()) == ("s", "D")


def test_what_each_change_brings(room: Any) -> None:
    """Orders first, in points; better, worse and open by their marks; what is too small to matter shaded."""

    def changed(name: str, orders: tuple[float, float, float], kg: tuple[float, float, float]) -> Any:
        verdicts = {
            key: judge(Difference(key, *found, 0.5, 10), margin)
            for key, found, margin in ((ORDERS, orders, 0.01), (KG, kg, 0.2))
        }
        return SimpleNamespace(title=name, verdicts=verdicts, judged=OPEN, outcomes=())

    rows = (
        changed("dim", (-0.2, -0.25, -0.15), (-0.5, -1.5, 0.5)),
        changed("rack", (0.1, 0.05, 0.15), (1.0, 0.5, 1.5)),
    )
    made = SimpleNamespace(scenario=room, changes=rows)
    orders, kilograms = of_compare.headlines(made, 5).axes[:2]  # type: ignore[arg-type]

    assert ticks(orders) == ["rack", "dim"]
    assert (title(orders), orders.get_xlabel()) == ("Orders filled", "of 100 orders")
    assert drawn(orders)[1:5] == [([5, 15], [0, 0]), ([10], [0]), ([-25, -15], [1, 1]), ([-20], [1])]
    assert [orders.lines[n].get_marker() for n in (2, 4)] == ["o", "s"]
    assert drawn(kilograms)[1:5] == [([0.5, 1.5], [0, 0]), ([1], [0]), ([-1.5, 0.5], [1, 1]), ([-0.5], [1])]
    assert [kilograms.lines[n].get_marker() for n in (2, 4)] == ["o", "D"]
    assert [round(orders.patches[0].get_x(), 2), round(kilograms.patches[0].get_x(), 2)] == [-1.0, -0.2]  # type: ignore[attr-defined]


def test_the_chart_for_the_wall() -> None:
    """Plants lost of 100 under the hours until it is repaired, darker the more; a dash for what nobody knows."""
    rows = (
        WallRow("PUMP FAILED", "leaf", (0.0, 0.034, 0.56), "3 h"),
        WallRow("", "head", (0.012, 0.21, None), "at once"),
    )
    axes = of_outage.wall(rows, (1.0, 8.0, 24.0)).axes[0]
    at = {each.get_text(): tuple(round(float(x), 2) for x in each.get_position()) for each in axes.texts}
    boxes = {(round(p.get_x() - 0.03), round(p.get_y() - 0.05, 1)): p.get_facecolor()[0] for p in axes.patches}  # type: ignore[attr-defined]

    assert [at[hours][0] for hours in ("1 h", "8 h", "24 h")] == [0.5, 1.5, 2.5]
    assert {text: at[text] for text in ("0", "3", "56", "1", "21", "–")} == {
        "0": (0.5, 1.32), "3": (1.5, 1.32), "56": (2.5, 1.32), "1": (0.5, 2.32), "21": (1.5, 2.32), "–": (2.5, 2.32),
    }  # fmt: skip
    assert (at["3 h"], at["at once"]) == ((4.0, 1.32), (4.0, 2.32))
    assert at["PUMP FAILED"][1] < at["leaf"][1] < at["head"][1]
    assert boxes[2, 0.8] < boxes[1, 1.8] < boxes[0, 1.8] < boxes[0, 0.8]  # 56, 21, 1, none of 100
    assert any("flood by hand at once" in text for text in at)


@pytest.mark.parametrize("sheet", [nullcontext, narrowly])
def test_a_crowded_wall_stays_legible(sheet: Callable[[], AbstractContextManager[None]], tmp_path: Path) -> None:
    """Many rows and a head of two lines leave the foot to itself; saving looks for texts that touch (conftest.py)."""
    heads = ("PUMP FAILED, TIMER FAILED, RESERVOIR LEAKING", *6 * ("",), *9 * ("POWER OUTAGE, JULY",))
    with sheet():
        made = of_outage.wall([WallRow(head, "leaf", 8 * (0.034,), "3 h") for head in heads], 8 * (24.0,))
        figures.save(made, tmp_path, "wall")


def test_greens_lost_by_hours_until_repaired() -> None:
    """Averages joined, each with its range."""
    found = [Range(0.5, 0.25, 0.75), Range(2.0, None, None), Range(4.0, 3.0, 5.0)]
    axes = of_outage.kilograms_by_hours([("pump", found)], (1.0, 8.0, 48.0)).axes[0]

    assert drawn(axes)[1:] == [([0, 1, 2], [0.5, 2, 4]), ([0, 0], [0.25, 0.75]), ([2, 2], [3, 5])]
    assert ticks(axes, "x") == ["1 h", "8 h", "2 d"]


def worth(kg: Range) -> Any:
    """What something is worth."""
    return SimpleNamespace(kg=kg, plants=Range(41.0, 31.0, 51.0), money=Range(120.0, 90.0, 150.0), years=20,
                           years_alike=8)  # fmt: skip


@pytest.fixture
def outages(room: Any) -> Any:
    """A made-up year of outages: pumps cost more than power."""
    from growsim.study.outage.protections import Protected

    def protected(name: str, added: bool, cost: float | None) -> Protected:
        return Protected(name, added, lambda old: old, frozenset({"pump"}), setting=3.0, cost_per_year=cost)

    machines = [
        SimpleNamespace(machine="power", failures=Range(0.5, 0.4, 0.6), hours_down=4.0, years_with=7,
                        lost=worth(Range(1.0, 0.5, 1.5))),
        SimpleNamespace(machine="pump", failures=Range(2.5, 2.0, 3.0), hours_down=13.0, years_with=12,
                        lost=worth(Range(6.0, 4.0, 8.0))),
    ]  # fmt: skip
    protections = [
        SimpleNamespace(protection=protected("second pump", True, 30.0), worth=worth(Range(3.0, 2.0, 4.0)),
                        net=Range(90.0, 60.0, 120.0)),
        SimpleNamespace(protection=protected("battery for pumps", False, None), worth=worth(Range(0.5, 0.25, 0.75)),
                        net=None),
    ]  # fmt: skip
    pair = SimpleNamespace(first=protections[0].protection, second=protections[1].protection,
                           worth=worth(Range(3.25, 2.5, 4.5)), net=None, kg_alone=3.5)  # fmt: skip
    return SimpleNamespace(
        scenario=room, plants_by_single_outages={"pump": 37.0},
        year=SimpleNamespace(machines=machines, protections=protections, pairs=[pair], value_per_kg=20.0),
    )  # fmt: skip


def test_what_outages_cost_and_what_protections_keep(outages: Any) -> None:
    """The dearest first, with its range and its number; hollow for what is there already."""
    axes = of_outage.risks(outages).axes[0]
    assert ticks(axes) == ["pumps", "power"] or ticks(axes)[0].startswith("pump")
    assert drawn(axes)[1:] == [([4, 8], [0, 0]), ([6], [0]), ([0.5, 1.5], [1, 1]), ([1], [1])]
    assert said(axes) == ["6.0", "1.0"]

    axes = of_outage.protections(outages).axes[0]
    assert ticks(axes) == [
        "a second pump on every reservoir", "the battery that keeps pumps going for 3 hours (is there)",
    ]  # fmt: skip
    assert drawn(axes)[1:] == [([2, 4], [0, 0]), ([3], [0]), ([0.25, 0.75], [1, 1]), ([0.5], [1])]
    faces = [axes.lines[n].get_markerfacecolor() for n in (2, 4)]
    assert faces[0] != faces[1] == of_outage.PAPER


def test_tables_of_outages(outages: Any) -> None:
    """Each figure in its column, for machines, protections to add and in place, and pairs."""
    table = outage_tables.machines(outages)
    assert table.head == (
        "", "outages a year", "each lasts", "years with one", "greens lost, kg", "plants killed",
        "the same, by single outages", "USD lost",
    )  # fmt: skip
    assert [row[1:] for row in table.rows] == [
        ("2.5", "13 hours", "12 of 20", "6.0 (4.0 to 8.0)", "41 (31 to 51)", "37", "120 (90 to 150)"),
        ("0.5", "4 hours", "7 of 20", "1.0 (0.5 to 1.5)", "41 (31 to 51)", "–", "120 (90 to 150)"),
    ]
    (added,) = outage_tables.protections(outages, added=True).rows
    assert added == (
        "a second pump on every reservoir", "3.0 (2.0 to 4.0)", "41 (31 to 51)", "120 (90 to 150)", "USD 30",
        "90 (60 to 120)", "12 of 20 years", "worth it",
    )  # fmt: skip
    (there,) = outage_tables.protections(outages, added=False).rows
    assert there[1:] == (
        "0.5 (0.2 to 0.8)", "41 (31 to 51)", "120 (90 to 150)", "not given", "–", "12 of 20 years", "worth it",
    )  # fmt: skip
    assert outage_tables.protections(outages, added=True).head == (
        "", "greens kept, kg", "plants saved", "USD saved", "its price", "USD left", "could matter in", "so",
    )  # fmt: skip
    (both,) = outage_tables.pairs(outages).rows
    assert both[1:] == ("3.2 (2.5 to 4.5)", "3.5", "–")


@pytest.fixture
def event(room: Any) -> Any:
    """One outage in week 4: plants lost, kilograms missing and made up again."""

    def effect(mean: float, around: float = 0.5) -> Effect:
        return Effect(Range(mean, mean - around, mean + around), 0.0, mean, 2 * mean)

    weeks = tuple(
        EventWeek(week, effect(20.0 * (week == 4), 2.0), effect({5: 1.5, 6: -1.0}.get(week, 0.0)),
                  effect({5: 1.5}.get(week, 0.5 if week > 5 else 0.0), 0.25))
        for week in range(1, 9)
    )  # fmt: skip
    outage = SimpleNamespace(start_day=24, start_hour=12.0)
    return SimpleNamespace(outage=outage, weeks=weeks, scenario=room)


def test_one_outage_week_by_week(event: Any) -> None:
    """Plants above, greens below with what is missing so far, from two weeks before; a line where it begins."""
    upper, lower = of_outage.event_weeks(event).axes[:2]

    assert [round(float(p.get_height()), 2) for p in upper.patches] == [0, 0, 20, 0, 0, 0, 0]  # type: ignore[attr-defined]
    assert [round(float(p.get_height()), 2) for p in lower.patches] == [0, 0, 0, 1.5, -1, 0, 0]  # type: ignore[attr-defined]
    assert by_label(lower)["so far"] == [0, 0, 0, 1.5, 0.5, 0.5, 0.5]
    assert drawn(upper)[2] == ([3, 3], [18, 22])
    assert drawn(upper)[-1][0] == [3.0, 3.0]  # 24.5 days / 7 - 0.5
    assert ticks(lower, "x")[:2] == ["13 Jan", "20 Jan"]
    table = outage_tables.event_weeks(event)
    assert table.head == ("week from", "plants lost", "greens missing, kg", "kg missing so far")
    assert table.rows[:3] == (
        ("27 Jan 2031", "20 (18 to 22)", "0.0 (-0.5 to 0.5)", "0.0"),
        ("3 Feb 2031", "0 (-2 to 2)", "1.5 (1.0 to 2.0)", "1.5"),
        ("10 Feb 2031", "0 (-2 to 2)", "-1.0 (-1.5 to -0.5)", "0.5"),
    )


def test_weeks_held_back() -> None:
    """What came, the middle and the band of the forecast, what the last four weeks say."""
    weeks = [
        SimpleNamespace(begins=MONDAY + dt.timedelta(weeks=n), forecast=(1.0 + n, 2.0 + n, 4.0 + n),
                        naive=(0.5 + n, 1.5 + n, 3.5 + n), came=2.25 + n)
        for n in range(3)
    ]  # fmt: skip
    axes = of_learn.forecast_check(SimpleNamespace(weeks=weeks, label="greens", unit="kg")).axes[0]  # type: ignore[arg-type]

    assert by_label(axes) == {"middle": [2, 3, 4], "last four weeks": [1.5, 2.5, 3.5], "what came": [2.25, 3.25, 4.25]}
    assert [y for _, y in drawn(axes)][1:3] == [[0.5, 1.5, 2.5], [3.5, 4.5, 5.5]]
    band = axes.collections[0].get_paths()[0].vertices
    assert {(float(x), float(y)) for x, y in band} == {(n, low + n) for n in range(3) for low in (1.0, 4.0)}
    assert ticks(axes, "x") == ["10 Feb", "17 Feb", "24 Feb"]
