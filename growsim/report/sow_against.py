"""What is said of the plan found beside sowing the same every week by arithmetic, whichever does better."""

from __future__ import annotations

from growsim.report.words import counted, day_named, listed, number, percent, rehearsals
from growsim.spec.names import ANY_CROP
from growsim.spec.orders import StandingOrder
from growsim.study.sow import SowingPlan
from growsim.study.sow_beside import Beside, against_arithmetic

GAP = 0.02  # a share of its weeks by which one order must do better to be named


def against(plan: SowingPlan) -> str:
    """Pick-ups met by both, the difference with its range, where it is widest, and the seed."""
    beside = against_arithmetic(plan)
    met, low, high = beside.met
    if plan.is_by_arithmetic:
        return (
            f"It is the plan by arithmetic: of {number(plan.tried)} plans tried none was proven better. It meets "
            f"{percent(met, 1)} of all pick-ups in full{_range(low, high)}."
        )
    years = rehearsals(len(plan.outcomes), plan.plan.days)
    return (
        f"Sowing {_week(plan)}, as the kilograms ordered ask for on paper, would meet {percent(met, 1)} of all "
        f"pick-ups in full{_range(low, high)}, the plan found {percent(plan.score.share_kept, 1)}: {points(beside)}, "
        f"in the same {years}. {_verdict(plan, beside)}"
        f"Seeds: {number(beside.score.seeds)} by arithmetic, {number(plan.score.seeds)} with the plan found."
    )


def whose(order: StandingOrder) -> str:
    """ "food pantry, butterhead"."""
    return f"{order.partner}, {'any greens' if order.crop == ANY_CROP else order.crop}"


def points(beside: Beside) -> str:
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
        "for each crop the kilograms ordered a week, over what a cell gives by the room file's plain figures "
        "(grams a plant, cells that fill, plants left after every move, all cuts), rounded up to an eighth of a tray "
        "and sown on the first day of the week with a shift that may sow, the same all year; without regard to hands, "
        "shelves, closed days or how long greens wait"
    )
    return f"By arithmetic, {_week(plan)} would be sown: {how}."


def _week(plan: SowingPlan) -> str:
    """ "48 cells of leaf and 24 cells of heads every Monday"."""
    frame, cells = plan.arithmetic.frame, plan.arithmetic.cells
    amounts = [f"{counted(each, 'cell')} of {line.crop}" for line, each in zip(frame.lines, cells, strict=True)]
    return f"{listed(amounts)} every {day_named(frame.lines[0].weekday)}" if amounts else "nothing"


def _verdict(plan: SowingPlan, beside: Beside) -> str:
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
