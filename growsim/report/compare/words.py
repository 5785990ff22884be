"""The page of a comparison: what each change brings, whether to make it, and what else was said of how it was found.

A range here is of the average difference; all of them hold at once with 95 % confidence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.report.compare.why import danger, in_short, paid_in_short, what_then
from growsim.report.front import AnswerTable, Cell, Column, Front, Row, average_cell
from growsim.report.tables import ANSWER_ROWS, priced_in, row_label, told_as
from growsim.report.words import (
    amount,
    closed_in_vain,
    counted,
    dates,
    differences_as,
    is_a_year,
    listed,
    money_per_mass,
    number,
    percent,
    rehearsals,
    sizes,
    too_few,
    upper_first,
)
from growsim.study.compare.answer import (
    FOOD,
    LEAVE,
    MAKE,
    OPEN,
    WEIGH,
    Changed,
    Comparison,
    by_gain,
)
from growsim.study.verdicts import HEADLINES, Verdict, replications_to_decide

KG, ORDERS, HOURS, COST = HEADLINES
SEVERAL = (ORDERS, KG, HOURS, COST)  # in the columns of several changes
IN_POINTS = tuple(key for key in ANSWER_ROWS if CATALOGUE[key].unit == "fraction")
MOST_CHANGES = 6  # on the page of the answer; what stands behind it has all
TODAY = "the room as it is today"
SHORT = {ORDERS: "orders", KG: "greens"}
NAMES = {
    ORDERS: "the share of orders filled",
    KG: "the weight handed out",
    HOURS: "the work falling due",
    COST: "the cost of a kilogram",
}


def front(comparison: Comparison) -> Front:
    """The page of the answer."""
    return Front.within(
        [headline(comparison)], advice(comparison), table(comparison), how_sure(comparison), why(comparison)
    )


def headline(comparison: Comparison) -> str:
    """What the change brings; of several, what the best of them brings."""
    if len(comparison.changes) == 1:
        return verdict(comparison.changes[0], comparison)
    best = by_gain(comparison.changes)[0]
    if best.judged == MAKE:
        return f"Best of {number(len(comparison.changes))} changes, {_brings(best, comparison)}."
    if best.judged == WEIGH:
        return f"No change is better all round. {verdict(best, comparison)}"
    return f"None of the {number(len(comparison.changes))} changes is sure to bring more to those who get the greens."


def verdict(changed: Changed, comparison: Comparison) -> str:
    """What one change does to orders and greens, with ranges."""
    said = _brings(changed, comparison)
    return f"{upper_first(said)}."


def why(comparison: Comparison) -> str:
    """What one change saves and loses most by; of several, the best, and the first that fills fewer orders."""
    if len(comparison.changes) == 1:
        return in_short(comparison.changes[0], comparison)
    best, *others = by_gain(comparison.changes)
    told = [best] if best.judged in (MAKE, WEIGH) else []
    told += [each for each in others if each.judged == WEIGH and not _fills_more(each)][:1]
    reasons = [(each.title, in_short(each, comparison)) for each in told]
    return " ".join(f"{upper_first(title)}: {reason[:1].lower()}{reason[1:]}" for title, reason in reasons if reason)


def advice(comparison: Comparison) -> list[str]:
    """Make it or leave it, with its pay-back; the danger of a gas before that. Then
    what would bring more after it, or instead."""
    said = [_one_advised(comparison.changes[0], comparison)] if len(comparison.changes) == 1 else [_many(comparison)]
    return [each for each in (*said, danger(comparison), what_then(comparison)) if each]


def _one_advised(changed: Changed, comparison: Comparison) -> str:
    found, paid = changed.judged, paid_in_short(changed, comparison)
    nothing = all(not each.matters for key in FOOD if (each := changed.verdicts.get(key)))
    if found == WEIGH:
        said = "Weigh it: more orders are filled, with fewer greens in all"
        if not _fills_more(changed):
            return "Leave it as it is, unless greens that nobody ordered help you."
    elif found == MAKE:
        said = "Make it for what it saves: as much food comes as today" if nothing else "Make it"
    elif found == LEAVE:
        said = "Leave it: it brings nothing that matters" if nothing else "Leave it: those who get the greens get less"
    else:
        said = "Too close to call: chance still hides what it brings"
    return f"{said}. {paid}" if paid else f"{said}."


def _fills_more(changed: Changed) -> bool:
    return changed.verdicts[ORDERS].difference.mean > 0


def _many(comparison: Comparison) -> str:
    """ "Make these: a and b. Leave these: c." """
    says = ((MAKE, "Worth making"), (WEIGH, "To be weighed"), (OPEN, "Too close to call"), (LEAVE, "To be left"))
    told = []
    for found, words in says:
        fewer = " (it fills fewer orders)"
        named = [
            f"{each.title}{fewer if found == WEIGH and not _fills_more(each) else ''}"
            for each in by_gain(comparison.changes)
            if each.judged == found
        ]
        if named and len(named) <= 3:
            told.append(f"{words}: {listed(named)}.")
        elif named:
            told.append(f"{words}: {listed(named[:2])} and {counted(len(named) - 2, 'other')}.")
    return " ".join(told)


def _brings(changed: Changed, comparison: Comparison) -> str:
    """ "a second rack, 88% of orders are filled instead of 81% (6 to 9 of 100 more), and ..."."""
    clauses = [_clause(changed.verdicts[key], changed, comparison) for key in FOOD if key in changed.verdicts]
    if not clauses:
        return f"{changed.title}: nothing is handed out, as today"
    moved = {each.is_better for key in FOOD if (each := changed.verdicts.get(key)) and each.matters}
    return f"{changed.title}: {(', but ' if moved >= {True, False} else ', and ').join(clauses)}"


def _clause(found: Verdict, changed: Changed, comparison: Comparison) -> str:
    key, low, high = found.key, found.difference.low, found.difference.high
    now = comparison.estimates[key].mean
    more, fewer = ("more", "fewer") if key == ORDERS else ("more", "less")
    currency = comparison.scenario.prices.currency
    noun, are = {ORDERS: ("orders", "orders are filled"), KG: ("greens", "greens are handed out")}[key]
    if low is None or high is None:
        return f"how many {are} cannot be said yet"
    if found.says == "open":
        less, extra = amount(key, -low, currency), amount(key, high, currency)
        return f"what becomes of {noun} may be chance ({less} {fewer} to {extra} more{_a_week(key)})"
    if found.says in ("same", "none") or not found.matters:
        today = percent(now) if key == ORDERS else f"{amount(KG, now, currency)} a week"
        return f"about as many {are} as today ({today})"
    turn = more if found.says == "more" else "fewer"
    ends = _ends(key, low, high)
    if key == ORDERS:
        after = comparison.with_change(changed, key)
        return f"{percent(after)} of {are} instead of {percent(now)} ({ends} of 100 {turn})"
    return f"{amount(KG, abs(found.difference.mean), currency)} {turn} greens a week are handed out ({ends})"


def _ends(key: str, low: float, high: float) -> str:
    """Both ends of a range on one side of zero, their unit left out: "6 to 9"."""
    one, two = sorted((abs(low), abs(high)))
    if key == ORDERS:
        places = 0 if one >= 0.01 else 1
        return f"{number(100 * one, places)} to {number(100 * two, places)}"
    return sizes(key, one, two, "").removesuffix(f" {units.unit('kg')}")


def _a_week(key: str) -> str:
    return "" if key == ORDERS else " a week"


def table(comparison: Comparison) -> AnswerTable:
    """Of one change today's figures, the changed room's and the difference; of several a change a line."""
    if len(comparison.changes) > 1:
        return _several(comparison)
    return _one(comparison.changes[0], comparison, [key for key in ANSWER_ROWS if key in comparison.estimates])


def every_change(comparison: Comparison) -> AnswerTable:
    """A change a line, all of them."""
    return _several(comparison, most=len(comparison.changes))


def _one(changed: Changed, comparison: Comparison, keys: Sequence[str]) -> AnswerTable:
    after = f"the room with the change: {changed.title}"
    return AnswerTable(
        f"Today and with the change, {dates(comparison.scenario, comparison.plan.days)}",
        (
            Column("today", TODAY),
            Column("with the change", after),
            Column("difference", f"{after}, less {TODAY}, in the same years"),
        ),
        tuple(
            Row(
                row_label(key, comparison.plan.days, priced_in(comparison.scenario.prices)),
                (_today(key, comparison), _after(key, changed, comparison), _by(key, changed, comparison)),
            )
            for key in keys
            if key in changed.verdicts
        ),
        _note([changed], keys, comparison),
    )


def _several(comparison: Comparison, most: int = MOST_CHANGES) -> AnswerTable:
    keys = [key for key in SEVERAL if key in comparison.estimates]
    days, currency = comparison.plan.days, comparison.scenario.prices.currency
    ranked = by_gain(comparison.changes)
    shown_ones = ranked[:most]
    more = len(ranked) - len(shown_ones)
    of = f"the room with the change of the line, less {TODAY}, in the same years; in the first line {TODAY}"
    priced = any(changed.pay_back is not None for changed in shown_ones)
    ends = [Column(head, "the change of the line") for head in (*(["Price"] if priced else []), "so")]
    rows = [Row("today", (*(_today(key, comparison, short=True) for key in keys), *(Cell("") for _ in ends)))]
    for changed in shown_ones:
        cells = [_by(key, changed, comparison, short=True) if key in changed.verdicts else Cell("–") for key in keys]
        paid = paid_in_short(changed, comparison).removeprefix("Making it costs ").removesuffix(".")
        rows.append(Row(changed.title, (*cells, *([Cell(paid or "–")] if priced else []), Cell(_so(changed)))))
    return AnswerTable(
        "Today, and the difference each change makes (orders: of 100)",
        (*(Column(row_label(key, days, currency), of) for key in keys), *ends),
        tuple(rows),
        (f"{counted(more, 'more change')} below. " if more else "") + _note(shown_ones, keys, comparison),
        "change",
    )


def _so(changed: Changed) -> str:
    """The verdict; of one that is not decided, what may still be chance."""
    if changed.judged != OPEN:
        return changed.judged
    return f"{OPEN}: {listed([SHORT[key] for key in FOOD if key in changed.undecided])}"


def _today(key: str, comparison: Comparison, *, short: bool = False) -> Cell:
    found = average_cell(comparison.estimates[key])
    return replace(found, text=found.text.split(" (")[0]) if short else found


def _after(key: str, changed: Changed, comparison: Comparison) -> Cell:
    """With the change: today's and the difference, so that they add up; the range is that of the changed room alone."""
    mean, found = comparison.with_change(changed, key), changed.estimates.get(key)
    low, high = (None, None) if found is None else (found.mean_low, found.mean_high)
    ends = [each for each in (low, high) if each is not None]
    return Cell.ranged(mean, low, high, told_as(key, mean, *ends), CATALOGUE[key].unit)


def _by(key: str, changed: Changed, comparison: Comparison, *, short: bool = False) -> Cell:
    """ "+7.1 of 100 (+6.0 to +9.1)", marked where it is too small to matter or not decided."""
    found = changed.verdicts[key]
    low, mean, high = found.difference.low, found.difference.mean, found.difference.high

    bare = differences_as(key, *(each for each in (low, mean, high) if each is not None))
    cell = Cell.ranged(mean, low, high, bare, CATALOGUE[key].unit, _mark(found))
    return (
        cell
        if short or key not in IN_POINTS
        else replace(cell, text=cell.text.replace(bare(mean), f"{bare(mean)} of 100", 1))
    )


def _mark(found: Verdict) -> str:
    if found.says == "open":
        return " ?"
    return " ≈" if found.says in ("same", "none") or not found.matters else ""


def _note(changes: Sequence[Changed], keys: Sequence[str], comparison: Comparison) -> str:
    marks = {_mark(each.verdicts[key]) for each in changes for key in keys if key in each.verdicts}
    said = [words for mark, words in ((" ≈", "≈ too small to matter."), (" ?", "? may be chance.")) if mark in marks]
    said.append("Hours of work are those that fall due; costs are without volunteers' time.")
    in_vain = (closed_in_vain(each.alternative.scenario, comparison.scenario) for each in changes)
    return " ".join([*said, *dict.fromkeys(each for each in in_vain if each)])


def how_sure(comparison: Comparison) -> str:
    """What it rests on; what is still open, and how many years would settle it."""
    n, days = len(comparison.outcomes), comparison.plan.days
    hidden = [(changed, key) for changed in comparison.changes for key in changed.undecided]
    asked = comparison.planned_rounds[-1]
    sooner = f" (of at most {number(asked)}, for they decide it)" if n < asked and comparison.is_decided else ""
    rests = f"From {rehearsals(n, days)}{sooner}, the same with and without"
    if too_few(n):
        return f"{rests}{too_few(n)}."
    if not hidden:
        return f"{rests}; the ranges hold all at once, with 95% confidence."
    if len(comparison.changes) == 1:
        named = [NAMES[key] for _, key in hidden]
        what = f"what becomes of {listed(named)} may be chance"
    else:
        of = sum(key in changed.verdicts for changed in comparison.changes for key in HEADLINES)
        what = f"{number(len(hidden))} of {number(of)} differences may be chance"
    most = max(replications_to_decide(changed.verdicts[key]) or 0 for changed, key in hidden)
    if most > n:
        what += f"; about {number(_round_up(most))} {'years' if is_a_year(days) else 'rehearsals'} would tell"
    return f"{rests}. {upper_first(what)}."


def how_decided(comparison: Comparison) -> tuple[str, ...]:
    """How long the rehearsing went on, and what the ranges mean."""
    n, days = len(comparison.outcomes), comparison.plan.days
    small = f"{number(comparison.too_small_percent, 1).removesuffix('.0')}%"
    stopped = f"{rehearsals(n, days)} of each room, of at most {number(comparison.planned_rounds[-1])}"
    ends = "nothing is left to chance" if comparison.is_decided else "some differences may be chance"
    return (
        f"It took {stopped}: {ends}.",
        "May be chance: the range of the difference has zero in it, and reaches far enough from it to matter.",
        f"Too small to matter ({small} of today): {listed(_margins(comparison))}.",
        "The ranges of all changes and figures hold at once, with 95% confidence (Bonferroni).",
        "The change counts as made long before the first counted day. What making it disturbs is not counted.",
        "All rooms meet the same years: the same failures, the same people away.",
    )


def _margins(comparison: Comparison) -> list[str]:
    currency = comparison.scenario.prices.currency
    judged = {key: verdict.margin for changed in comparison.changes for key, verdict in changed.verdicts.items()}
    of = {KG: " a week", ORDERS: " orders", HOURS: " a week"}
    return [
        money_per_mass(judged[key], currency) if key == COST else amount(key, judged[key], currency) + of[key]
        for key in HEADLINES
        if key in judged
    ]


def _round_up(count: int) -> int:
    """To two figures: 147 becomes 150."""
    step = int(10 ** max(0, len(str(count)) - 2))
    return -(-count // step) * step
