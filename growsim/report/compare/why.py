"""Why a change brings what it brings, and what it costs to make: the sentences."""

from __future__ import annotations

from collections.abc import Sequence

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.report.words import (
    a_period,
    amount,
    counted,
    difference_alone,
    listed,
    mass,
    money,
    money_per_mass,
    number,
    percent,
    rehearsals,
)
from growsim.scenario.scenario import Scenario
from growsim.study.causes import causes_of
from growsim.study.compare.answer import Changed, Comparison
from growsim.study.pay_back import KG, PayBack, Range
from growsim.study.relief import Relief
from growsim.study.room_air import DANGER
from growsim.vocabulary.losses import PLANT_LOSSES
from growsim.vocabulary.obstacles import because

LIFTED = {"people": "with twice the people in every shift", "slots": "if slots never ran out"}
WANT = {"people": "a lack of people", "slots": "a lack of slots"}
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
    parts.append(waits(changed, comparison))
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


def limit_in_short(changed: Changed, comparison: Comparison) -> str:
    """What limits the change, or what it eases, as tried; shelves that it leaves bare; "" where neither."""
    telling = [relief for relief in changed.reliefs if relief.part in ("eats", "helps")]
    if telling:
        return _limit(max(telling, key=lambda relief: abs(relief.eaten.mean)), comparison)
    return _bare_shelves(changed, comparison)


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


def waits(changed: Changed, comparison: Comparison) -> str:
    """What is lost most for waiting before and after, closings left aside; "" where hardly anything is."""
    before, after = (_heaviest(room.outcomes, room.scenario) for room in (comparison, changed))
    if before == after:
        return f"Most is lost because {because(after)}, today and after the change." if after else ""
    today = f"Today most is lost because {because(before)}" if before else "Today nothing is lost for waiting"
    return f"{today}; after the change {f'because {because(after)}' if after else 'nothing is'}."


def _heaviest(outcomes: Sequence[Outcome], scenario: Scenario) -> str:
    return next((cause.held_up for cause in causes_of(outcomes, scenario) if cause.kg and not cause.is_of_closing), "")


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
    added = -found.saved_per_year.mean / extra.mean
    each_more = [money(units.amount(one, "money/kg"), currency) for one in (each, added)]
    costs = [f"{each_more[0]} of price for each kilogram more a year"] if found.price else []
    costs += [f"{each_more[1]} of running costs for each kilogram"] if added > 0.005 else []
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


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def danger(comparison: Comparison) -> str:
    """The danger of CO2, where a change feeds more of it; "" elsewhere."""
    today = comparison.scenario.co2.supply_kg_per_day
    feeds = any(changed.scenario.co2.supply_kg_per_day > today for changed in comparison.changes)
    return DANGER if feeds else ""
