"""Every sentence about a sowing plan: what to sow, how surely each order is then kept, what is short, against today,
and against sowing the same every week by arithmetic, whichever does better.
"""

from __future__ import annotations

import math

from growsim import units
from growsim.report.words import counted, down, listed, mass_cell, number, percent, rehearsals
from growsim.scenario import on_paper
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import StandingOrder
from growsim.study.sow.answer import ComparedPlan, SowingPlan, against_arithmetic
from growsim.study.sow.asking import LIMIT_YEARS
from growsim.study.sow.score import Kept
from growsim.vocabulary.days import MONTHS, NAME_OF_WEEKDAY, WEEKDAYS

GAP = 0.02  # a share of its weeks by which one order must do better to be named
EIGHTHS = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")
FEW = 3
LIMIT_WORDS = {"people": "twice the people on every shift", "slots": "slots without end"}
MATTERS = 0.01  # a share of order-weeks that lifting a limit must bring to be spoken of


def answer(plan: SowingPlan) -> list[tuple[str, str]]:
    """(head, sentence): what the report opens with."""
    said = [("What to sow", what_to_sow(plan)), ("Standing orders", how_surely(plan))]
    if plan.short:
        said.append(("What is short", what_is_short(plan)))
    if plan.lifted:
        said.append(("What stands in the way", what_limits(plan)))
    if plan.impossible:
        said.append(("Out of reach", out_of_reach(plan)))
    if plan.room.scenario.sowing:
        said.append(("Against the plan of today", against_today(plan)))
    said.append(("Against sowing the same every week by arithmetic", against(plan)))
    return said


def what_to_sow(plan: SowingPlan) -> str:
    """The week in a sentence, and the weeks that differ."""
    if not any(plan.cells):
        return "Sow nothing: no sowing that fits the room meets any order."
    days: dict[str, list[str]] = {}
    for line, cells in zip(plan.frame.lines, plan.cells, strict=True):
        if cells > 0:
            amount = f"{counted(cells, 'cell')} of {line.crop} ({sheets(plan, line.crop, cells)})"
            days.setdefault(line.weekday, []).append(amount)
    week = [f"on {NAME_OF_WEEKDAY[day]} {listed(days[day])}" for day in WEEKDAYS if day in days]
    differ = "; a few weeks differ, as the table says" if varies(plan) else ""
    keep = (
        f"Keep the plan of the room file: of {number(plan.tried)} plans tried none is better. "
        if plan.is_todays
        else ""
    )
    return f"{keep}Each week sow {'; '.join(week)}{differ}."


def varies(plan: SowingPlan) -> bool:
    """Whether some sowing days are not like the others."""
    return any(
        len({each for _, each in plan.frame.cells_on(number, cells)}) > 1
        for number, cells in enumerate(plan.cells)
        if cells > 0
    )


def sheets(plan: SowingPlan, crop: str, cells: int) -> str:
    """Cells as trays of the crop's first stage, to the next eighth: "3¼ plug trays"."""
    scenario = plan.room.scenario
    stage = on_paper.crops_by_name(scenario)[crop].stages_in_order()[0]
    places = on_paper.trays_by_name(scenario)[stage.tray].places
    eighths = math.ceil(8 * cells / places - 0.5)
    whole, part = divmod(max(1, eighths), 8)
    text = f"{whole if whole else ''}{EIGHTHS[part]}"
    return f"{text} {stage.tray}{'s' if eighths > 8 else ''}"


def how_surely(plan: SowingPlan) -> str:
    """Whether every order has the certainty asked for, the least certain with its range."""
    asked = percent(plan.certainty)
    least = min(plan.kept, key=lambda each: each.share)
    years = rehearsals(len(plan.outcomes), plan.run.days)
    worst = f"{whose(least.order)}: met in full in {share_words(least)}"
    if plan.is_met:
        return (
            f"Every standing order is then met in full in {asked} of its weeks or more, on average over {years}. The "
            f"least certain: {worst}."
        )
    kept = len(plan.kept) - len(plan.short)
    return (
        f"Not every standing order can be met in full in {asked} of its weeks. The best plan found does so for "
        f"{number(kept)} of {number(len(plan.kept))}, and meets {percent(plan.score.share_kept)} of all pick-ups in "
        f"full, on average over {years}. The least certain: {worst}."
    )


def share_words(each: Kept) -> str:
    """ "91% of 52 weeks (range of the average 89% to 93%)"."""
    weeks = f"{percent(each.share)} of {counted(each.weeks, 'week')}"
    if each.low is None or each.high is None:
        return weeks
    return f"{weeks} (range of the average {percent(each.low)} to {percent(each.high)})"


def what_is_short(plan: SowingPlan) -> str:
    """Orders that lack the certainty: by how much, and what could be promised instead."""
    asked = percent(plan.certainty)
    said = [
        f"{whose(each.order)}: {percent(each.share)} instead of {asked}, {kg(each.short_kg)} missing in a week that "
        f"falls short; {down(each.safe_kg)} of the {kg(each.ordered_kg)} ordered would be met with {asked} certainty"
        for each in plan.short[:FEW]
    ]
    more = len(plan.short) - FEW
    return "; ".join(said) + (f"; and {counted(more, 'other order')} in the table." if more > 0 else ".")


def what_limits(plan: SowingPlan) -> str:
    """What the same plan would do with twice the people, and with slots without end."""
    gains = sorted(
        ((each.score.share_kept - each.before.share_kept, each) for each in plan.lifted), key=lambda pair: -pair[0]
    )
    looks = [
        f"with {LIMIT_WORDS[each.limit]} the same plan would meet {percent(each.score.share_kept)} of them"
        for _, each in gains
    ]
    best, limit = gains[0][0], gains[0][1].limit
    if best < MATTERS:
        why = "Neither people nor slots are what is missing: it is luck (seed, growth, machines) and the harvest day"
    else:
        why = {"people": "People are what is missing", "slots": "Slots are what is missing"}[limit]
    before = percent(plan.lifted[0].before.share_kept)
    tried, years = min(LIMIT_YEARS, len(plan.outcomes)), rehearsals(len(plan.outcomes), plan.run.days)
    where = f"In the first {number(tried)} of the {years}" if tried < len(plan.outcomes) else f"In the same {years}"
    return f"{why}. {where} it meets {before} of all pick-ups in full; {listed(looks)}."


def out_of_reach(plan: SowingPlan) -> str:
    """Orders that nothing harvested can reach in time."""
    names = listed([whose(order) for order in plan.impossible])
    return (
        f"Nothing that is harvested can be there in time for {names}: between harvest and pick-up it is given to open "
        "distribution, or grows too old. Another pick-up day, harvest day or surplus day is needed, not more seed."
    )


def against_today(plan: SowingPlan) -> str:
    """The two plans in the same years: pick-ups met, kilograms, seed."""
    if plan.is_todays:
        return "It is the plan of today."
    now, then = plan.score, plan.today_score
    filled = plan.differences.get("orders_filled_fraction")
    said = (
        f"The plan in the room file meets {percent(then.share_kept, 1)} of all pick-ups in full, this one "
        f"{percent(now.share_kept, 1)}, in the same {rehearsals(len(plan.outcomes), plan.run.days)}; of the greens "
        f"ordered it hands over {percent(then.filled, 1)}, this one {percent(now.filled, 1)}"
    )
    if filled is not None and filled.low is not None and filled.high is not None:
        points = [number(100 * value, 1) for value in (filled.low, filled.high)]
        said += f" (range of the average difference {points[0]} to {points[1]} points)"
    advice = "" if now.worth >= then.worth else " In these years the room file's plan does better: keep it."
    seeds = f"Seeds: {number(then.seeds)} with the room file's plan, {number(now.seeds)} with this one."
    return f"{said}. {worse_than_today(plan)}{seeds}{advice}"


def worse_than_today(plan: SowingPlan) -> str:
    """Orders that the room file's plan keeps more often, by enough to be named; "" where there is none."""
    here = {each.order: each.share for each in plan.kept}
    worse = [each for each in plan.today_kept if each.share - here[each.order] >= GAP]
    worse.sort(key=lambda each: here[each.order] - each.share)
    named = [f"{whose(each.order)} ({percent(here[each.order])}, now {percent(each.share)})" for each in worse]
    return f"Met in full less often than now: {listed(named)}. " if named else ""


def worst_month(each: Kept) -> str:
    """ "July, 84%"."""
    if each.worst_month is None:
        return "–"
    month, share = each.worst_month
    return f"{MONTHS[month - 1]}, {percent(share)}"


def kg(kilograms: float) -> str:
    """A mass to a tenth, neither up nor down."""
    return f"{mass_cell(kilograms)} {units.unit('kg')}"


def against(plan: SowingPlan) -> str:
    """Pick-ups met by both, the difference with its range, where it is widest, and the seed."""
    beside = against_arithmetic(plan)
    met, low, high = beside.met
    if plan.is_by_arithmetic:
        return (
            f"It is the plan by arithmetic: of {number(plan.tried)} plans tried none was proven better. It meets "
            f"{percent(met, 1)} of all pick-ups in full{_range(low, high)}."
        )
    years = rehearsals(len(plan.outcomes), plan.run.days)
    return (
        f"Sowing {_week(plan)}, as the greens ordered ask for on paper, would meet {percent(met, 1)} of all "
        f"pick-ups in full{_range(low, high)}, the plan found {percent(plan.score.share_kept, 1)}: {points(beside)}, "
        f"in the same {years}. {_verdict(plan, beside)}"
        f"Seeds: {number(beside.score.seeds)} by arithmetic, {number(plan.score.seeds)} with the plan found."
    )


def whose(order: StandingOrder) -> str:
    """ "food pantry, butterhead"."""
    return f"{order.partner}, {'any greens' if order.crop == ANY_CROP else order.crop}"


def points(beside: ComparedPlan) -> str:
    """ "18.3 points more (range of the average difference 16.8 to 19.7 points)"."""
    if beside.gain is None:
        return "the same"
    gain, low, high = beside.gain
    sign = 100 if gain >= 0 else -100
    shown = number(sign * gain, 1)
    said = "the same" if shown == "0.0" else f"{shown} points {'more' if gain > 0 else 'fewer'}"
    if low is None or high is None:
        return said
    least, most = sorted((sign * low, sign * high))
    return f"{said} (range of the average difference {number(least, 1)} to {number(most, 1)} points)"


def what_arithmetic_sows(plan: SowingPlan) -> str:
    """The week by arithmetic, and how it is worked out."""
    how = (
        "for each crop the greens ordered a week, over what a cell gives by the room file's plain figures "
        "(grams a plant, cells that fill, plants left after every move, all harvests), rounded up to an eighth of a "
        "tray "
        "and sown on the first day of the week with a shift that may sow, the same all year; without regard to hands, "
        "shelves, closed days or how long greens wait"
    )
    return f"By arithmetic, {_week(plan)} would be sown: {how}."


def _week(plan: SowingPlan) -> str:
    """ "48 cells of leaf and 24 cells of heads every Monday"."""
    frame, cells = plan.arithmetic.frame, plan.arithmetic.cells
    amounts = [f"{counted(each, 'cell')} of {line.crop}" for line, each in zip(frame.lines, cells, strict=True)]
    return f"{listed(amounts)} every {NAME_OF_WEEKDAY[frame.lines[0].weekday]}" if amounts else "nothing"


def _verdict(plan: SowingPlan, beside: ComparedPlan) -> str:
    """What the difference is worth: proven more, perhaps chance, or proven fewer and why it is answered."""
    gain, low, high = beside.gain or (0.0, None, None)
    asked = percent(plan.certainty)
    if low is not None and low > 0:
        return _widest(plan)
    if high is not None and high < 0:
        if plan.score.is_met:
            return f"Past {asked} of the weeks of each order only less seed is looked for. "
        return (
            f"Each order counts up to {asked} of its weeks and no further, so that none is neglected; counted so, it "
            f"is {percent(beside.score.goal, 1)} by arithmetic and {percent(plan.score.goal, 1)} with the plan found. "
        )
    return "" if number(100 * gain, 1) == "0.0" else "That difference may be chance. "


def _widest(plan: SowingPlan) -> str:
    """The order that gains most, if it gains enough to be named."""
    now = {each.order: each for each in plan.kept}
    pairs = [(now[each.order].share - each.share, each) for each in plan.arithmetic_kept]
    gain, order = max(pairs, key=lambda pair: pair[0])
    if gain < GAP:
        return ""
    return (
        f"The widest gap: {whose(order.order)}, {percent(order.share)} of its weeks by arithmetic, "
        f"{percent(now[order.order].share)} with the plan found. "
    )


def _range(low: float | None, high: float | None) -> str:
    return "" if low is None or high is None else f" (range of the average {percent(low, 1)} to {percent(high, 1)})"
