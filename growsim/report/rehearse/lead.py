"""The page of the answer of a rehearsal: what the room gives, what went worst, why, what brings more, how sure."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import holds_back, summaries
from growsim.report.front import AnswerTable, Cell, Column, Front, Row, average_cell, in_brackets, is_wide
from growsim.report.tables import ANSWER_ROWS, priced_in, row_label, told_as
from growsim.report.words import (
    closed_in_vain,
    dates,
    eight_in_ten,
    long_date,
    mass,
    mass_cell,
    number,
    percent,
    period,
    rehearsals,
    too_few,
)
from growsim.report.worst import kept_too_long, worst
from growsim.run.intervals import LEVEL, mean_interval
from growsim.scenario.names import ANY_CROP

if TYPE_CHECKING:
    from collections.abc import Sequence

    from growsim.ledger.outcome import Outcome
    from growsim.run.intervals import Estimate
    from growsim.run.rehearse import Rehearsal
    from growsim.scenario.scenario import Scenario
    from growsim.study.tried import Held

MOST_WORST = 2  # sentences of what went worst
MUCH_LESS = 0.02  # orders of a month below the year's for certain; less is not told of by itself
ORDERS = "orders_filled_fraction"
LITTLE_KG = 0.05  # a week: less is not missed


def front(rehearsal: Rehearsal, held: Held) -> Front:
    """The page of the answer."""
    told = why(rehearsal, held)
    closed = holds_back.closings(held, rehearsal.scenario, rehearsal.plan.days)
    return Front.within(
        headline(rehearsal),
        (advice(rehearsal, held), "" if closed == told else closed),
        table(rehearsal),
        how_sure(rehearsal),
        why=told,
        kept=2,
    )


def advice(rehearsal: Rehearsal, held: Held) -> str:
    """What brings more, and whether it reaches the share of orders wanted; that nothing tried does goes before."""
    filled, goal = rehearsal.estimates.get(ORDERS), rehearsal.scenario.goals.orders_filled_fraction
    said = holds_back.tried_advice(held)
    shown = (held.advice or held.to_weigh)[:1]
    if filled is None or filled.mean >= goal or not shown:
        return said
    brought = {each: filled.mean + each.orders.mean for each in (*held.best, *held.tried) if each.orders}
    if brought.get(shown[0], 0.0) >= goal:
        return holds_back.tried_advice(held, reached=f" On average that reaches the {percent(goal)} wanted.")
    return (
        said if max(brought.values(), default=1.0) >= goal else f"Nothing tried fills as many orders as wanted. {said}"
    )


def why(rehearsal: Rehearsal, held: Held) -> str:
    """Why what went worst did: why partners lack what they do; where they do not, what weighs most, which may be greens
    that the calendar lets grow too old."""
    scenario, days = rehearsal.scenario, rehearsal.plan.days
    wasted = rehearsal.estimates.get("kg_wasted_per_week")
    spoiled = wasted.mean * days / 7 if wasted is not None and not held.missing_kg else 0.0
    heaviest = max((cause.kg for cause in held.of_closings(are=False)), default=0.0)
    closed = holds_back.lost_to_closings(held, days)
    by_calendar = kept_too_long(scenario) if spoiled > max(heaviest, closed) else ""
    return by_calendar or holds_back.why(held, scenario, days)


def headline(rehearsal: Rehearsal) -> list[str]:
    """The orders filled and the crop most of which is missing; then what went worst."""
    estimates, scenario, days = rehearsal.estimates, rehearsal.scenario, rehearsal.plan.days
    packed = estimates.get("kg_packed_per_week")
    if packed is None or packed.mean <= 0:
        return [f"Nothing is packed in the rehearsed {period(days)}: no plant is harvested within it."]
    when = f"In the {period(days)} from {long_date(scenario.room.start_date)}"
    bad = worst(rehearsal.outcomes, scenario, days)[:MOST_WORST]
    filled = estimates.get(ORDERS)
    if filled is None or not scenario.partners:
        return [f"{when} the room packs {mass(packed.mean)} of greens a week{_in_brackets(packed)}.", *bad]
    goal = scenario.goals.orders_filled_fraction
    exact = 1 if filled.mean < goal and percent(filled.mean) == percent(goal) else 0  # rounding hides no shortfall
    partners = scenario.partners
    orders = f"what {partners[0].name} orders" if len(partners) == 1 else "orders"
    said = f"{when} the room fills {percent(filled.mean, exact)} of {orders}{_in_brackets(filled, exact)}, " + (
        f"short of the {percent(goal)} wanted." if filled.mean < goal else f"as wanted ({percent(goal)})."
    )
    met, some = estimates.get("weeks_all_orders_met_fraction"), ""
    if met is not None and met.mean < 1.0:  # a share of all kilograms hides the Fridays that fall short
        missed = number(100 * (1 - met.mean))
        some = f"In {'every week' if missed == '100' else f'{missed} weeks of 100'} some order is not met in full."
    return [said, shortest(rehearsal.outcomes), *bad, some]


def shortest(outcomes: Sequence[Outcome]) -> str:
    """Of several crops that are ordered, that of which most is missing, and how much of its orders that is; "" where
    next to nothing is missing."""
    lacking: dict[str, tuple[float, float]] = {}
    for crop in summaries.series_under(outcomes, "kg_ordered_of:"):
        asked, given = (
            float(summaries.weekly_mean(outcomes, f"kg_{what}_of:{crop}").mean()) for what in ("ordered", "given")
        )
        lacking[crop] = (asked - given, asked)
    crop, (missing, asked) = max(lacking.items(), key=lambda each: each[1][0], default=("", (0.0, 0.0)))
    if missing < LITTLE_KG or len(lacking) == 1:  # of one alone the share of orders says it
        return ""
    name = "greens of any kind" if crop == ANY_CROP else crop
    return f"Most is missing of {name}: {percent(missing / asked)} of what is ordered."


def _in_brackets(found: Estimate, exact: int = 0) -> str:
    """The range of an average, of greens or of a share."""
    told = mass_cell if found.key.startswith("kg_") else (lambda share: percent(share, exact))
    return "" if is_wide(found) else in_brackets(found.mean, found.mean_low, found.mean_high, told)


def table(rehearsal: Rehearsal) -> AnswerTable:
    """Orders first, then greens, what is lost of them, people's hours, money; average with its range, and 8 in 10."""
    days = rehearsal.plan.days
    of = "the room as it is, with its own sowing plan"
    rows = []
    for key in ANSWER_ROWS:
        found = rehearsal.estimates.get(key)
        if found is None:
            continue
        told, unit = told_as(key, found.p10, found.p90), CATALOGUE[key].unit
        case = Cell.between(found.p10, found.p50, found.p90, told, unit)
        noun = eight_in_ten(found.of, days).split()[1]
        none_in_most = found.p90 <= 0.0 < found.mean and not found.not_seen
        case = replace(case, text=f"none in 9 of 10 {noun}" if none_in_most else f"{case.text} ({noun})")
        rows.append(Row(row_label(key, days, priced_in(rehearsal.scenario.prices)), (average_cell(found), case)))
        if key == ORDERS:
            rows += hardest_month(rehearsal.outcomes, rehearsal.scenario, days)
    columns = (Column("on average (range)", of), Column("8 in 10 lie within", of))
    title = f"A rehearsed {period(days)} of the room, {dates(rehearsal.scenario, days)}"
    return AnswerTable(title, columns, tuple(rows), closed_in_vain(rehearsal.scenario))


def hardest_month(outcomes: Sequence[Outcome], scenario: Scenario, days: int) -> list[Row]:
    """The month in which partners get least of what they order; none where it is not clear of chance, or close by."""
    asked, given = (summaries.matrix(outcomes, f"kg_{what}") for what in ("ordered", "to_partners"))
    weeks = {month.label: list(month.weeks) for month in summaries.months(scenario, asked.shape[1])}
    asked_in, given_in = ({name: kg[:, of].sum(axis=1) for name, of in weeks.items()} for kg in (asked, given))
    shares = {name: given_in[name] / kg for name, kg in asked_in.items() if kg.min() > 0}
    if not shares:
        return []
    name, share = min(shares.items(), key=lambda each: float(each[1].mean()))
    below = (share - given.sum(axis=1) / asked.sum(axis=1)).tolist()
    _, _, at_most = mean_interval(below, 1.0 - (1.0 - LEVEL) / len(shares))  # the least of so many (Bonferroni)
    if at_most is None or at_most > -MUCH_LESS:
        return []
    mean, low, high = mean_interval(share.tolist())
    ends = (None if low is None else max(0.0, low), None if high is None else min(1.0, high))
    average = Cell.ranged(mean, *ends, percent, "fraction")
    case = Cell.between(*summaries.percentiles(share.tolist()), percent, "fraction")
    case = replace(case, text=f"{case.text} ({eight_in_ten('one year', days).split()[1]})")
    return [Row(f"Orders filled in {name}, the lowest month", (average, case))]


def how_sure(rehearsal: Rehearsal) -> str:
    """What it rests on, what the ranges are, what empty shelves would cost at first, and a warm-up too short."""
    n, days = len(rehearsal.outcomes), rehearsal.plan.days
    said = f"From {rehearsals(n, days)}{too_few(n) or '; each average lies in its range with 95% confidence'}"
    if rehearsal.plan.start == "filled":
        weeks = rehearsal.warm_up.truncation_week
        said += ". It begins with full shelves" + (
            f"; an empty room takes about {weeks} weeks to fill" if weeks else ""
        )
    if any(is_wide(found) for key, found in rehearsal.estimates.items() if key in ANSWER_ROWS):
        said += ". Where a range is missing, ask for more years"
    return f"{said}." if rehearsal.warm_up.enough else f"{said}. {rehearsal.warm_up.sentence}"
