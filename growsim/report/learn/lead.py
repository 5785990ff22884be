"""What leads the answer of `learn`: what matters to the room, by kilograms or hours a week, in plain words; and how a
learned figure is written.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.front import AnswerTable, Cell, Column, Row
from growsim.report.words import counted, listed, mass, mass_range, number, percent, sensible, upper_first
from growsim.study.learn.effects import HANDS, KILOGRAMS, SMALL, WORK, Effect, effects_of, together
from growsim.vocabulary.days import MONTHS

if TYPE_CHECKING:
    from growsim.study.learn.learned import Learned
    from growsim.study.learn.question import Learning

GROUPS: dict[str, str] = {
    "seeds": "Seeds that germinate",
    "days": "Days from sowing to harvest weight",
    "mass": "Mass of a plant",
    "losses": "Plants lost in moving",
    "people": "Chance of coming",
    "minutes": "Minutes of work",
    "machines": "How long machines run",
    "mending": "How long repair takes",
    "spreads": "How much sowings differ",
}
MOST_ROWS = 8  # in the table of the page; the table behind it has all
MOST_TOLD = 2  # figures as why
BEARS_OUT = "Your record bears the room file out."
CHANGES_NOTHING = "Nothing in your record changes what to expect of the room."
TOO_LITTLE = "Your record says too little to learn any figure of this room from it yet."
NOTHING = 0.005  # kg or hours a week


def headline(learning: Learning) -> str:
    """Greens to expect with all that was learned taken in; or that it changes nothing, or says too little."""
    effects, clear = effects_of(learning.figures, learning.before), _clear(learning)
    if not clear:
        has_any = any(figure.records for figure in learning.figures if figure.group != "spreads")
        return BEARS_OUT if has_any else TOO_LITTLE
    if all(effect.share < SMALL for effect in clear):
        return CHANGES_NOTHING
    differ = counted(len(clear), "figure differs", "figures differ")
    kilograms = together(effects)
    if kilograms is None:
        return f"By your record {differ} from the room file."
    but = ", but they cancel out" if len(clear) > 1 and kilograms.low < 0 < kilograms.high else ""
    return f"By your record {differ} from the room file{but}: expect {range_of(kilograms, ' of greens')}."


def why(learning: Learning) -> str:
    """The clear figures that matter most, each with what it means a week."""
    return " ".join(map(_sentence, _clear(learning)[:MOST_TOLD]))


def told(learning: Learning) -> list[tuple[tuple[str, ...], str, float, float]]:
    """Every clear figure that changes the greens, the weightiest first: keys of the room file, why's sentence, and the
    ends of what it means, kilograms a week."""
    of_greens = (effect for effect in _clear(learning) if effect.kind == KILOGRAMS)
    return [(tuple(each.key for each in one.figures), _sentence(one), one.low, one.high) for one in of_greens]


def _clear(learning: Learning) -> list[Effect]:
    return [effect for effect in effects_of(learning.figures, learning.before) if effect.is_clear]


def _sentence(effect: Effect) -> str:
    return f"{_what(effect)}: {range_of(effect)}{where(effect)}."


def first_effects(learning: Learning) -> list[Effect]:
    """What each figure means a week, what is clear of the room file first, then the weightiest."""
    return sorted(effects_of(learning.figures, learning.before), key=lambda effect: not effect.is_clear)


def table(learning: Learning) -> AnswerTable:
    """What each figure is by the room file and by the record, and what that means a week; what is clear comes first."""
    effects = first_effects(learning)
    columns = (
        Column("room file", "the room as its file has it"),
        Column("your record (8 in 10)", f"your record, {learning.first.isoformat()} to {learning.last.isoformat()}"),
        Column("a week, about", "the room's plan on paper with the learned figure, less the same with the room file's"),
    )
    shown = effects[:MOST_ROWS]
    more = len(effects) - len(shown)
    return AnswerTable(
        "What the record says: first what surely differs, then the rest, by what it means a week",
        columns,
        tuple(Row(names_of(effect), (*_both(effect), _a_week(effect))) for effect in shown),
        (f"{counted(more, 'more line')} below. " if more else "")
        + ("" if all(effect.is_clear for effect in shown) else "≈ may still be as the room file says."),
        "figure",
    )


def _both(effect: Effect) -> tuple[Cell, Cell]:
    """The figure in the room file and as learned; of several months the lowest and the highest."""
    first, figures = effect.figures[0], effect.figures
    stated = sorted(each.stated for each in figures)
    low, high = min(each.after.low for each in figures), max(each.after.high for each in figures)
    was = value_text(first, stated[0]) if stated[0] == stated[-1] else range_text(first, stated[0], stated[-1])
    found = first.after.middle if len(figures) == 1 else None
    mark = "" if effect.is_clear else "≈ "
    return (
        Cell(was, stated[0] if stated[0] == stated[-1] else None, unit=first.unit),
        Cell(f"{mark}{range_text(first, low, high)}", found, low, high, first.unit),
    )


def _a_week(effect: Effect) -> Cell:
    text = "–" if is_next_to_nothing(effect) else change_of(effect)
    return Cell(text, effect.change, effect.low, effect.high, f"{effect.kind}/week")


def change_of(effect: Effect) -> str:
    """ "1.3 kg a week less"."""
    if abs(effect.change) < NOTHING:
        return f"next to no {'greens' if effect.kind == KILOGRAMS else effect.kind}"
    return f"{_amount(effect, abs(effect.change))} a week {'more' if effect.change >= 0 else 'less'}"


def range_of(effect: Effect, what: str = "") -> str:
    """ "0.9 to 1.6 kg a week less", or "0.1 hours of work less to 0.4 hours of work more a week". what: " of greens",
    where it is to be said of which."""
    if effect.low < 0 < effect.high:
        return f"{_amount(effect, -effect.low)} less to {_amount(effect, effect.high)} more{what} a week"
    one, two = sorted((abs(effect.low), abs(effect.high)))
    more = "more" if effect.low + effect.high >= 0 else "less"
    if effect.kind == KILOGRAMS:
        return f"{mass_range(one, two)}{what} a week {more}"
    return f"{_hours(one)} to {_hours(two)} {effect.kind} a week {more}"


def months_told(months: Sequence[str]) -> str:
    """ "January and March"; all twelve are "every month"."""
    return "every month" if len(months) == len(MONTHS) else listed(months)


def names_of(effect: Effect) -> str:
    """ "butterhead: grams a plant on its typical day"; of people: "chance of coming in January and March"."""
    first = effect.figures[0]
    if first.group == "people":
        return f"{first.label} in {months_told([each.what for each in effect.figures])}"
    return f"{first.what}: {first.label}"


def share_of(effect: Effect) -> str:
    """ "12% of the room's kilograms"."""
    whole = {KILOGRAMS: "greens", WORK: "hours of work", HANDS: "labor hours"}[effect.kind]
    return f"{'under ' + percent(SMALL) if effect.is_small else percent(effect.share)} of the room's {whole}"


def is_next_to_nothing(effect: Effect) -> bool:
    """Whether it would be written as 0.00 from end to end."""
    return max(abs(effect.low), abs(effect.high), abs(effect.change)) < NOTHING


def _what(effect: Effect) -> str:
    each = effect.figures[0]
    at, stated = value_text(each, each.after.middle), value_text(each, each.stated)
    by = percent(abs(each.after.middle / each.stated - 1)) if each.stated else "much"
    is_more = each.after.middle > each.stated
    if each.group == "people":
        return _who_comes(effect)
    clauses = {
        "seeds": f"Of your {each.what} seeds {at} germinate, where the room file says {stated}",
        "mass": f"Your {each.what} weighs {by} {'more' if is_more else 'less'} than the room file says",
        "losses": f"Of your {each.what} plants {at} are lost in moving, where the room file says {stated}",
        "days": f"Your {each.what} takes {number(abs(each.after.middle - each.stated), 1)} days "
        f"{'more' if is_more else 'less'} to harvest weight than the room file says",
        "minutes": f"The work “{each.what}” takes {by} {'longer' if is_more else 'less time'} than the room file says",
    }
    return clauses.get(
        each.group, f"{upper_first(each.what)}: {each.label} are {by} {'more' if is_more else 'fewer'} than the "
        "room file says",
    )  # fmt: skip


def _who_comes(effect: Effect) -> str:
    downs = {each.after.middle < each.stated for each in effect.figures}
    who = "Other numbers" if len(downs) > 1 else "Fewer" if True in downs else "More"
    months = months_told([each.what for each in effect.figures])
    return f"{who} of those signed up come than the room file says in {months}"


def _amount(effect: Effect, size: float) -> str:
    return mass(size) if effect.kind == KILOGRAMS else f"{_hours(size)} {effect.kind}"


def _hours(size: float) -> str:
    return number(size, 1 if size >= 1 else 2)


def where(effect: Effect) -> str:
    """What goes with the amount: where, or on what average, it is meant."""
    group = effect.figures[0].group
    if group == "days":
        return " where the shelves are full"
    if group in ("machines", "mending"):
        return ", plants that die not counted"
    return ", averaged over the year" if group == "people" else ""


def value_text(figure: Learned, value: float) -> str:
    """A value of the figure with its unit."""
    if figure.unit == "fraction":
        return percent(value, 1)
    if figure.unit == "days":
        return f"{number(value, 1 if value < 100 else 0)} days"
    if figure.unit == "h":
        return f"{number(value, 1 if value < 100 else 0)} h"
    if figure.unit == "g":
        return f"{enough(units.amount(value, figure.unit))} {units.unit(figure.unit)}"
    return f"{enough(value)} {figure.unit}"


def range_text(figure: Learned, low: float, high: float) -> str:
    """ "40.6 to 41.8 days", "131 to 142 g"."""
    one, two = value_text(figure, low), value_text(figure, high)
    unit = f" {units.unit(figure.unit)}"
    return f"{one.removesuffix(unit)} to {two}" if figure.unit != "fraction" else f"{one} to {two}"


def enough(value: float) -> str:
    """Three figures, without thousands of decimals: 0.489, 7.75, 26.8, 137."""
    if value == 0 or not math.isfinite(value):
        return sensible(value)
    return number(value, max(0, 2 - math.floor(math.log10(abs(value)))))
