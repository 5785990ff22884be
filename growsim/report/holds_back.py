"""What holds the room back, in words: what was waited for and lost over it, and what brings more, as it was tried in
the same years.
"""

from __future__ import annotations

import math
from dataclasses import asdict
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.ledger.tallies import SKIPPED
from growsim.report import cautions
from growsim.report.crop_words import unit_of
from growsim.report.front import in_brackets
from growsim.report.page import Block, Caution, Grid, Section, Text
from growsim.report.tables import Table
from growsim.report.words import (
    a_period,
    as_difference,
    counted,
    differences_as,
    listed,
    long_date,
    mass,
    mass_cell,
    number,
    plus,
    upper_first,
)
from growsim.run.writing import write_text
from growsim.scenario import on_paper
from growsim.scenario.change import change_text, file_name
from growsim.scenario.checks.closings import MANY_DAYS
from growsim.scenario.checks.closings import closings as spells_closed
from growsim.scenario.names import ANY_CROP
from growsim.study.pay_back import KG, Range
from growsim.study.to_try import PEOPLE, SEED, SOWING_DAYS
from growsim.study.tried import GREENS, LITTLE, LITTLE_SHARE, ORDERS, Held, Tried
from growsim.vocabulary.days import NAME_OF_WEEKDAY
from growsim.vocabulary.losses import Loss, fate_of
from growsim.vocabulary.obstacles import because

if TYPE_CHECKING:
    from pathlib import Path

    from growsim.scenario.crop import Crop
    from growsim.scenario.scenario import Scenario
    from growsim.study.causes import Cause, Share

LITTLE_KG = 0.05  # a rehearsal: less is no cause worth a sentence
MOST_SHARES = 3  # of a cause, in its row
MOSTLY, SOME = 0.5, 0.25  # of what partners lack
NOT_EXPLAINED = "Nothing that was waited for explains most of what partners lack."
AS_OF_ONE = {"are": "is", "do": "does", "dry": "dries", "find": "finds"}  # verbs of losses, of one plant
NOTHING_LOST = "Nothing waits so long that it is lost or not sown."
ASKS = {
    SOWING_DAYS: "`growsim sow` weighs all days together: follow it where it says otherwise.",
    PEOPLE: "`growsim crew` says for which shifts.",
}
POINTS = 100.0
KEPT_LONGER = " Ask first what your food-safety rules allow; all that time they must stay cold."


def why(held: Held, scenario: Scenario, days: int) -> str:
    """Why partners lack what they do: what explains most of that, be it closings or what was waited for, that greens
    come unevenly, or none of these. Where they lack nothing, what weighs most; "" where nothing is lost over it."""
    causes = [cause for cause in held.of_closings(are=False) if held.may_be_named(cause)]
    told = closings(held, scenario, days)
    if not held.missing_kg:
        heavy = [cause for cause in causes if cause.kg >= LITTLE_KG]
        if told and lost_to_closings(held, days) > max((cause.kg for cause in heavy), default=0.0):
            return told
        return _because(heavy[0], heavy[0].shares[0], scenario, days) if heavy else ""
    found = max(causes, key=held.explained_by, default=None)
    explained = held.explained_by(found) if found else 0.0
    uneven = math.fsum(each.uneven for each in held.lacking) / held.missing_kg
    by_closings, by_start = (_made_good(each, held) for each in (held.without_closings, held.with_full_shelves))
    at_first = held.at_first.missing / held.missing_kg if held.at_first and by_start else 0.0
    if at_first >= max(MOSTLY, explained):
        return _at_first(held, scenario, days)
    if told and by_closings >= max(SOME, explained):
        return told
    if explained < MOSTLY and uneven >= MOSTLY:
        return _unevenly(held, scenario, days)
    if found is None or explained < SOME:
        return NOT_EXPLAINED
    lacking = {each.crop: each.missing for each in held.lacking}
    share = max(found.shares, key=lambda share: min(share.kg, lacking.get(share.crop, lacking.get(ANY_CROP, 0.0))))
    return _because(found, share, scenario, days)


def _made_good(tried: Tried | None, held: Held) -> float:
    """How much of what is missing a trial makes good, as a share; 0 where that is not certain."""
    less = None if tried is None else tried.less_missing
    return less.mean / held.missing_kg if less and (less.low or 0.0) > 0.0 else 0.0


def _at_first(held: Held, scenario: Scenario, days: int) -> str:
    """That most is missing at first, while bare shelves fill, what full ones bring, and from when on that is over."""
    first, full = held.at_first, held.with_full_shelves
    assert first is not None
    assert full is not None
    assert full.less_missing is not None
    begin = scenario.room.start_date
    until = begin + timedelta(weeks=first.weeks)
    closed = any(start < until and last >= begin for start, last in spells_closed(scenario))
    return (
        f"{upper_first(mass(first.missing))} of {mass(held.missing_kg)} missing {a_period(days)} is missing before "
        f"{long_date(until)}, while bare shelves fill{' and the room is closed' if closed else ''}. With full shelves "
        f"at the start the same years lack {mass(full.less_missing.mean)} less. Promise less until then."
    )


def _because(cause: Cause, share: Share, scenario: Scenario, days: int) -> str:
    crop = on_paper.crops_by_name(scenario).get(share.crop)
    return f"{upper_first(_share(share, crop, days))} because {because(cause.held_up)}."


def _unevenly(held: Held, scenario: Scenario, days: int) -> str:
    """That there is enough, but not when partners collect; and what a single harvest day has to do with it."""
    most, weekdays = max(held.lacking, key=lambda each: each.uneven), scenario.harvest.weekdays
    as_much = "as much or more" if mass(most.uneven) == mass(most.missing) else mass(most.uneven)
    said = (
        f"{'Greens come' if most.crop == ANY_CROP else f'{upper_first(most.crop)} comes'} unevenly: "
        f"{mass(most.missing)} is missing {a_period(days)}, {as_much} is left over in other weeks."
    )
    if len(weekdays) > 1:
        return said
    return f"{said} What is not ripe on its {NAME_OF_WEEKDAY[weekdays[0]]} comes a week later."


def tried_advice(held: Held, then: str = "", reached: str = "") -> str:
    """What brings more, as it was tried in the same years, in one sentence; that nothing does is an answer too.

    then: what goes before, as "After that". reached: what comes of that, told before what is to be minded.
    """
    if not held.was_tried:
        return ""
    comma = f"{then}, " if then else ""
    if not held.best:
        return "This room leaves nothing to try."
    found, weigh = held.advice or held.to_weigh, "" if held.advice else " Weigh it: greens in all are fewer."
    if not found:
        return f"{upper_first(comma)}{'n' if then else 'N'}othing we tried {_more(held)} for certain.{_ask_sow(held)}"
    older = KEPT_LONGER if any("longest_wait_days" in t.tables.get("harvest", ()) for t in found[0].trials) else ""
    said = f"{upper_first(comma + found[0].name)}: {brought(found[0])}, tried in the same years."
    return f"{said}{reached}{weigh}{older}{_asks(found[0])}"


def _asks(tried: Tried) -> str:
    """The question that weighs all days together, where one of a few was tried."""
    kinds = {trial.kind for trial in tried.trials}
    told = [said for kind, said in ASKS.items() if kind in kinds]
    return f" {told[0]}" if told else ""


def _more(held: Held) -> str:
    """What nothing that was tried does; some of it may bring more greens for certain and fill no more orders."""
    sure = {what for tried in (*held.best, *held.tried) for what in tried.sure}
    if GREENS in sure:
        return "brings more of both" if ORDERS in sure else "fills more orders"
    return "brings more greens" if sure else "brings more"


def _says(tried: Tried) -> str:
    """What it brings more of for certain, and what it costs of the other."""
    if not tried.sure:
        return "–"
    fewer = [word for word, found in (("greens", tried.kg), ("orders", tried.to_partners)) if found.mean < -LITTLE]
    words = f"more {listed(['orders' if what == ORDERS else 'greens' for what in tried.sure])}"
    return f"{words}, fewer {listed(fewer)}" if fewer else words


def _share(share: Share, crop: Crop | None, days: int) -> str:
    if share.what == SKIPPED:
        return f"{share.crop}: {_said(share.count, unit_of(crop, 'cell'), 'are not sown', days)}"
    fate = fate_of(share.what)
    clause = fate.clause if isinstance(fate, Loss) else fate.label
    return f"{share.crop}: {_said(share.count, unit_of(crop), clause, days)}"


def _said(count: float, one: str, clause: str, days: int) -> str:
    """ "2 plants a year dry out", "1 plant a year dries out"."""
    many, (verb, *rest) = counted(count, one), clause.split()
    return " ".join((many, a_period(days), AS_OF_ONE.get(verb, verb) if many == f"1 {one}" else verb, *rest))


def lost_to_closings(held: Held, days: int) -> float:
    """Kilograms a rehearsal that the same years give more without closings; 0 where that is not certain."""
    found = None if held.without_closings is None else held.without_closings.kg
    return 0.0 if found is None or (found.low or 0.0) <= 0.0 or found.mean < LITTLE else found.mean * days / 7


def closings(held: Held, scenario: Scenario, days: int) -> str:
    """What closings cost, as tried; nobody moves a holiday, but what is sown for a long one can be left out."""
    kilograms, found = lost_to_closings(held, days), held.without_closings
    if found is None or not kilograms:
        return ""
    low, high = (None if each is None else each * days / 7 for each in (found.kg.low, found.kg.high))
    orders = found.orders
    sure = orders is not None and (orders.low or 0.0) > 0.0 and orders.mean >= LITTLE_SHARE
    filled = f" and {number(POINTS * orders.mean, 1)} of 100 orders" if orders is not None and sure else ""
    greens = f"{mass(kilograms)} of greens {a_period(days)}{in_brackets(kilograms, low, high, mass_cell)}"
    said = f"Closings cost {greens}{filled}, by the same years without them."
    if not any((last - first).days + 1 >= MANY_DAYS for first, last in spells_closed(scenario)):
        return said
    return f"{said} Sow nothing that ripens in them: `growsim check` names the last day to sow."


def _ask_sow(held: Held) -> str:
    """Where orders are short, and more seed of all alike is no cure: what is sown when is a question of its own."""
    are_short = any(trial.kind == SEED for tried in held.tried for trial in tried.trials)
    return " A better sowing plan may: `growsim sow` looks for one." if are_short else ""


def brought(tried: Tried) -> str:
    """What it brings, with the range of what it brings for certain: greens a week, and orders."""
    kg, orders = tried.kg, tried.orders
    shown = differences_as(KG, *(each for each in (kg.mean, kg.low, kg.high) if each is not None))
    greens, of_greens = f"{shown(kg.mean)} {units.unit('kg')} a week", in_brackets(kg.mean, kg.low, kg.high, shown)
    if orders is None:
        return f"{greens}{of_greens}"
    points, of_points = _points(orders.mean), in_brackets(orders.mean, orders.low, orders.high, _points)
    if tried.by_pick_ups:
        return f"{points} of 100 weekly orders met in full{of_points}"
    filled = f"{points} of 100 orders filled" if points.strip("+-0.") else "as many orders filled"
    if kg.low is not None and kg.low <= 0.0:  # it is the orders of which it brings more for certain
        return f"{filled}{of_points} and {greens if abs(kg.mean) >= LITTLE else 'as many greens'}"
    if orders.low is not None and orders.high is not None and orders.low < 0.0 < orders.high:
        return f"{greens}{of_greens}, orders uncertain"
    return f"{greens}{of_greens} and {filled}"


def _points(share: float) -> str:
    return plus(POINTS * share, 1)


def _kg_between(found: Range) -> str:
    shown = [None if each is None else units.difference(each, "kg") for each in (found.mean, found.low, found.high)]
    return _between(Range(shown[0] or 0.0, shown[1], shown[2]))


def _between(found: Range, factor: float = 1.0, decimals: int = 2) -> str:
    if found.low is None or found.high is None:
        return "no range"
    return f"{plus(factor * found.low, decimals)} to {plus(factor * found.high, decimals)}"


def entry(held: Held) -> dict[str, Any]:
    """As summary.json states it; kilograms of causes a rehearsal, of trials a week."""
    return {
        "causes": [
            {
                **asdict(cause),
                "shares": [asdict(share) for share in cause.shares],
                "because": because(cause.held_up),
                "is_of_closing": cause.is_of_closing,
            }
            for cause in held.causes
        ],
        "was_tried": held.was_tried,
        "without_closings": None if held.without_closings is None else _tried_entry(held.without_closings),
        "with_full_shelves": None if held.with_full_shelves is None else _tried_entry(held.with_full_shelves),
        "at_first": None if held.at_first is None else asdict(held.at_first),
        "lacking": [asdict(each) for each in held.lacking],
        "tried": [_tried_entry(tried) for tried in held.tried],
        "best": [_tried_entry(tried) for tried in held.best],
        "brings_more": [tried.name for tried in held.advice],
    }


def write_tried(held: Held | None, folder: Path) -> None:
    """The best of what was tried, each as a CHANGE file in `folder`/tried."""
    for tried in () if held is None else held.best:
        if tried.tables is not None:
            (folder / "tried").mkdir(exist_ok=True)
            text = change_text(tried.tables, {"name": tried.name})
            write_text(folder / "tried" / file_name(tried.name), text)


def _tried_entry(tried: Tried) -> dict[str, Any]:
    return {
        "name": tried.name,
        "change": tried.tables,
        "years": tried.years,
        "kg_per_week": asdict(tried.kg),
        "kg_to_partners_per_week": asdict(tried.to_partners),
        "orders_filled_fraction": None if tried.orders is None else asdict(tried.orders),
        "kg_less_missing": None if tried.less_missing is None else asdict(tried.less_missing),
        "brings_more": tried.brings_more,
    }


def section(held: Held, scenario: Scenario, days: int) -> Section:
    """Both tables: what was waited for, and what was tried."""
    table, closed = causes_table(held, scenario, days), closings(held, scenario, days)
    blocks: list[Block] = [Grid(table) if table.rows else Text(NOTHING_LOST), *([Text(closed)] if closed else [])]
    if held.best:
        touched = [name for tried in held.best for trial in tried.trials for name in trial.tables]
        beside = cautions.beside_tables(touched, scenario.room.region)
        blocks += [Grid(tried_table(held, days)), *([Caution(beside)] if beside else [])]
    return Section("holds-back", "What holds the room back", tuple(blocks))


def causes_table(held: Held, scenario: Scenario, days: int) -> Table:
    """A row for each obstacle, the heaviest first: the mass lost over it, most of what, and what was only late."""
    crops = on_paper.crops_by_name(scenario)
    rows = []
    for cause in held.causes:
        told = [share for share in cause.shares if share.kg >= LITTLE_KG and share.count >= 0.5][:MOST_SHARES]
        late = number(cause.days_late) if cause.days_late >= 0.5 else "–"
        if told or late != "–":
            most = "; ".join(_share(share, crops.get(share.crop), days) for share in told) or "–"
            rows.append((because(cause.held_up), number(units.amount(cause.kg, "kg"), 1), most, late))
    note = "Mass: what they would have weighed, every later loss left out. Late: plants times days, and not lost."
    head = ("because", f"{units.unit('kg')} {a_period(days)}", "most of it", "late, days times plants")
    return Table("What was waited for", head, tuple(rows), note)


def tried_table(held: Held, days: int) -> Table:
    """What was tried, and what it brings a week against the room as it is."""
    again = {tried.trials for tried in held.best}
    rows = tuple(
        (
            tried.name,
            as_difference(KG, tried.kg.mean, ""),
            _kg_between(tried.kg),
            "–" if tried.orders is None else plus(POINTS * tried.orders.mean, 1),
            "–" if tried.orders is None else _between(tried.orders, POINTS, 1),
            number(tried.years),
            _says(tried),
        )
        for tried in (*held.best, *(tried for tried in held.tried if tried.trials not in again))
    )
    orders = "of 100 orders met in full" if any(tried.by_pick_ups for tried in held.best) else "of 100 orders filled"
    head = ("tried", f"{units.unit('kg')} a week", "range (95%)", orders, "range (95%)", "years", "for certain")
    note = "All in a few years; the best two, and both together, in other years. tried/ has them as CHANGE files."
    return Table("What was tried", head, rows, note)
