"""Why a change brings what it brings, and what it costs to make: the sentences."""

from __future__ import annotations

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.report.holds_back import LITTLE_KG, SOME, tried_advice
from growsim.report.words import (
    a_period,
    amount,
    counted,
    difference_alone,
    listed,
    mass,
    mass_cell,
    money,
    money_per_mass,
    number,
    percent,
    upper_first,
)
from growsim.study.causes import Moved
from growsim.study.compare.answer import FOOD, Changed, Comparison
from growsim.study.pay_back import KG, PayBack, Range
from growsim.study.room_air import DANGER
from growsim.vocabulary.losses import PLANT_LOSSES
from growsim.vocabulary.obstacles import because

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
)
MOST_BEHIND = 4
MOST_MOVED = 3


def why(changed: Changed, comparison: Comparison) -> str:
    """What it saves and costs by what is lost for waiting, what else moves, what would bring more."""
    parts = [_moved(each, comparison) for each in _telling(changed, comparison)[:MOST_MOVED]]
    moves = behind(changed, comparison)
    if moves:
        parts.append(f"What else changes: {moves[0]}.")
        parts += [f"{upper_first(each)}." for each in moves[1:]]
    parts.append(_bare_shelves(changed, comparison))
    if comparison.held_with is changed:
        parts.append(what_then(comparison))
    return " ".join(part for part in parts if part)


def _telling(changed: Changed, comparison: Comparison) -> list[Moved]:
    """Causes of a quarter of the difference in greens or more."""
    greens = changed.verdicts.get(KG)
    least = 0.0 if greens is None else SOME * abs(greens.difference.mean) * comparison.plan.days / 7
    return [each for each in changed.moved if abs(each.kg) >= least]


def _moved(each: Moved, comparison: Comparison) -> str:
    """What is lost over one cause more or less than today."""
    kilograms = f"{mass_cell(abs(each.kg), 0 if abs(each.kg) >= 10 else 1)} {units.unit('kg')}"
    more = "more" if each.kg > 0 else "less"
    return f"With it {kilograms} {more} {a_period(comparison.plan.days)} is lost because {because(each.held_up)}."


def what_then(comparison: Comparison) -> str:
    """What would bring more, as tried: after the best change, or in today's room where none is worth making."""
    if comparison.held is None:
        return ""
    then = "As the room is" if comparison.held_with is None else f"With {comparison.held_with.title}"
    return tried_advice(comparison.held, then)


def in_short(changed: Changed, comparison: Comparison) -> str:
    """What it saves or loses most by, not what goes against it; shelves that it leaves bare go before. What it loses by
    tells of fewer orders, too. Without any, what else moves most."""
    orders, greens = (changed.verdicts[key].difference.mean if key in changed.verdicts else 0.0 for key in FOOD)
    told = [
        _moved(each, comparison)
        for each in _telling(changed, comparison)
        if abs(each.kg) >= LITTLE_KG and (each.kg * greens <= 0 or (orders < 0 < each.kg))
    ]
    told += [f"{upper_first(each)}." for each in behind(changed, comparison)]
    return _bare_shelves(changed, comparison) or " ".join(told[:1])


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
            (
                size,
                f"{_lower(units.worded(CATALOGUE[key].label))} "
                f"{difference_alone(key, found.difference.mean, currency)}{period}",
            )
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
    now = "" if used is None else f" Today {percent(used.mean)} of the {before} slots are in use."
    return f"It adds {counted(after - before, 'slot')} and sows nothing more on them.{now}"


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


def paid_in_short(changed: Changed, comparison: Comparison) -> str:
    """What making it costs, and when that is paid back: by running costs saved, or by what greens cost today."""
    found, currency = changed.pay_back, comparison.scenario.prices.currency
    if found is None:
        return ""
    if not found.price:
        return "Making it costs nothing."
    price, saved = f"Making it costs {money(found.price, currency)}", found.saved_per_year.low
    if saved is not None and saved > 0:
        return f"{price}, paid back by lower running costs after {_years(found.years_by_saving or 0.0)}."
    if not is_paid_back(found):
        return f"{price}, which nothing is sure to pay back."
    average, soonest, latest = found.years_by_worth
    if average is None or soonest is None:
        return f"{price}, which greens at today's cost never pay back."
    until = f"{number(soonest, 1)} to {_years(latest)}" if latest is not None else f"{_years(soonest)} to never"
    return f"{price}, paid back after {_years(average)} ({until}) if more greens are worth what greens cost today."


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
    unsure = ", so money alone pays it back by chance at best" if found.price else ""
    return f"running costs may fall by up to {less} or rise by up to {more} a year{unsure}"


def _money_range(found: Range, currency: str) -> str:
    low, high = sorted((abs(found.low or 0.0), abs(found.high or 0.0)))
    return f"range {money(low, currency)} to {number(high, 0 if high >= 100 else 2)}"


def _by_kilograms(found: PayBack, currency: str) -> str:
    """What more greens cost, and when they have paid the price if they are worth what greens cost today."""
    extra, each = found.extra_kg_per_year, found.price_per_extra_kg_a_year
    if extra.low is None or extra.low <= 0 or each is None:
        return "That it brings more greens is not certain." if found.price else ""
    words = f"It brings {mass(extra.mean)} more a year."
    added = -found.saved_per_year.mean / extra.mean
    each_more = [money(units.amount(one, "money/kg"), currency) for one in (each, added)]
    costs = [f"{each_more[0]} of price"] if found.price else []
    costs += [f"{each_more[1]} of running costs"] if added > 0.005 else []
    words += f" Each {units.worded('kilogram')} more costs {listed(costs)}." if costs else ""
    if not found.price:
        return words
    average, soonest, latest = found.years_by_worth
    worth = f"At what greens cost today ({money_per_mass(found.value_per_kg, currency)})"
    if average is None or soonest is None:
        return f"{words} {worth} it is never paid back: it adds more to the running costs."
    until = f"{number(soonest, 1)} to {_years(latest)}" if latest is not None else f"{_years(soonest)} to never"
    return f"{words} {worth} it is paid back after {_years(average)} (range {until})."


def _years(years: float) -> str:
    return counted(years, "year", decimals=1) if years < 100 else "over 100 years"


def _gain(value: float, currency: str) -> str:
    return f"{amount(KG, abs(value), currency)} {'less' if value < 0 else 'more'}"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def danger(comparison: Comparison) -> str:
    """The danger of CO2, where a change feeds more of it; "" elsewhere."""
    today = comparison.scenario.co2.supply_kg_per_day
    feeds = any(changed.scenario.co2.supply_kg_per_day > today for changed in comparison.changes)
    return DANGER if feeds else ""
