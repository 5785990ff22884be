"""The page of the answer about promises: what is safe, which deliveries are at risk, what would save them, how sure.

Amounts that are promised are rounded down, so that no sentence promises more than was found.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence

from growsim import units
from growsim.report import shelf_count as count_words
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.words import (
    counted,
    down,
    down_cell,
    floor,
    listed,
    long_day,
    mass_cell,
    mass_range,
    number,
    percent,
    short_day,
    upper_first,
)
from growsim.scenario.names import ANY_CROP
from growsim.study.promise.answer import Promises, stands_for
from growsim.study.promise.rescue import Rescue
from growsim.study.promised import CropWeek, Delivery, safe_between

MOST_WEEKS = 10  # in the table of the page; the tables behind it have all


def front(promises: Promises) -> Front:
    """The page of the answer."""
    return Front.within(
        (headline(promises),), advice(promises), table(promises), how_sure(promises), why(promises)
    )  # fmt: skip


def headline(promises: Promises) -> str:
    """What can be promised first, and how many deliveries are at risk."""
    weeks = [each for each in promises.crops if not each.crop]
    first = _first_safe(promises)
    if first is None:
        likely = next((each for each in weeks if floor(each.there.likely) > 0), None)
        said = f"Nothing is safe to promise in the next {counted(len(weeks), 'week')}"
        if likely is not None:
            said += f"; {down(likely.there.likely)} is likely in {week_of(likely.starts)}"
    else:
        said = (
            f"You can promise {down(first.there.safe)} of greens in {week_of(first.starts)}; "
            f"{down(first.there.likely)} is likely"
        )
    if not promises.deliveries:
        return f"{said}."
    risky = promises.at_risk
    if not risky:
        return f"{said}. None of {_deliveries(promises)} is at risk."
    return f"{said}. {number(len(risky))} of {_deliveries(promises)} {'is' if len(risky) == 1 else 'are'} at risk."


def _deliveries(promises: Promises) -> str:
    return f"{counted(len(promises.deliveries), 'delivery', 'deliveries')} in {counted(promises.weeks, 'week')}"


def why(promises: Promises) -> str:
    """What is short for the most pressing delivery at risk, and what stands for it."""
    worst = promises.most_pressing
    stands = None if worst is None else stands_for(promises, worst)
    if worst is None or stands is None:
        return ""
    likely, safe, ordered = stands.week.there.likely, stands.week.there.safe, stands.week.ordered
    crop = upper_first(worst.crop)
    if likely < ordered:
        much = down(likely) if floor(likely) > 0 else "none"
        said = f"{crop} runs short by {long_day(worst.date)}: {much} is likely, {kg(ordered)} is ordered"
    else:
        said = (
            f"{crop} is short in a bad week by {long_day(worst.date)}: {down(safe)} is safe, {kg(ordered)} is ordered"
        )
    if stands.ripe and stands.last is not None:
        return f"{said}. Of it {counted(stands.ripe, 'plant')} ripen in time, the last on {long_day(stands.last)}."
    if stands.next_ripe is not None:
        are = "only just ripe, or too late" if stands.may_be_small else "too late"
        return f"{said}. None is full-grown that week; the next {counted(stands.next_ripe[1], 'plant')} are {are}."
    closed = ", when the room is closed" if stands.is_closed else ""
    has = "is still" if stands.sow_by >= promises.date else "had"
    return f"{said}. Nothing on the shelves ripens for it; it {has} to be sown by {long_day(stands.sow_by)}{closed}."


def advice(promises: Promises) -> list[str]:
    """What speaks against the count; what saves deliveries at risk, as it was tried in the same rehearsals."""
    count = the_count(promises)
    said = [count] if count else []
    if not promises.scenario.sowing and not promises.room.scenario.sowing:
        said.append("The room file sows nothing: only what stands there now is counted.")
    elif promises.at_risk and promises.rescues:
        said.append(what_saves(promises))
    if promises.most_pressing is not None:
        said.append(instead(promises.most_pressing))
    return said or ["Deliver as ordered, and promise what is safe on top of it."]


def instead(worst: Delivery) -> str:
    """What may safely be promised instead of an order at risk."""
    what = "greens" if worst.crop == ANY_CROP else worst.crop
    safe = f"{down(worst.gets.safe)} of {what}" if floor(worst.gets.safe) > 0 else f"no {what}"
    return f"Promise {worst.partner} {safe} instead of {kg(worst.ordered)}, and say so early."


def the_count(promises: Promises) -> str:
    """What speaks against the count being of today, and what in it is too old by now; "" where nothing is."""
    return count_words.the_count(
        promises.days_without_sowing,
        promises.given_up,
        promises.date,
        has_plan=bool(promises.room.scenario.sowing),
        in_the_table=True,
    )


def what_saves(promises: Promises) -> str:
    """The best that was tried, with what it saves, or that nothing tried helps."""
    best = promises.together[-1] if promises.together else next(iter(promises.helpful), None)
    if best is None:
        return f"Nothing tried saves them ({kinds(promises.rescues)})."
    low, high = number(best.met.low, 1), number(best.met.high, 1)
    said = f"{upper_first(best.name)}: {number(best.met.mean, 1)} more deliveries arrive in full ({low} to {high})"
    before = len(promises.at_risk)
    after = before - len(best.saves) + len(best.risks)
    return f"{said}; {number(after)} instead of {number(before)} are at risk." if after != before else f"{said}."


def kinds(rescues: Sequence[Rescue]) -> str:
    """What kinds of things were tried."""
    names = {
        "people": "a helper more on each shift",
        "greens": "keeping greens longer",
        "sow": "sowing more now",
        "harvest days": "a further harvest day",
        "priority": "another order of serving",
    }
    return listed([names[kind] for kind in dict.fromkeys(rescue.actions[0].kind for rescue in rescues)])


def table(promises: Promises) -> AnswerTable:
    """Week by week: what is safe, likely and possible, what is ordered, and which deliveries are at risk."""
    weeks = [each for each in promises.crops if not each.crop]
    of = f"the room as it is, from what stands on the shelves on {long_day(promises.date)}"
    heads = ["safe", "likely", "possible"] + (["ordered", "at risk"] if promises.deliveries else [])
    return AnswerTable(
        f"Greens to hand out ({units.unit('kg')})",
        tuple(Column(head, of) for head in heads),
        tuple(_week(each, promises) for each in weeks[:MOST_WEEKS]),
        "Safe comes in at least 90 of 100 rehearsals, likely in 50, possible in 10."
        + (" At risk: met in full in fewer than 90 of 100." if promises.deliveries else ""),
        "week of",
    )


def _week(week: CropWeek, promises: Promises) -> Row:
    cells = [_level(week.there.safe), _level(week.there.likely), _level(week.there.possible)]
    if promises.deliveries:
        ordered = sum(1 for each in promises.deliveries if each.week == week.week)
        risky = [each for each in promises.at_risk if each.week == week.week]
        cells.append(Cell(mass_cell(_ordered(week, promises)), _ordered(week, promises), unit="kg"))
        cells.append(Cell(_at_risk(risky, ordered), float(len(risky))))
    return Row(short_day(week.starts), tuple(cells))


def _ordered(week: CropWeek, promises: Promises) -> float:
    return math.fsum(each.ordered for each in promises.deliveries if each.week == week.week)


def _level(kilograms: float) -> Cell:
    return Cell(down_cell(kilograms), kilograms, unit="kg")


def met_in_full(share: float) -> str:
    """A share of rehearsals, rounded down: what is at risk never reads as the 90% that would be safe."""
    return percent(int(100 * share + 1e-9) / 100)


def _at_risk(risky: Sequence[Delivery], ordered: int) -> str:
    """ "2 of 9, least sure: food pantry, butterhead (62%)"."""
    if not risky:
        return "none" if ordered else "no pick-up"
    worst = min(risky, key=lambda each: (each.chance.share, each.date))
    crop = "" if worst.crop == ANY_CROP else f", {worst.crop}"
    return f"{len(risky)} of {ordered}, least sure: {worst.partner}{crop} ({met_in_full(worst.chance.share)})"


def how_sure(promises: Promises) -> str:
    """What it rests on, and how closely the first safe amount is known."""
    first = _first_safe(promises)
    said = f"From {counted(len(promises.outcomes), 'rehearsal')}"
    if first is not None:
        low, high = safe_between([outcome.weeks["kg_handed_out"][first.week] for outcome in promises.outcomes])
        if low is None:
            said += f", too few to know the safe {down(first.there.safe)} closely: it may be anything below {kg(high)}"
        else:
            said += f": the safe {down(first.there.safe)} lies between {mass_range(low, high, 'and')}"
    return f"{said}. It holds if your count is right and the sowing plan is kept."


def _first_safe(promises: Promises) -> CropWeek | None:
    """The first week in which something is safe to promise."""
    return next((each for each in promises.crops if not each.crop and floor(each.there.safe) > 0), None)


def kg(kilograms: float) -> str:
    """A mass to a tenth, neither up nor down."""
    return f"{mass_cell(kilograms)} {units.unit('kg')}"


def week_of(date: dt.date) -> str:
    """ "the week of 3 March"."""
    return f"the week of {long_day(date)}"
