"""Tables of a sowing plan: the week, the weeks that differ, every week for the wall, and how orders are kept."""

from __future__ import annotations

import datetime as dt

from growsim.report.sow import words
from growsim.report.sow.words import what_arithmetic_sows, whose
from growsim.report.tables import Table
from growsim.report.words import a_period, down, number, percent, short_day
from growsim.scenario.names import ANY_CROP
from growsim.study.sow.answer import SowingPlan, compared_plans
from growsim.study.sow.timing import Line
from growsim.vocabulary.days import NAME_OF_WEEKDAY, SHORT_WEEKDAYS, WEEKDAYS

OFTEN = 0.15  # a harvest day that takes at least this share of the lots is named

PLAN_NAMES = {"found": "the plan found", "today": "today's plan", "arithmetic": "just what is ordered, by arithmetic"}


def the_week(plan: SowingPlan) -> Table:
    """One row a sowing: day, crop, cells, sheets, when it is harvested, for whom."""
    rows = []
    lines = zip(plan.frame.lines, plan.cells, strict=True)
    for line, cells in sorted(lines, key=lambda each: WEEKDAYS.index(each[0].weekday)):
        if cells > 0:
            rows.append(
                (
                    f"{NAME_OF_WEEKDAY[line.weekday]}: {line.crop}",
                    number(cells),
                    words.sheets(plan, line.crop, cells),
                    _cut(line),
                    _for(line, plan),
                )
            )
    return Table(
        "What to sow in a full week",
        ("day and crop", "cells", "that is", "harvested mostly after", "is there for"),
        tuple(rows),
        "Days to harvest as rehearsed lots took, with the people this room has.",
    )


def _cut(line: Line) -> str:
    often = [each for each in line.cut if each.chance >= OFTEN] or [max(line.cut, key=lambda each: each.chance)]
    return ", ".join(
        f"{each.days} days ({SHORT_WEEKDAYS[(WEEKDAYS.index(line.weekday) + each.days) % 7]}, {percent(each.chance)})"
        for each in often
    )


def _for(line: Line, plan: SowingPlan) -> str:
    named = [each.order.partner for each in line.feeds if each.order.crop != ANY_CROP]
    return ", ".join(dict.fromkeys(named)) or ", ".join(dict.fromkeys(each.order.partner for each in line.feeds))


def differing(plan: SowingPlan) -> Table:
    """Sowing days of the counted time on which less than usual is sown."""
    rows = []
    for number_, (line, cells) in enumerate(zip(plan.frame.lines, plan.cells, strict=True)):
        if cells <= 0:
            continue
        days = [(day, each) for day, each in plan.frame.cells_on(number_, cells) if _counted(day, plan)]
        for first, last, each in _runs([(day, each) for day, each in days if each != cells]):
            when = short_day(first) if first == last else f"{short_day(first)} to {short_day(last)}"
            rows.append((f"{when}: {line.crop}", number(each), number(cells)))
    return Table(
        "Weeks that differ",
        ("sown on", "cells", "instead of"),
        tuple(rows),
        "Less is sown where what ripens of it would meet a closed day, or an order out of its season.",
    )


def every_week(plan: SowingPlan) -> Table:
    """Week by week, one column a sowing: for the wall. Weeks in which the room is closed are left out."""
    used = sorted(
        (n for n, cells in enumerate(plan.cells) if cells > 0),
        key=lambda n: WEEKDAYS.index(plan.frame.lines[n].weekday),
    )
    start, closed = plan.room.scenario.room.start_date, set(plan.room.scenario.room.closed_days)
    table: list[tuple[str, ...]] = []
    amounts = {n: dict(plan.frame.cells_on(n, plan.cells[n])) for n in used}
    for week in range(plan.run.days // 7):
        begins = start + dt.timedelta(weeks=week)
        if all(begins + dt.timedelta(days=day) in closed for day in range(7)):
            continue
        row: list[str] = []
        for n in used:
            ahead = (WEEKDAYS.index(plan.frame.lines[n].weekday) - begins.weekday()) % 7
            cells = amounts[n].get(begins + dt.timedelta(days=ahead), 0)
            row.append(number(cells) if cells else "–")
        table.append((short_day(begins), *row))
    head = tuple(f"{NAME_OF_WEEKDAY[plan.frame.lines[n].weekday][:3]} {plan.frame.lines[n].crop}" for n in used)
    return Table("Cells to sow, week by week", ("week from", *head), tuple(table))


def orders(plan: SowingPlan) -> Table:
    """How each standing order is kept, with this plan, with today's where it is another, and by arithmetic."""
    today = {each.order: percent(each.share) for each in plan.today_kept}
    arithmetic = {each.order: percent(each.share) for each in plan.arithmetic_kept}
    others = [("today's plan", today)] if plan.has_other_today else []
    others.append(("by arithmetic", arithmetic))
    rows = []
    for each in plan.kept:
        average = "–"
        if each.low is not None and each.high is not None:
            average = f"{percent(each.low)} to {percent(each.high)}"
        rows.append(
            (
                f"{whose(each.order)}, {words.kg(each.ordered_kg)}",
                percent(each.share),
                average,
                words.worst_month(each),
                down(each.safe_kg),
                *(shares[each.order] for _, shares in others),
                "met" if each.share >= plan.certainty - 1e-9 else "short",
            )
        )
    safe = f"safe ({percent(plan.certainty)})"
    return Table(
        "Standing orders, weeks met in full",
        ("order", "this plan", "range of the average (95%)", "weakest month", safe, *(name for name, _ in others), ""),
        tuple(rows),
        f"Safe: what the partner gets in {percent(plan.certainty)} of its weeks at least.",
    )


def plans(plan: SowingPlan) -> Table:
    """The plan found, today's, and by arithmetic: orders met, the difference, kilograms, seed."""
    names = PLAN_NAMES | ({"found": "the plan found, which is today's"} if plan.is_todays else {})
    rows = []
    for each in compared_plans(plan):
        met, low, high = each.met
        average = "–" if low is None or high is None else f"{percent(low, 1)} to {percent(high, 1)}"
        rows.append(
            (
                names[each.which],
                percent(met, 1),
                average,
                "–" if each.gain is None else _points(*each.gain),
                percent(each.score.filled, 1),
                number(each.score.seeds),
            )
        )
    return Table(
        "Plans in the same years",
        (
            "",
            "weekly orders met in full",
            "range of the average (95%)",
            "the plan found meets more by (range, 95%)",
            "greens ordered, handed over",
            f"seeds {a_period(plan.run.days)}",
        ),
        tuple(rows),
        f"In the same years. {what_arithmetic_sows(plan)}",
    )


def _points(gain: float, low: float | None, high: float | None) -> str:
    said = f"{number(100 * gain, 1)} of 100"
    return said if low is None or high is None else f"{said} ({number(100 * low, 1)} to {number(100 * high, 1)})"


def _counted(day: dt.date, plan: SowingPlan) -> bool:
    start = plan.room.scenario.room.start_date
    return 0 <= (day - start).days < plan.run.days


def _runs(days: list[tuple[dt.date, int]]) -> list[tuple[dt.date, dt.date, int]]:
    """(first, last, cells) of days that follow one another a week apart with the same cells."""
    runs: list[tuple[dt.date, dt.date, int]] = []
    for day, cells in days:
        if runs and runs[-1][2] == cells and (day - runs[-1][1]).days == 7:
            runs[-1] = (runs[-1][0], day, cells)
        else:
            runs.append((day, day, cells))
    return runs
