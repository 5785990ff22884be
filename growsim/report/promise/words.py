"""Every sentence about promises: what is safe, likely and possible, which deliveries are at risk, what would save them.

Amounts that are promised are rounded down, so that no sentence promises more than was found.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

from growsim import units
from growsim.report import shelf_count as count_words
from growsim.report.words import counted, down, floor, listed, long_day, mass_cell, number, percent
from growsim.scenario.names import ANY_CROP
from growsim.study.promise.answer import Promises
from growsim.study.promise.rescue import Rescue
from growsim.study.promised import CropWeek, Delivery

NOTHING_SOWN = " The room file sows nothing, so only what stands there now is reckoned with."
FEW = 3  # things named in a sentence; the table has them all


def answer(promises: Promises) -> list[tuple[str, str]]:
    """(head, sentence): what the report opens with."""
    said = [("What you can promise", amounts(promises))]
    count = the_count(promises)
    said += [("The count", count)] if count else []
    by_crop = crops(promises)
    said += [("Crop by crop", by_crop)] if by_crop else []
    if promises.deliveries:
        said.append(("Standing orders", at_risk(promises)))
    if promises.at_risk and promises.rescues:
        said.append(("What would save them", what_saves(promises)))
    said.append(("Beyond the orders", spare(promises)))
    return said


def the_count(promises: Promises) -> str:
    """What speaks against the count being of today, and what in it is too old by now; "" where nothing is."""
    has_plan = bool(promises.room.scenario.sowing)
    return count_words.the_count(
        promises.days_without_sowing, promises.given_up, promises.date, has_plan=has_plan, in_the_table=True
    )


def week_of(date: dt.date) -> str:
    """ "the week of 3 March"."""
    return f"the week of {long_day(date)}"


def amounts(promises: Promises) -> str:
    """How much, and from what alone where nothing more is sown."""
    return _how_much(promises) + ("" if promises.room.scenario.sowing else NOTHING_SOWN)


def _how_much(promises: Promises) -> str:
    """The first coming week that gives anything, with its three levels; then the range of the weeks."""
    weeks = [each for each in promises.crops if not each.crop]
    first = next((each for each in weeks if each.there.safe > 0), None)
    if first is None:
        likely = next((each for each in weeks if each.there.likely > 0), None)
        if likely is None:
            return f"In the next {counted(len(weeks), 'week')} nothing can be promised: nothing ripens in time."
        return (
            f"Nothing is safe to promise in the next {counted(len(weeks), 'week')}. In {week_of(likely.starts)} "
            f"{down(likely.there.likely)} is likely, {down(likely.there.possible)} possible."
        )
    said = (
        f"You can safely promise {down(first.there.safe)} of greens in {week_of(first.starts)}: at least that comes in "
        f"90 of 100 rehearsals. {down(first.there.likely)} is likely (50 of 100), {down(first.there.possible)} "
        "possible (10 of 100)."
    )
    if len(weeks) > 1:
        low, high = (pick(weeks, key=lambda each: each.there.safe) for pick in (min, max))
        said += (
            f" Over the {len(weeks)} weeks the safe amount lies between {down(low.there.safe)} in "
            f"{week_of(low.starts)} and {down(high.there.safe)} in {week_of(high.starts)}."
        )
    return said


def crops(promises: Promises) -> str:
    """Safe and likely amounts of each crop in the week the first sentence speaks of."""
    weeks = [each for each in promises.crops if not each.crop]
    first = next((each for each in weeks if each.there.safe > 0), weeks[0])
    rows = [each for each in promises.crops if each.crop and each.week == first.week and each.there.possible > 0]
    if not rows:
        return ""
    named = [f"{each.crop} {down(each.there.safe)}, likely {down(each.there.likely)}" for each in rows]
    said = f"Safe in {week_of(first.starts)}: {'; '.join(named)}."
    missing = floor(first.there.safe) - math.fsum(floor(each.there.safe) for each in rows)
    if len(rows) > 1 and missing >= 0.1 * len(rows):  # more than rounding down can make
        said += " They add up to less than the safe total: seldom do all crops have a bad week at once."
    return said


def at_risk(promises: Promises) -> str:
    """How many deliveries are at risk, and the soonest of them."""
    risky = promises.at_risk
    of = f"{counted(len(promises.deliveries), 'delivery', 'deliveries')} in {counted(promises.weeks, 'week')}"
    if not risky:
        worst = min(promises.deliveries, key=lambda each: each.chance.share)
        return (
            f"None of {of} is at risk: each is met in full in 90 or more of 100 rehearsals. The least certain: "
            f"{delivery(worst)}, {chance(worst)}."
        )
    soonest = risky[0]
    said = (
        f"{number(len(risky))} of {of} {'is' if len(risky) == 1 else 'are'} at risk, met in full in fewer than 90 of "
        f"100 rehearsals. The soonest: {delivery(soonest)}, {chance(soonest)}; {safe_part(soonest)}."
    )
    worst = min(risky, key=lambda each: (each.chance.share, each.date))
    if worst is not soonest:
        said += f" The least certain: {delivery(worst)}, {chance(worst)}; {safe_part(worst)}."
    return said


def delivery(each: Delivery) -> str:
    """ "food pantry, 4.5 kg of butterhead on 3 March"."""
    crop = "any greens" if each.crop == ANY_CROP else each.crop
    kg = f"{mass_cell(each.ordered)} {units.unit('kg')}"
    return f"{each.partner}, {kg} of {crop} on {long_day(each.date)}"


def chance(each: Delivery) -> str:
    """ "met in full in 62% of them (range 55% to 69%)"."""
    found = each.chance
    return f"met in full in {percent(found.share)} of them (range {percent(found.low)} to {percent(found.high)})"


def safe_part(each: Delivery) -> str:
    """How much of it can be promised."""
    return f"{down(each.gets.safe)} of it is safe" if floor(each.gets.safe) > 0 else "none of it is safe"


def what_saves(promises: Promises) -> str:
    """The best single thing to do, the best together, or that nothing tried helps."""
    tried = len(promises.rescues)
    best = promises.helpful[0] if promises.helpful else None
    if best is None:
        return (
            f"None of the {counted(tried, 'thing')} tried ({kinds(promises.rescues)}) helps for certain. What is left "
            "is to promise no more than the safe amount, and to say so early."
        )
    said = f"Of {counted(tried, 'thing')} tried, {best.name} helps most: {effect(best, promises)}."
    others = promises.helpful[1 : 1 + FEW]
    if others:
        said += f" Next: {listed([f'{each.name} ({more_met(each)})' for each in others])}."
    if promises.together:
        last = promises.together[-1]
        said += f" Together, {last.name}: {effect(last, promises)}."
    return said


def kinds(rescues: Sequence[Rescue]) -> str:
    """What kinds of things were tried."""
    names = {
        "hands": "a helper more on each shift",
        "sow": "sowing more now",
        "harvest": "a further harvest day",
        "priority": "another order of serving",
    }
    return listed([names[kind] for kind in dict.fromkeys(rescue.actions[0].kind for rescue in rescues)])


def effect(rescue: Rescue, promises: Promises) -> str:
    """What it saves of what is at risk, what it brings on average with its range, and what it costs others."""
    risky = len(promises.at_risk)
    saved = f"it saves {number(len(rescue.saves)) if rescue.saves else 'none'} of the {number(risky)} at risk"
    low, high = number(rescue.met.low, 1), number(rescue.met.high, 1)
    said = (
        f"{saved} and meets {number(rescue.met.mean, 1)} more deliveries in full (range of the average {low} to {high})"
    )
    if rescue.risks:
        said += f", but puts {counted(len(rescue.risks), 'other')} at risk"
    return said


def more_met(rescue: Rescue) -> str:
    """ "+1.3 deliveries"."""
    return f"+{number(rescue.met.mean, 1)} deliveries"


def spare(promises: Promises) -> str:
    """What can be promised on top of the standing orders, crop by crop: the best of the weeks."""
    best: dict[str, CropWeek] = {}
    for each in promises.crops:
        if each.crop and floor(each.spare.safe) > 0:
            known = best.get(each.crop)
            if known is None or each.spare.safe > known.spare.safe:
                best[each.crop] = each
    if not best:
        return "On top of the standing orders nothing more is safe to promise in these weeks."
    named = [f"{down(each.spare.safe)} of {crop} in {week_of(each.starts)}" for crop, each in best.items()]
    return (
        f"On top of the standing orders these are safe to promise at most: {listed(named)}. The table has every week."
    )
