"""What holds the room back, in words: what was waited for and lost over it, and what brings more, as it was tried in
the same years.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.ledger.tallies import SKIPPED
from growsim.report.crop_words import unit_of
from growsim.report.page import Block, Grid, Section, Text
from growsim.report.tables import Table
from growsim.report.words import (
    a_period,
    as_difference,
    counted,
    difference_alone,
    in_practice,
    listed,
    mass,
    number,
    plus,
    rehearsals,
)
from growsim.run.writing import write_text
from growsim.scenario import on_paper
from growsim.scenario.change import change_text, file_name
from growsim.scenario.checks.closings import MANY_DAYS
from growsim.scenario.checks.closings import closings as spells_closed
from growsim.study.pay_back import KG, Range
from growsim.study.trials import LITTLE, Held, Tried
from growsim.vocabulary.losses import Loss, fate_of
from growsim.vocabulary.obstacles import because

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from growsim.run.intervals import Estimate
    from growsim.scenario.crop import Crop
    from growsim.scenario.scenario import Scenario
    from growsim.study.causes import Cause, Share

MOST_CAUSES = 2
LITTLE_KG = 0.05  # a rehearsal: less is no cause worth a sentence
NOTHING_LOST = "Nothing waits so long that it is lost or not sown."
POINTS = 100.0


def first_cause(held: Held, scenario: Scenario, days: int) -> str:
    """The heaviest of what was waited for, closings apart, without its weight; "" where nothing is lost over it."""
    causes = _named(held)
    if not causes:
        return ""
    cause, crops = causes[0], on_paper.crops_by_name(scenario)
    first = cause.shares[0]
    return f"{_upper(_share(first, crops.get(first.crop), days))} because {because(cause.held_up)}."


def _named(held: Held) -> list[Cause]:
    """Causes worth a sentence, closings apart, the heaviest first."""
    return [cause for cause in held.of_closings(are=False) if cause.kg >= LITTLE_KG and held.may_be_named(cause)]


def tried_advice(held: Held, days: int, then: str = "") -> str:
    """What brings more, as it was tried in the same years, in one sentence; that nothing does is an answer too.

    then: what goes before, as "After that".
    """
    if not held.was_tried:
        return ""
    comma = f"{then}, " if then else ""
    if not held.best:
        return "This room leaves nothing to try."
    if not held.advice:
        names = _likeliest(held)
        return _upper(f"{comma}nothing we tried brings more for certain{f'; likeliest were {names}' if names else ''}.")
    best = held.advice[0]
    return f"{_upper(comma + best.name)}: {brought(best)}, in the same {rehearsals(best.years, days)}."


def sentence(held: Held, scenario: Scenario, days: int) -> str:
    """What was waited for, closings apart, and what brings more."""
    crops = on_paper.crops_by_name(scenario)
    causes = _named(held)[:MOST_CAUSES]
    said = [_cause(cause, crops, days) for cause in causes]
    closed = closings(held, scenario, days)
    if not any(cause.kg >= LITTLE_KG for cause in held.causes):
        said = [NOTHING_LOST]
    return " ".join([*said, *([closed] if closed else []), *advice(held, days)])


def _cause(cause: Cause, crops: Mapping[str, Crop], days: int) -> str:
    """The heaviest of what waited for it: who, how many, why; and what all that waited for it would have weighed."""
    first = cause.shares[0]
    words = f"{_upper(_share(first, crops.get(first.crop), days))} because {because(cause.held_up)}."
    whole = "With all that waits for it, that is" if len(cause.shares) > 1 else "That is"
    return f"{words} {whole} {mass(cause.kg)} of greens {a_period(days)}."


def _share(share: Share, crop: Crop | None, days: int) -> str:
    if share.what == SKIPPED:
        return f"{share.crop}: {counted(share.count, unit_of(crop, 'cell'))} {a_period(days)} are not sown"
    fate = fate_of(share.what)
    clause = fate.clause if isinstance(fate, Loss) else fate.label
    return f"{share.crop}: {counted(share.count, unit_of(crop))} {a_period(days)} {clause}"


def closings(held: Held, scenario: Scenario, days: int) -> str:
    """What closings cost; no trial lifts a holiday, but what is sown for a long one can be left out."""
    causes = held.of_closings()
    kilograms = sum(cause.kg for cause in causes)
    if kilograms < LITTLE * days / 7:
        return ""
    heaviest = sorted((share for cause in causes for share in cause.shares), key=lambda share: -share.kg)
    crops = list(dict.fromkeys(share.crop for share in heaviest if share.kg >= LITTLE_KG))[:3]
    of = f", most of it {listed(crops)}" if crops else ""
    said = f"Closings cost {mass(kilograms)} of greens {a_period(days)}{of}."
    if not any((last - first).days + 1 >= MANY_DAYS for first, last in spells_closed(scenario)):
        return said
    return f"{said} Sow nothing that ripens in them: `growsim check` names the last day to sow."


def advice(held: Held, days: int) -> list[str]:
    """What brings more, tried in the same years: two sentences at most. That nothing does is an answer too."""
    if not held.was_tried:
        return []
    if not held.best:
        return ["This room leaves nothing to try."]
    years, sure = rehearsals(held.best[0].years, days), held.advice
    if not sure:
        names = _likeliest(held)
        return [f"Nothing we tried brings more for certain.{f' Likeliest were: {names}.' if names else ''}"]
    said = [
        f"Of what we tried in the same {years}, this brings most: {sure[0].name}.",
        f"It brings {brought(sure[0])}.",
    ]
    if len(sure) > 1:
        beside = "Alone" if len(sure[0].trials) > 1 else "Next best"
        said.append(f"{beside}, {sure[1].name} brings {brought(sure[1])}.")
    return said


def _likeliest(held: Held) -> str:
    """Of what was tried, what brings more on average, if not for certain."""
    return listed([tried.name for tried in held.best if len(tried.trials) == 1 and tried.worth >= LITTLE], "or")


def brought(tried: Tried) -> str:
    """What it brings, with the range of what it brings for certain: greens a week, and orders."""
    greens, unit = f"{difference_alone(KG, tried.kg.mean, '')} a week", units.unit("kg")
    if tried.by_pick_ups and tried.orders is not None:
        points = plus(POINTS * tried.orders.mean, 1)
        return f"{points} points of the pick-ups met in full (range {_between(tried.orders, POINTS, 1)})"
    if tried.orders is None:
        return f"{greens} (range {_kg_between(tried.kg)} {unit})"
    points = plus(POINTS * tried.orders.mean, 1)
    orders = f"{points} points of the orders" if points.strip("+-0.") else "as many orders filled"
    if tried.kg.low is not None and tried.kg.low <= 0.0:  # it is the orders of which it brings more for certain
        return f"{orders} (range {_between(tried.orders, POINTS, 1)}) and {greens}"
    return f"{greens} (range {_kg_between(tried.kg)} {unit}) and {orders}"


def _kg_between(found: Range) -> str:
    shown = [None if each is None else units.difference(each, "kg") for each in (found.mean, found.low, found.high)]
    return _between(Range(shown[0] or 0.0, shown[1], shown[2]))


def _between(found: Range, factor: float = 1.0, decimals: int = 2) -> str:
    if found.low is None or found.high is None:
        return "no range"
    return f"{plus(factor * found.low, decimals)} to {plus(factor * found.high, decimals)}"


def lost_to(loss: Loss, estimates: Mapping[str, Estimate], days: int) -> str:
    """How many plants are lost so, with the range; "" where hardly any is."""
    estimate = estimates.get(loss.measure)
    if estimate is None or estimate.mean < 0.5:
        return ""
    return f"{counted(estimate.mean, 'plant')} {a_period(days)} {loss.clause} ({in_practice(estimate, days)})"


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
        "brings_more": tried.brings_more,
    }


def section(held: Held, scenario: Scenario, days: int) -> Section:
    """Both tables: what was waited for, and what was tried."""
    blocks: list[Block] = [Text(sentence(held, scenario, days)), Grid(causes_table(held, scenario, days))]
    if held.best:
        blocks.append(Grid(tried_table(held, days)))
    return Section("holds-back", "What holds the room back", tuple(blocks))


def causes_table(held: Held, scenario: Scenario, days: int) -> Table:
    """A row for each obstacle and each crop held up by it, the heaviest first."""
    crops = on_paper.crops_by_name(scenario)
    rows = [
        (because(cause.held_up), _share(share, crops.get(share.crop), days), number(units.amount(share.kg, "kg"), 1))
        for cause in held.causes
        for share in cause.shares
        if share.count >= 0.5
    ]
    rows += [
        (because(cause.held_up), "late, and not lost", f"{number(cause.days_late)} plant-days")
        for cause in held.causes
        if cause.days_late >= 0.5
    ]
    note = "Mass: what they would have weighed, every later loss left out. Plant-days: plants times days late."
    head = ("because", "what came of it", f"{units.unit('kg')} {a_period(days)}")
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
        )
        for tried in (*held.best, *(tried for tried in held.tried if tried.trials not in again))
    )
    orders = "points of pick-ups met" if any(tried.by_pick_ups for tried in held.best) else "points of orders"
    head = ("tried", f"{units.unit('kg')} a week", "range (95%)", orders, "range (95%)", "years")
    note = "All in a few years; the best two, and both together, in other years. tried/ has them as CHANGE files."
    return Table("What was tried", head, rows, note)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
