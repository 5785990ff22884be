"""Every sentence of a comparison: the verdict on each change with its range, why, and what it costs to make.

A range here is of the average difference; all of them hold at once with 95 % confidence.
"""

from __future__ import annotations

from collections.abc import Sequence

from growsim import units
from growsim.report.compare.why import danger, is_paid_back, pay_back, why
from growsim.report.words import (
    amount,
    counted,
    is_a_year,
    listed,
    mass_plus,
    money_per_mass,
    number,
    percent,
    rehearsals,
    sizes,
)
from growsim.study.compare.answer import Changed, Comparison
from growsim.study.verdicts import HEADLINES, Verdict, replications_to_decide

KG, ORDERS, HOURS, COST = HEADLINES
FEW = 3  # changes whose pay-back fits into the opening; of more, the opening says the verdicts only
NAMES = {
    KG: "greens handed out",
    ORDERS: "the share of orders filled",
    HOURS: "the hours of work",
    COST: "the cost of a kilogram",
}


def answer(comparison: Comparison) -> list[tuple[str, str]]:
    """(head, sentence): what the report opens with. The verdict first; where there are several, the whole first."""
    said: list[tuple[str, str]] = []
    several = len(comparison.changes) > 1
    if several:
        said.append(("In short", in_short(comparison)))
    few = len(comparison.changes) <= FEW
    for changed in sorted(comparison.changes, key=_mean, reverse=True):
        said.append((changed.title, verdict(changed, comparison)))
        if not several:
            reason = why(changed, comparison)
            said += [("Why", reason)] if reason else []
        if changed.pay_back is not None and (not several or (few and is_paid_back(changed.pay_back))):
            said.append((f"Pay-back of {changed.title}" if several else "Pay-back", pay_back(changed, comparison)))
    if danger(comparison):
        said.append(("CO2", danger(comparison)))
    beside = averages(comparison)
    if beside:
        said.append(("The room as it is now", beside))
    open_ones = not_decided(comparison)
    if open_ones:
        said.append(("Not decided", open_ones))
    return said


def averages(comparison: Comparison) -> str:
    """Why averages of today's room are a little beside those of a rehearsal, and where to find them; "" if they agree.

    A comparison stops where differences are decided, often after fewer years than a room by itself would take.
    """
    if not comparison.has_fewer_years:
        return ""
    currency, now = comparison.scenario.prices.currency, comparison.estimates.get(KG)
    gives = "It is told" if now is None else f"It hands out {amount(KG, now.mean, currency)} a week, told"
    longer = comparison.scenario.rehearsal.replications
    noun = "years" if is_a_year(comparison.plan.days) else "rehearsals"
    return (
        f"{gives} from {rehearsals(len(comparison.outcomes), comparison.plan.days)} here: enough to see what a change "
        f"brings. How much it gives by itself, and what holds it back, `growsim rehearse` says more exactly, from "
        f"{number(longer)} {noun}."
    )


def in_short(comparison: Comparison) -> str:
    """Which changes bring more greens, which fewer, which make no difference."""
    groups: dict[str, list[Changed]] = {"more": [], "less": [], "same": [], "open": []}
    for changed in comparison.changes:
        found = changed.verdicts.get(KG)
        says = "open" if found is None else found.says
        small = found is not None and not found.matters
        groups["same" if small else says].append(changed)
    for group in groups.values():
        group.sort(key=lambda changed: -_mean(changed))
    parts = []
    if groups["more"]:
        named = [f"{each.title} ({_short_kg(_mean(each))})" for each in groups["more"]]
        parts.append(f"more greens come from {listed(named)}")
    if groups["less"]:
        named = [f"{each.title} ({_short_kg(_mean(each))})" for each in reversed(groups["less"])]
        parts.append(f"fewer come from {listed(named)}")
    if groups["same"]:
        parts.append(f"no difference in greens that matters comes from {listed([c.title for c in groups['same']])}")
    against = [each.title for each in groups["less"] if _fills_more(each)]
    if against:  # fewer greens, but of the kind and on the day that partners ask for
        parts.append(f"more of the orders is filled all the same with {listed(against)}")
    if groups["open"]:
        parts.append(f"greens are not decided for {listed([c.title for c in groups['open']])}")
    words = "; ".join(parts)
    years = rehearsals(len(comparison.outcomes), comparison.plan.days)
    return f"Of {counted(len(comparison.changes), 'change')}, over {years} of shared luck, a week: {words}."


def verdict(changed: Changed, comparison: Comparison) -> str:
    """Greens first, with the range; then orders, work and cost."""
    found = changed.verdicts
    sentences = ["Nothing is handed out in either room"]
    if KG in found:
        sentences = [greens(found[KG], comparison, fills_more=_fills_more(changed))]
    still = []
    for key in (ORDERS, HOURS, COST):
        if key not in found:
            continue
        if found[key].says in ("same", "none") or (found[key].says != "open" and not found[key].matters):
            still.append(NAMES[key])
        elif found[key].says != "open":
            sentences.append(_moves(found[key], changed, comparison))
    if still:
        they = _they(still)
        sentences.append(f"{_upper(listed(still))} {'stays' if they == 'it is' else 'stay'} as {they} now")
    return ". ".join(sentences) + "."


def greens(found: Verdict, comparison: Comparison, *, fills_more: bool = False) -> str:
    """What the change does to the kilograms handed out, its range and in how many years it was the better room.

    fills_more: more of the orders is filled for certain, so that fewer kilograms alone are no plain "No".
    """
    difference, currency = found.difference, comparison.scenario.prices.currency
    low, high, mean = difference.low, difference.high, difference.mean
    if low is None or high is None:
        return "How many greens it brings cannot be said yet"
    if found.says == "none":
        return "It makes no difference to the greens at all"
    between = _between(low, high, currency)
    if found.says == "open":
        years = rehearsals(difference.n, comparison.plan.days)
        return f"Whether it brings more greens is not decided after {years}: {between} a week"
    if found.says == "same":
        return f"It makes no difference to the greens that matters: {between} a week"
    more = "more" if found.says == "more" else "fewer"
    size = amount(KG, abs(mean), currency)
    ends = sizes(KG, min(abs(low), abs(high)), max(abs(low), abs(high)), currency)
    lead = "Yes, it brings more greens" if found.says == "more" else "No, it brings fewer greens"
    if fills_more and found.says == "less":
        lead = "It fills more of the orders, with fewer greens in all"
    if not found.matters:
        lead = f"It brings a little {'more' if more == 'more' else 'less'}, too little to matter"
    better = round((difference.chance_better or 0.0) * difference.n)
    won = f"{number(better) if better else 'none'} of {rehearsals(difference.n, comparison.plan.days)}"
    turn = "more" if more == "more" else "less"
    return f"{lead}: {size} {turn} a week on average (range {ends}), and more in {won}"


def _fills_more(changed: Changed) -> bool:
    """Whether the share of orders filled rises for certain, and enough to matter."""
    found = changed.verdicts.get(ORDERS)
    return found is not None and found.says == "more" and found.matters


def _moves(found: Verdict, changed: Changed, comparison: Comparison) -> str:
    """One of the other headlines that moves for certain."""
    key, difference, currency = found.key, found.difference, comparison.scenario.prices.currency
    assert difference.low is not None and difference.high is not None
    ends_of_it = sorted((abs(difference.low), abs(difference.high)))
    ends = sizes(key, ends_of_it[0], ends_of_it[1], currency)
    up = found.says == "more"
    if key == ORDERS:
        before, after = comparison.estimates[key].mean, comparison.with_change(changed, key)
        turn = "rises" if up else "falls"
        return f"The share of orders filled {turn} from {percent(before)} to {percent(after)} (by {ends})"
    size = amount(key, abs(difference.mean), currency)
    if key == HOURS:
        return f"Work falling due {'rises' if up else 'falls'} by {size} a week (range {ends})"
    return units.worded(f"A kilogram costs {size} {'more' if up else 'less'} (range {ends})")


def not_decided(comparison: Comparison) -> str:
    """Which headlines are still open, and how many years would settle them; "" where none is."""
    hidden = [(changed, key) for changed in comparison.changes for key in changed.undecided]
    if not hidden:
        return ""
    years = rehearsals(len(comparison.outcomes), comparison.plan.days)
    if len(comparison.changes) == 1:
        words = f"After {years} luck still hides what becomes of {listed([NAMES[key] for _, key in hidden])}"
    else:
        of = sum(key in changed.verdicts for changed in comparison.changes for key in HEADLINES)
        words = f"After {years} luck still hides {len(hidden)} of {of} headline differences (marked ? in the table)"
    most = max(replications_to_decide(changed.verdicts[key]) or 0 for changed, key in hidden)
    if most > len(comparison.outcomes):
        noun = "years" if is_a_year(comparison.plan.days) else "rehearsals"
        enough = _round_up(most)
        return f"{words}; about {number(enough)} {noun} would settle them (--replications {enough})."
    return f"{words}."


def how_decided(comparison: Comparison) -> tuple[str, ...]:
    """How long the rehearsing went on, what the ranges mean, and what shared luck saved."""
    n, days = len(comparison.outcomes), comparison.plan.days
    small = f"{number(comparison.too_small_percent, 1).removesuffix('.0')}%"
    stopped = (
        f"{rehearsals(n, days)} of each room were enough: every headline is decided"
        if comparison.is_decided
        else f"Rehearsing stopped at {rehearsals(n, days)} of each room, the most allowed; some headlines are open"
    )
    rounds = f"after {listed([number(total) for total in comparison.rounds])}"
    return (
        f"{stopped}. It was looked at {rounds}; up to {number(comparison.planned_rounds[-1])} were allowed.",
        f"Decided means: the range of the difference leaves out zero, or lies so near it that it does not matter: "
        f"within {small} of today's figure ({listed(_margins(comparison))}).",
        "A range is of the average difference. The ranges of what each change brings hold all at once, for every "
        "change and figure and at whichever round rehearsing stopped, with 95% confidence (Bonferroni); so do the "
        "ranges that tell why, among themselves.",
        "Every room is rehearsed as if it had been so for long: the change was made before the first counted day, and "
        "the warm-up filled the shelves with it. What making the change disturbs is not counted.",
        luck_saved(comparison),
    )


def luck_saved(comparison: Comparison) -> str:
    """What it saves that all rooms live through the same years."""
    ratios = [
        luck.ratio for changed in comparison.changes for key, luck in changed.luck.items() if key == KG and luck.ratio
    ]
    if not ratios:
        return "All rooms share their luck; no luck is left in any difference of greens."
    low, high = min(ratios), max(ratios)
    times = f"{number(low, 1)}" if len(ratios) == 1 else f"{number(low, 1)} to {number(high, 1)}"
    return (
        f"All rooms share their luck: the same years, the same failures, the same people away. For the greens that was "
        f"worth {times} times as many years with luck of their own (variance of the difference, same rehearsals)."
    )


def _margins(comparison: Comparison) -> list[str]:
    currency = comparison.scenario.prices.currency
    judged = {key: verdict.margin for changed in comparison.changes for key, verdict in changed.verdicts.items()}
    of = {KG: " a week", ORDERS: " of orders filled", HOURS: " of work a week"}
    return [
        money_per_mass(judged[key], currency) if key == COST else amount(key, judged[key], currency) + of[key]
        for key in HEADLINES
        if key in judged
    ]


def _between(low: float, high: float, currency: str) -> str:
    """A range that holds zero: "between 0.4 kg less and 1.2 kg more"."""

    def end(value: float) -> str:
        return f"{amount(KG, abs(value), currency)} {'less' if value < 0 else 'more'}"

    return f"between {end(low)} and {end(high)}"


def _mean(changed: Changed) -> float:
    return changed.verdicts[KG].difference.mean if KG in changed.verdicts else 0.0


def _short_kg(kilograms: float) -> str:
    return f"{mass_plus(kilograms)} {units.unit('kg')}"


def _they(names: Sequence[str]) -> str:
    return "it is" if len(names) == 1 and names[0] != NAMES[HOURS] else "they are"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _round_up(count: int) -> int:
    """To two figures: 147 becomes 150."""
    step = int(10 ** max(0, len(str(count)) - 2))
    return -(-count // step) * step
