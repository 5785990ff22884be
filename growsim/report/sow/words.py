"""The page of the answer about sowing: what to sow, how surely orders are then kept, what is short, how sure it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.report import holds_back
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.words import counted, down, listed, mass_cell, number, percent, rehearsals
from growsim.run.intervals import mean_interval
from growsim.scenario import on_paper
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import StandingOrder
from growsim.study.sow.answer import SowingPlan, compared_plans
from growsim.study.sow.score import Kept
from growsim.vocabulary.days import MONTHS, NAME_OF_WEEKDAY, WEEKDAYS

if TYPE_CHECKING:
    from growsim.ledger.outcome import Outcome
    from growsim.scenario.demand import Sowing

JUST_ORDERED = "a plan of just what is ordered"  # by arithmetic, the same every week
WAITING = "slots_waiting_mean"
AS_MUCH = 0.05  # more or less seed than this goes before on which days it is sown
EIGHTHS = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")


def front(plan: SowingPlan) -> Front:
    """The page of the answer."""
    lost = "" if plan.held is None else holds_back.why(plan.held, plan.scenario, plan.run.days)
    why = f"{why_this_plan(plan)}{' With it: ' if lost else ''}{lost}".strip()
    return Front.within((headline(plan),), advice(plan), table(plan), how_sure(plan), why)


def headline(plan: SowingPlan) -> str:
    """Whether every order has the certainty asked for, else how many are filled; against the plan of today."""
    if not any(plan.cells):
        return "Sow nothing: no sowing that fits the room meets any order."
    asked, found = percent(plan.certainty), compared_plans(plan)[0]
    what = "Keep today's plan" if plan.is_todays else "Sow as in the table"
    if plan.is_met:
        least = min(plan.kept, key=lambda each: each.share)
        said = f"{what}: every order is met in full in {asked} of its weeks or more, the least sure in {share(least)}"
    else:
        kept = len(plan.kept) - len(plan.short)
        said = (
            f"{what}: {percent(found.met[0])}{_range(*found.met[1:])} of weekly orders are met in full; {number(kept)} "
            f"of {counted(len(plan.kept), 'order')} {'has' if kept == 1 else 'have'} the {asked} asked for"
        )
    today = next((each for each in compared_plans(plan) if each.which == "today"), None)
    if today is None:
        return f"{said}."
    chance = "" if today.gain is None or (today.gain[1] or 0.0) > 0.0 else "; the difference may be chance"
    return f"{said}. Today's plan meets {percent(today.met[0])} of all{chance}."


def why_this_plan(plan: SowingPlan) -> str:
    """What it sows otherwise than today's plan, or than sowing by arithmetic, and the order that gains most by it."""
    if not any(plan.cells):
        return ""
    if plan.is_todays or (plan.is_by_arithmetic and not plan.has_other_today):
        same = "today's plan" if plan.is_todays else JUST_ORDERED
        return f"Of {counted(plan.tried, 'plan')} tried none fills more orders than {same}."
    other, outcomes, kept = other_plan(plan)
    shares = {each.order: each.share for each in kept}
    most = max(plan.kept, key=lambda each: each.share - shares.get(each.order, each.share), default=None)
    said = _otherwise(plan, outcomes, other, ANY_CROP if most is None else most.order.crop)
    if most is None or percent(most.share) == percent(shares.get(most.order, most.share)):
        return f"{said}, and fills the orders as surely."
    met = f"{percent(most.share)} of its weeks, not in {percent(shares[most.order])}"
    return f"{said}: {whose(most.order)} is met in full in {met}.{_room_left(plan)}"


def _room_left(plan: SowingPlan) -> str:
    """Why less seed than today's fills more orders: what waits less for certain, in the same years; else ""."""
    less = _seeds(plan.today_outcomes) * (1.0 - AS_MUCH) > _seeds(plan.outcomes)
    if not plan.has_other_today or not less:
        return ""
    now, then = ([each.measures[WAITING] for each in years] for years in (plan.outcomes, plan.today_outcomes))
    _, _, at_most = mean_interval([one - other for one, other in zip(now, then, strict=True)])
    if at_most is None or at_most >= 0.0:
        return ""
    average, before = (number(math.fsum(each) / len(each), 1) for each in (now, then))
    return f" Less seed leaves room: {average} trays wait for a place on the shelves, not {before}."


def other_plan(plan: SowingPlan) -> tuple[str, Sequence[Outcome], Sequence[Kept]]:
    """The plan it is held against: today's, or that of arithmetic where today's is none or the same."""
    if plan.has_other_today:
        return "today's plan", plan.today_outcomes, plan.today_kept
    return JUST_ORDERED, plan.arithmetic.outcomes, plan.arithmetic_kept


def _seeds(outcomes: Sequence[Outcome], crop: str = ANY_CROP) -> float:
    """Seeds sown in all the years."""
    if crop == ANY_CROP:
        return math.fsum(outcome.measures["seeds_sown"] for outcome in outcomes)
    return math.fsum(math.fsum(outcome.weeks[f"seeds_sown:{crop}"]) for outcome in outcomes)


def _otherwise(plan: SowingPlan, outcomes: Sequence[Outcome], other: str, crop: str) -> str:
    """ "It sows 20% more basil than today's plan"; of about as much, on which other days, or that it is in other
    weeks."""
    what = "seed" if crop == ANY_CROP else crop
    now, then = _seeds(plan.outcomes, crop), _seeds(outcomes, crop)
    by = now / then - 1.0 if then else 0.0
    if abs(by) >= AS_MUCH:
        return f"It sows {percent(abs(by))} {'more' if by > 0 else 'less'} {what} than {other}"
    found = [line for line, cells in zip(plan.frame.lines, plan.cells, strict=True) if cells]
    days, days_now = (
        [day for day in WEEKDAYS if any((line.weekday, line.crop) == (day, crop) for line in lines)]
        for lines in (found, plan.room.scenario.sowing)
    )
    if plan.has_other_today and days != days_now and days and days_now:
        on, instead = (listed([NAME_OF_WEEKDAY[day] for day in each]) for each in (days, days_now))
        return f"It sows {what} on {on}, {other} on {instead}"
    return f"It sows {what} in other weeks than {other}"


def advice(plan: SowingPlan) -> list[str]:
    """What is out of reach of any sowing, or what limits, as tried; and what to promise where an order is short."""
    said = []
    if plan.impossible:
        said.append(out_of_reach(plan))
    elif plan.held is not None and plan.held.was_tried:
        said.append(holds_back.tried_advice(plan.held, "With this plan"))
    if plan.short:
        said.append(what_is_short(plan))
    keep = (
        "Leave it as it is."
        if plan.is_todays
        else "Put it into your room: `growsim keep ROOM sowing.toml`, with the file beside this report."
    )
    return said or ([keep] if any(plan.cells) else [])


def table(plan: SowingPlan) -> AnswerTable:
    """What to sow on which day of a full week, beside what is sown then today: a line for each day and crop of either,
    in the order of the week."""
    found = {
        (line.weekday, line.crop): cells for line, cells in zip(plan.frame.lines, plan.cells, strict=True) if cells
    }
    today = plan.room.scenario.sowing if plan.has_other_today else ()
    crops = list(on_paper.crops_by_name(plan.room.scenario))
    keys = sorted(
        {*found, *((line.weekday, line.crop) for line in today)},
        key=lambda each: (WEEKDAYS.index(each[0]), crops.index(each[1])),
    )
    of = "today's plan" if plan.is_todays else "the plan found"
    rows = []
    for day, crop in keys:
        cells = found.get((day, crop), 0)
        now = [line for line in today if (line.weekday, line.crop) == (day, crop)]
        told = Cell(_cells(plan, crop, cells), cells, unit="cells")
        rows.append(Row(f"{NAME_OF_WEEKDAY[day]}: {crop}", (told, *([_today(plan, crop, now)] if today else []))))
    return AnswerTable(
        "Cells to sow in a full week",
        (Column("sow", of), *([Column("today", "today's plan")] if today else [])),
        tuple(rows),
        "A few weeks differ: see below." if varies(plan) else "Every week alike.",
        "day and crop",
    )


def _cells(plan: SowingPlan, crop: str, cells: int) -> str:
    """ "129 (1¾ plug trays)"."""
    return f"{number(cells)} ({sheets(plan, crop, cells)})" if cells else "none"


def _today(plan: SowingPlan, crop: str, lines: Sequence[Sowing]) -> Cell:
    """What is not sown every week of the year says so."""
    cells = sum(line.cells for line in lines)
    always = all(line.every_weeks == 1 and not (line.months or line.from_date or line.until_date) for line in lines)
    return Cell(f"{_cells(plan, crop, cells)}{'' if always else ', some weeks'}", cells, unit="cells")


def how_sure(plan: SowingPlan) -> str:
    """What it rests on, and how far it does better than the plan of today, or than sowing by arithmetic."""
    said = f"From {rehearsals(len(plan.outcomes), plan.run.days)} that the search had not seen"
    other = next((each for each in compared_plans(plan)[1:]), None)
    if other is None or other.gain is None or (other.which == "arithmetic" and plan.is_by_arithmetic):
        return f"{said}."
    gain, low, high = (None if value is None else number(100 * value) for value in other.gain)
    between = f" ({low} to {high})" if low is not None and high is not None and low != high else ""
    return f"{said}: there it meets {gain}{between} more of 100 weekly orders than {other_plan(plan)[0]}."


def varies(plan: SowingPlan) -> bool:
    """Whether some sowing days are not like the others."""
    return any(
        len({each for _, each in plan.frame.cells_on(number, cells)}) > 1
        for number, cells in enumerate(plan.cells)
        if cells > 0
    )


def sheets(plan: SowingPlan, crop: str, cells: float) -> str:
    """Cells as trays of the crop's first stage, to the next eighth: "3¼ plug trays"."""
    scenario = plan.room.scenario
    stage = on_paper.crops_by_name(scenario)[crop].stages_in_order()[0]
    places = on_paper.trays_by_name(scenario)[stage.tray].places
    eighths = math.ceil(8 * cells / places - 0.5)
    whole, part = divmod(max(1, eighths), 8)
    text = f"{whole if whole else ''}{EIGHTHS[part]}"
    return f"{text} {stage.tray}{'s' if eighths > 8 else ''}"


def share(each: Kept) -> str:
    """ "91% (89% to 93%)"."""
    return f"{percent(each.share)}{_range(each.low, each.high)}"


def what_is_short(plan: SowingPlan) -> str:
    """What could be promised of the order that is least sure, and how many others are short."""
    worst, *others = plan.short
    said = (
        f"Promise {whose(worst.order)} {down(worst.safe_kg)} instead of {kg(worst.ordered_kg)}: that is safe in "
        f"{percent(plan.certainty)} of weeks, the whole order in {percent(worst.share)}"
    )
    return f"{said}; {counted(len(others), 'other order is', 'other orders are')} short too." if others else f"{said}."


def out_of_reach(plan: SowingPlan) -> str:
    """Orders that nothing harvested can reach in time."""
    names = listed([whose(order) for order in plan.impossible])
    return (
        f"Nothing that is harvested can be there in time for {names}: between harvest and pick-up it is given to open "
        "distribution, or grows too old. Another pick-up day, harvest day or surplus day is needed, not more seed."
    )


def worst_month(each: Kept) -> str:
    """ "July, 84%"."""
    if each.worst_month is None:
        return "–"
    month, share = each.worst_month
    return f"{MONTHS[month - 1]}, {percent(share)}"


def kg(kilograms: float) -> str:
    """A mass to a tenth, neither up nor down."""
    return f"{mass_cell(kilograms)} {units.unit('kg')}"


def whose(order: StandingOrder) -> str:
    """ "food pantry, butterhead"."""
    return f"{order.partner}, {'any greens' if order.crop == ANY_CROP else order.crop}"


def what_arithmetic_sows(plan: SowingPlan) -> str:
    """The week by arithmetic, and how it is worked out."""
    how = "That is what is ordered a week over what a cell gives on paper, whatever people, shelves and closings allow."
    return f"By arithmetic, {_week(plan)} would be sown. {how}"


def _week(plan: SowingPlan) -> str:
    """ "48 cells of leaf and 24 cells of heads every Monday"."""
    frame, cells = plan.arithmetic.frame, plan.arithmetic.cells
    crops = on_paper.crops_by_name(plan.room.scenario)
    amounts = [
        f"{counted(each, crops[line.crop].sown_unit)} of {line.crop}"
        for line, each in zip(frame.lines, cells, strict=True)
    ]
    return f"{listed(amounts)} every {NAME_OF_WEEKDAY[frame.lines[0].weekday]}" if amounts else "nothing"


def _range(low: float | None, high: float | None) -> str:
    if low is None or high is None or percent(low) == percent(high):
        return ""
    return f" ({percent(low)} to {percent(high)})"
