"""Why a change brings what it brings, and what it costs to make: the sentences."""

from __future__ import annotations

from growsim.ledger.catalogue import CATALOGUE
from growsim.report.holds_back import Cause, what_holds_back
from growsim.report.signed import amount, signed
from growsim.report.words import counted, listed, mass, money, number, percent, rehearsals
from growsim.study.compare import Changed, Comparison
from growsim.study.pay_back import PayBack
from growsim.study.relief import Relief
from growsim.study.verdicts import HEADLINES

KG = HEADLINES[0]
LIFTED = {"hands": "with twice the people in every shift", "slots": "were there slots without end"}
WANT = {"hands": "want of hands", "slots": "want of slots"}
CAUSES: dict[Cause, str] = {
    "slots": "room on the shelves",
    "hands": "too few hands at the right moment",
    "machines": "machines that stand still",
    "plan": "the sowing plan",
    "orders": "nothing in the room",
}
# What may lie behind a difference in greens, told where it moves for certain.
BEHIND = (
    "seeds_sown",
    "plants_lost_no_room",
    "plants_lost_overgrown",
    "plants_lost_dried_out",
    "plants_lost_heat",
    "plants_lost_too_small",
    "sowings_skipped",
    "slots_waiting_mean",
    "tasks_on_time_fraction",
    "days_sown_to_cut_mean",
    "grams_per_plant_mean",
    "kg_wasted_per_week",
    "kwh_per_week",
)
MOST_BEHIND = 4


def why(changed: Changed, comparison: Comparison) -> str:
    """What eats the gain, what else moves, what holds the room back afterwards."""
    parts = [_limit(relief, comparison) for relief in changed.reliefs]
    moves = behind(changed, comparison)
    if moves:
        parts.append(f"What else moves for certain: {listed(moves)}.")
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
        return f"{_upper(want)} does not limit it: {lifted} it would bring as much ({there} a week)."
    if relief.part == "helps":
        return f"It works by easing {want}: {lifted} it would bring {there} a week instead of {now}."
    share = relief.share_eaten
    if relief.today.mean > 0 and share is not None:
        return (
            f"{_upper(want)} eats {percent(share)} of the gain: {lifted} the same change would bring {there} a week "
            f"instead of {now}."
        )
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
        moved.append((size, f"{_lower(CATALOGUE[key].label)} {signed(key, found.difference.mean, currency)}"))
    moved.sort(key=lambda each: -each[0])
    return [words for _, words in moved[:MOST_BEHIND]]


def bottleneck(changed: Changed, comparison: Comparison) -> str:
    """What holds the room back before and after, by the rule of `growsim rehearse`."""
    before = what_holds_back(comparison.outcomes, comparison.scenario, _means(comparison)).first
    after = what_holds_back(changed.outcomes, changed.scenario, _means(changed)).first
    if before == after:
        return f"What holds the room back first is {CAUSES[after]}, today and after the change."
    return f"Today {CAUSES[before]} holds the room back first; after the change it is {CAUSES[after]}."


def pay_back(changed: Changed, comparison: Comparison) -> str:
    """What the price buys: money saved a year, kilograms a year, and years until it is paid back, kept apart."""
    found, currency = changed.pay_back, comparison.scenario.prices.currency
    if found is None:
        return ""
    paid = f"Making the change costs {money(found.price, currency)}"
    saved = found.saved_per_year.mean
    if found.years_by_saving is not None:
        by_money = (
            f"it saves {money(saved, currency)} of running costs a year, so by money alone it is paid back after "
            f"{_years(found.years_by_saving)}"
        )
    elif abs(saved) < 0.005:
        by_money = "running costs stay the same, so money alone never pays it back"
    else:
        by_money = f"running costs rise by {money(-saved, currency)} a year, so money alone never pays it back"
    return f"{paid}; {by_money}. {_by_kilograms(found, currency)} Volunteer hours, interest and wear are not counted."


def _by_kilograms(found: PayBack, currency: str) -> str:
    extra, each = found.extra_kg_per_year, found.price_per_extra_kg_a_year
    if extra.low is None or extra.low <= 0 or each is None:
        return "More greens that would be worth the price are not certain."
    words = f"It brings {mass(extra.mean)} more a year: {money(each, currency)} of price for each kilogram more a year"
    added = -found.saved_per_year.mean / extra.mean
    if added > 0.005:
        words += f", and {money(added, currency)} of running costs for each"
    average, soonest, latest = found.years_by_worth
    worth = f"If an extra kilogram is worth what one costs today ({money(found.value_per_kg, currency)})"
    if average is None or soonest is None:
        return f"{words}. {worth}, it is never paid back: running costs rise by more."
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
