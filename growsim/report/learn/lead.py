"""What leads the answer of `learn`: what matters to the room, by kilograms or hours a week, in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim.report.learn.values import capital, enough, one_and_many, range_text, says, value_text
from growsim.report.words import counted, listed, mass, mass_range, number, percent
from growsim.study.learn.effects import HANDS, KILOGRAMS, SMALL, WORK, Effect, effects_of
from growsim.vocabulary.days import MONTHS

if TYPE_CHECKING:
    from growsim.study.learn.question import Learning

MOST_BESIDES = 3
NOTHING = 0.005  # kg or hours a week


def lead(learning: Learning) -> list[tuple[str, str]]:
    """(head, sentence): what matters most with its range, what else matters, and how many small figures there are."""
    effects = effects_of(learning.figures, learning.before)
    clear = [effect for effect in effects if effect.is_clear]
    weighty = [effect for effect in clear if not effect.is_small]
    small = sum(each.is_clear for effect in clear if effect.is_small for each in effect.figures)
    told = [("What your record says", _headline(learning, effects, weighty, small))]
    rest = [f"{plainly(effect)}." for effect in weighty[1 : 1 + MOST_BESIDES]]
    if more := len(weighty) - 1 - MOST_BESIDES if len(weighty) > 1 + MOST_BESIDES else 0:
        rest.append(f"{counted(more, 'more figure matters', 'more figures matter')}: see the table below.")
    if weighty and small:
        rest.append(_small_ones(small, "more "))
    if rest:
        told.append(("Besides", " ".join(rest)))
    return told


def plainly(effect: Effect) -> str:
    """ "Your butterhead weighs 12% less than the room file says: about 1.3 kg a week less"."""
    return f"{_what(effect)}: {about(effect)}"


def about(effect: Effect) -> str:
    """ "about 1.3 kg a week less"."""
    if abs(effect.change) < NOTHING:
        return f"next to no {'kilograms' if effect.kind == KILOGRAMS else effect.kind}"
    return f"about {_amount(effect, abs(effect.change))} {'more' if effect.change >= 0 else 'less'}{_where(effect)}"


def range_of(effect: Effect) -> str:
    """ "0.9 to 1.6 kg a week less", or "0.1 hours of work a week less to 0.4 hours more"."""
    if effect.low < 0 < effect.high:
        return f"{_amount(effect, -effect.low)} less to {_amount(effect, effect.high)} more"
    one, two = sorted((abs(effect.low), abs(effect.high)))
    more = "more" if effect.low + effect.high >= 0 else "less"
    if effect.kind == KILOGRAMS:
        return f"{mass_range(one, two)} a week {more}"
    return f"{_hours(one)} to {_hours(two)} {effect.kind} a week {more}"


def true_figure(effect: Effect) -> str:
    """ "between 87 and 95 g (room file: 110 g; 29 sowings)"; of people: month by month."""
    if effect.figures[0].group == "people":
        months = [
            f"{percent(each.after.low)} to {percent(each.after.high)} in {each.what} "
            f"(room file: {percent(each.stated)})"
            for each in effect.figures
        ]
        return listed(months)
    (each,) = effect.figures
    ends = range_text(each, each.after.low, each.after.high).replace(" to ", " and ")
    records = counted(each.records, *one_and_many(each.of))
    return f"between {ends} (room file: {value_text(each, each.stated)}; {records})"


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
    whole = {KILOGRAMS: "kilograms", WORK: "hours of work", HANDS: "hours of hands"}[effect.kind]
    return f"{'under ' + percent(SMALL) if effect.is_small else percent(effect.share)} of the room's {whole}"


def is_next_to_nothing(effect: Effect) -> bool:
    """Whether it would be written as 0.00 from end to end."""
    return max(abs(effect.low), abs(effect.high), abs(effect.change)) < NOTHING


def _headline(learning: Learning, effects: list[Effect], weighty: list[Effect], small: int) -> str:
    if weighty:
        first = weighty[0]
        people = first.figures[0].group == "people"
        figure = "share who come" if people else "figure"
        return (
            f"{plainly(first)}. The true {figure} lies, eight times in ten, {'at ' if people else ''}"
            f"{true_figure(first)}: that makes {range_of(first)}. It is about {share_of(first)} on paper, reckoned "
            "plainly from the room file and its sowing plan."
        )
    if small:
        largest = next(effect for effect in effects if effect.is_clear)
        return (
            f"Nothing in your record changes what to expect of the room. {_small_ones(small)} The largest: "
            f"{plainly(largest)[:1].lower()}{plainly(largest)[1:]}; the true figure lies, eight times in ten, "
            f"{true_figure(largest)}."
        )
    return _borne_out(learning)


def _small_ones(small: int, more: str = "") -> str:
    one, many = f"{more}figure lies", f"{more}figures lie"
    return (
        f"{counted(small, one, many)} clear of the room file but {'is' if small == 1 else 'are each'} worth less than "
        f"{percent(SMALL)} of the room's kilograms or hours a week; the tables below tell of "
        f"{'it' if small == 1 else 'them'}."
    )


def _borne_out(learning: Learning) -> str:
    taught = [figure for figure in learning.figures if figure.records and figure.group != "spreads"]
    if not taught:
        return "Your record says too little to learn any figure of this room from it yet."
    best = max(taught, key=lambda figure: figure.before.width / max(figure.after.width, 1e-12))
    ends = range_text(best, best.after.low, best.after.high).replace(" to ", " and ")
    return (
        f"Your record bears the room file out: none of the {counted(len(taught), 'figure')} it speaks of lies clear of "
        f"what the room file says. Best known now: {says(best, value_text(best, best.after.middle))}; eight times in "
        f"ten the true figure lies between {ends} ({counted(best.records, *one_and_many(best.of))})."
    )


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
        "days": f"Your {each.what} takes {enough(abs(each.after.middle - each.stated))} days "
        f"{'more' if is_more else 'less'} to its typical mass than the room file says",
        "minutes": f"The work “{each.what}” takes {by} {'longer' if is_more else 'less time'} than the room file says",
    }
    return clauses.get(
        each.group, f"{capital(each.what)}: {each.label} are {by} {'more' if is_more else 'fewer'} than the "
        "room file says",
    )  # fmt: skip


def _who_comes(effect: Effect) -> str:
    downs = {each.after.middle < each.stated for each in effect.figures}
    who = "Other numbers" if len(downs) > 1 else "Fewer" if True in downs else "More"
    months = months_told([each.what for each in effect.figures])
    return f"{who} of those signed up come than the room file says in {months}"


def _amount(effect: Effect, size: float) -> str:
    return f"{mass(size)} a week" if effect.kind == KILOGRAMS else f"{_hours(size)} {effect.kind} a week"


def _hours(size: float) -> str:
    return number(size, 1 if size >= 1 else 2)


def _where(effect: Effect) -> str:
    group = effect.figures[0].group
    if group == "days":
        return " where the shelves are full"
    if group in ("machines", "mending"):
        return ", plants that die not counted"
    return ", averaged over the year" if group == "people" else ""
