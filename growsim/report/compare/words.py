"""Every sentence of a comparison: the verdict on each change with its range, why, and what it costs to make.

A range here is of the average difference; all of them hold at once with 95 % confidence.
"""

from __future__ import annotations

from collections.abc import Sequence

from growsim.ledger.catalogue import CATALOGUE
from growsim.report import tenths
from growsim.report.compare import air as comparison_air
from growsim.report.holds_back import Cause, what_holds_back
from growsim.report.words import (
    a_period,
    amount,
    counted,
    difference_alone,
    is_a_year,
    listed,
    mass,
    money,
    money_per_mass,
    number,
    percent,
    plus,
    rehearsals,
    sizes,
)
from growsim.study.compare.answer import Changed, Comparison
from growsim.study.pay_back import PayBack, Range
from growsim.study.relief import Relief
from growsim.study.verdicts import HEADLINES, Verdict, replications_to_decide
from growsim.units import KG_PER_POUND, pounds
from growsim.vocabulary.losses import PLANT_LOSSES

# --- Why a change brings what it brings, and what it costs to make: the sentences.

KG = HEADLINES[0]
LIFTED = {"hands": "with twice the people in every shift", "slots": "if slots never ran out"}
WANT = {"hands": "a lack of hands", "slots": "a lack of slots"}
CAUSES: dict[Cause, str] = {
    "slots": "room on the shelves",
    "hands": "too few hands at the right moment",
    "reservoirs": "reservoirs that run low",
    "machines": "machines that are down",
    "plan": "the sowing plan",
    "orders": "nothing in the room",
}
# What may lie behind a difference in greens, told where it moves for certain.
BEHIND = (
    "seeds_sown",
    *(loss.measure for loss in PLANT_LOSSES),
    "sowings_skipped",
    "slots_waiting_mean",
    "tasks_on_time_fraction",
    "days_sown_to_harvest_mean",
    "grams_per_plant_mean",
    "kg_wasted_per_week",
    "kwh_per_week",
)
MOST_BEHIND = 4


def why(changed: Changed, comparison: Comparison) -> str:
    """What eats the gain, what else moves, what holds the room back afterwards."""
    parts = [_limit(relief, comparison) for relief in changed.reliefs]
    if sum(relief.part == "eats" for relief in changed.reliefs) > 1:
        parts.append("Each limit is lifted by itself; what they eat overlaps.")
    moves = behind(changed, comparison)
    if moves:
        parts.append(f"What else changes for certain: {'; '.join(moves)}.")
    parts.append(_bare_shelves(changed, comparison))
    parts.append(bottleneck(changed, comparison))
    return " ".join(part for part in parts if part)


def _limit(relief: Relief, comparison: Comparison) -> str:
    """What one limit does to the gain."""
    currency = comparison.scenario.prices.currency
    want, lifted = WANT[relief.limit], LIFTED[relief.limit]
    there, now = _gain(relief.without.mean, currency), _gain(relief.today.mean, currency)
    if relief.part == "open":
        if relief.eaten.low is None or relief.eaten.high is None:
            return ""
        years = rehearsals(len(comparison.outcomes), comparison.plan.days)
        return f"Whether {want} plays a part cannot be told from {years}: {lifted} it would bring {there} a week."
    if relief.part == "neither":
        return f"{_upper(want)} does not limit it: {lifted} it would bring as much, {there} a week."
    if relief.part == "helps":
        return f"It works by easing {want}: {lifted} it would bring {there} a week instead of {now}."
    share = relief.share_eaten
    if relief.today.mean > 0 and share is not None:
        return (
            f"{_upper(want)} eats {percent(share)} of the gain: {lifted} it would be "
            f"{amount(KG, relief.without.mean, currency)} a week instead of {amount(KG, relief.today.mean, currency)}."
        )
    if relief.without.mean < 0:  # it would bring less with the limit lifted too: the limit is not all of it
        return f"{_upper(want)} is part of it: {lifted} the same change would bring {there} a week instead of {now}."
    return f"It is {want} that makes it so: {lifted} the same change would bring {there} a week instead of {now}."


def behind(changed: Changed, comparison: Comparison) -> list[str]:
    """The figures behind the difference that move for certain, the largest moves first, a few of them."""
    currency = comparison.scenario.prices.currency
    moved = []
    for key in BEHIND:
        found, before = changed.verdicts.get(key), comparison.estimates.get(key)
        if found is None or before is None or found.says not in ("more", "less") or not found.matters:
            continue
        after = changed.estimates[key].mean
        size = abs(found.difference.mean) / max(abs(before.mean), abs(after), 1e-9)
        period = f" {a_period(comparison.plan.days)}" if CATALOGUE[key].unit.endswith("/year") else ""
        moved.append(
            (size, f"{_lower(CATALOGUE[key].label)} {difference_alone(key, found.difference.mean, currency)}{period}")
        )
    moved.sort(key=lambda each: -each[0])
    return [words for _, words in moved[:MOST_BEHIND]]


def _bare_shelves(changed: Changed, comparison: Comparison) -> str:
    """That a change adds slots on which nothing more is sown, where it brings no more greens; "" elsewhere."""
    before, after = (
        sum(group.total_slots for rack in room.racks for group in rack.shelves)
        for room in (comparison.scenario, changed.scenario)
    )
    greens, seeds = changed.verdicts.get(KG), changed.verdicts.get("seeds_sown")
    if after <= before or greens is None or (greens.says == "more" and greens.matters):
        return ""
    if seeds is not None and seeds.says == "more" and seeds.matters:
        return ""
    used = comparison.estimates.get("shelf_fill_fraction")
    now = "" if used is None else f", and today {percent(used.mean)} of the {before} slots are in use on average"
    return (
        f"It adds {counted(after - before, 'slot')} and sows nothing more on them{now}: more shelves bring more greens "
        "where trays wait for a slot, or with more sown (a CHANGE may hold both)."
    )


def bottleneck(changed: Changed, comparison: Comparison) -> str:
    """What holds the room back before and after, by the rule of `growsim rehearse`."""
    before = what_holds_back(comparison.outcomes, comparison.scenario, _means(comparison)).first
    after = what_holds_back(changed.outcomes, changed.scenario, _means(changed)).first
    if before == after:
        return f"What holds the room back first is {CAUSES[after]}, today and after the change."
    return f"Today {CAUSES[before]} holds the room back first; after the change it is {CAUSES[after]}."


def is_paid_back(found: PayBack) -> bool:
    """Whether there is a price, and it is certain that money is saved or greens are gained for it."""
    saved, extra = found.saved_per_year.low, found.extra_kg_per_year.low
    return found.price > 0 and ((saved is not None and saved > 0) or (extra is not None and extra > 0))


def pay_back(changed: Changed, comparison: Comparison) -> str:
    """What the price buys: money saved a year, kilograms a year, and years until it is paid back, kept apart."""
    found, currency = changed.pay_back, comparison.scenario.prices.currency
    if found is None:
        return ""
    paid = f"Making the change costs {money(found.price, currency) if found.price else 'nothing'}"
    sentences = (f"{paid}; {_by_money(found, currency)}.", _by_kilograms(found, currency))
    counted_not = "Volunteer hours, interest and wear are not counted."
    return " ".join(sentence for sentence in (*sentences, counted_not) if sentence)


def _by_money(found: PayBack, currency: str) -> str:
    """Running costs saved or added a year, and when that pays the price."""
    saved = found.saved_per_year
    if saved.low is None or saved.high is None:
        return "what becomes of running costs cannot be said yet"
    if saved.low > 0:
        words = f"it saves {money(saved.mean, currency)} of running costs a year ({_money_range(saved, currency)})"
        by_then = f", so by money alone it is paid back after {_years(found.years_by_saving or 0.0)}"
        return words + (by_then if found.price else "")
    never = ", so money alone never pays it back" if found.price else ""
    if saved.high < 0:
        return f"running costs rise by {money(-saved.mean, currency)} a year ({_money_range(saved, currency)}){never}"
    if max(abs(saved.low), abs(saved.high)) < 0.005:
        return f"running costs stay the same{never}"
    less, more = money(saved.high, currency), money(-saved.low, currency)
    unsure = ", so money alone pays it back by luck at best" if found.price else ""
    return f"running costs may fall by up to {less} or rise by up to {more} a year{unsure}"


def _money_range(found: Range, currency: str) -> str:
    low, high = sorted((abs(found.low or 0.0), abs(found.high or 0.0)))
    return f"range {money(low, currency)} to {number(high, 0 if high >= 100 else 2)}"


def _by_kilograms(found: PayBack, currency: str) -> str:
    """What more greens cost, and when they have paid the price if they are worth what greens cost today."""
    extra, each = found.extra_kg_per_year, found.price_per_extra_kg_a_year
    if extra.low is None or extra.low <= 0 or each is None:
        return "That it brings more greens is not certain." if found.price else ""
    words = f"It brings {mass(extra.mean)} more a year"
    costs = [f"{money_per_mass(each, currency)} of price for each kilogram more a year"] if found.price else []
    added = -found.saved_per_year.mean / extra.mean
    costs += [f"{money_per_mass(added, currency)} of running costs for each kilogram"] if added > 0.005 else []
    words += f": {listed(costs)}" if costs else ""
    if not found.price:
        return f"{words}."
    average, soonest, latest = found.years_by_worth
    worth = f"If an extra kilogram is worth what one costs today, {money_per_mass(found.value_per_kg, currency)}"
    if average is None or soonest is None:
        return f"{words}. {worth}, it is never paid back: it adds more to the running costs."
    until = f"{number(soonest, 1)} to {_years(latest)}" if latest is not None else f"{_years(soonest)} to never"
    return f"{words}. {worth}, it is paid back after {_years(average)} (range {until})."


def _years(years: float) -> str:
    return counted(years, "year", decimals=1) if years < 100 else "over 100 years"


def _gain(value: float, currency: str) -> str:
    return f"{amount(KG, abs(value), currency)} {'less' if value < 0 else 'more'}"


def _means(room: Comparison | Changed) -> dict[str, float]:
    return {key: estimate.mean for key, estimate in room.estimates.items()}


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


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
    air = comparison_air.in_short(comparison)
    if air:
        said.append(("CO2", air))
    if comparison.tenths is not None:
        said.append(("A tenth more", a_tenth_more(comparison)))
    beside = averages(comparison)
    if beside:
        said.append(("The room as it is now", beside))
    open_ones = not_decided(comparison)
    if open_ones:
        said.append(("Not decided", open_ones))
    return said


def a_tenth_more(comparison: Comparison) -> str:
    """What holds the room back today and, of a single change, after it."""
    days = comparison.plan.days
    parts = [tenths.sentence(comparison.tenths, days)] if comparison.tenths else []
    if len(comparison.changes) == 1 and comparison.changes[0].tenths is not None:
        parts.append(tenths.sentence(comparison.changes[0].tenths, days, when="after the change"))
    return " ".join(parts)


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
        sentences.append(f"{_upper_here(listed(still))} {'stays' if they == 'it is' else 'stay'} as {they} now")
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
    per_pound = money(abs(difference.mean) * KG_PER_POUND, currency)
    return f"A kilogram costs {size} {'more' if up else 'less'} (range {ends}; {per_pound} a lb)"


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
        f"{money(judged[key], currency)} a kg ({money(judged[key] * KG_PER_POUND, currency)} a lb)"
        if key == COST
        else amount(key, judged[key], currency) + of[key]
        for key in HEADLINES
        if key in judged
    ]


def _between(low: float, high: float, currency: str) -> str:
    """A range that holds zero: "between 0.4 kg (0.9 lb) less and 1.2 kg (2.6 lb) more"."""

    def end(value: float) -> str:
        return f"{amount(KG, abs(value), currency)} {'less' if value < 0 else 'more'}"

    return f"between {end(low)} and {end(high)}"


def _mean(changed: Changed) -> float:
    return changed.verdicts[KG].difference.mean if KG in changed.verdicts else 0.0


def _short_kg(kilograms: float) -> str:
    return f"{plus(kilograms, 1)} kg, {plus(pounds(kilograms), 1)} lb"


def _they(names: Sequence[str]) -> str:
    return "it is" if len(names) == 1 and names[0] != NAMES[HOURS] else "they are"


def _upper_here(text: str) -> str:
    return text[:1].upper() + text[1:]


def _round_up(count: int) -> int:
    """To two figures: 147 becomes 150."""
    step = int(10 ** max(0, len(str(count)) - 2))
    return -(-count // step) * step
