"""What was learned, in sentences: the plain one first, with its range, then how far it can be trusted."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from growsim.report.words import counted, listed, number, percent, sensible, short_date

if TYPE_CHECKING:
    from growsim.study.learn import Learning
    from growsim.study.learn_forecast import Scored
    from growsim.study.learned import Drift, Learned

GROUPS: dict[str, str] = {
    "seeds": "Seeds that come up",
    "days": "Days from sowing to typical mass",
    "mass": "Mass of a plant",
    "losses": "Plants lost in moving",
    "people": "Chance of coming",
    "minutes": "Minutes of work",
    "machines": "How long machines run",
    "mending": "How long mending takes",
    "spreads": "How much sowings differ",
}


def value_text(figure: Learned, value: float) -> str:
    """A value of the figure with its unit."""
    if figure.unit == "fraction":
        return percent(value, 1)
    if figure.unit == "days":
        return f"{number(value, 1 if value < 100 else 0)} days"
    if figure.unit == "h":
        return f"{number(value, 1 if value < 100 else 0)} h"
    return f"{_enough(value)} {figure.unit}"


def range_text(figure: Learned, low: float, high: float) -> str:
    """ "40.6 to 41.8 days"."""
    one, two = value_text(figure, low), value_text(figure, high)
    unit = f" {figure.unit}"
    return f"{one.removesuffix(unit)} to {two}" if figure.unit != "fraction" else f"{one} to {two}"


def _enough(value: float) -> str:
    """Three figures, without thousands of decimals: 0.489, 7.75, 26.8, 137."""
    if value == 0 or not math.isfinite(value):
        return sensible(value)
    return number(value, max(0, 2 - math.floor(math.log10(abs(value)))))


def says(figure: Learned, shown: str) -> str:
    """The figure as a clause: "butterhead takes 41.2 days from sowing to its typical mass"."""
    what = figure.what
    clauses = {
        "seeds": f"{shown} of {what} seeds come up",
        "days": f"{what} takes {shown} from sowing to its typical mass",
        "mass": f"a plant of {what} weighs {shown} on its typical day",
        "losses": f"{shown} of {what} plants are lost in moving",
        "people": f"{shown} of those signed up come in {what}",
        "minutes": f"{what} takes {shown.removesuffix(' min')} {figure.label}",
    }
    return clauses.get(figure.group, f"{what}: {shown} {figure.label}".replace(" h running hours", " running hours")
                       .replace(" days days", " days").replace(" h hours", " hours"))  # fmt: skip


def surprise(figure: Learned) -> float:
    """How far the record moves the figure, in units of the doubt there was."""
    return abs(figure.after.middle - figure.stated) / max(figure.before.sd, 1e-12)


def clear_figures(learning: Learning) -> list[Learned]:
    """Figures that the record moves clear of what the room file says, those moved farthest first."""
    return sorted(
        (figure for figure in learning.figures if figure.is_clear and figure.group != "spreads"),
        key=surprise,
        reverse=True,
    )


def answer(learning: Learning) -> list[tuple[str, str]]:
    """(head, sentence): what the record says, how sure that is, what was read, how the last weeks were forecast."""
    told = [("What your record says", _headline(learning))]
    clear = clear_figures(learning)
    if len(clear) > 1:
        others = [
            f"{says(figure, value_text(figure, figure.after.middle))} (room file: {value_text(figure, figure.stated)})"
            for figure in clear[1:4]
        ]
        more = len(clear) - 1 - len(others)
        rest = f"; and {counted(more, 'more figure')} below" if more > 0 else ""
        told.append(("Besides", f"{_capital('; '.join(others))}{rest}."))
    told.append(("How far to trust it", _trust(learning)))
    told.append(("What was read", _rows(learning)))
    if learning.held_back is not None:
        told.append(("Put to the test", _tested(learning)))
    if learning.drift:
        told.append(("What changed on the way", _drifted(learning.drift)))
    told.append((
        "What to do with it",
        "learned.toml holds what was learned, with every range: `growsim compare ROOM learned.toml` shows what it "
        "means "
        "for the room, and every rehearsed year then draws its own figures from those ranges.",
    ))  # fmt: skip
    return told


def _headline(learning: Learning) -> str:
    clear = clear_figures(learning)
    if clear:
        first = clear[0]
        return (
            f"{_capital(says(first, value_text(first, first.after.middle)))}, where the room file says "
            f"{value_text(first, first.stated)}; eight times in ten the true figure lies between "
            f"{_between(first)} ({counted(first.records, *_of(first.of))})."
        )
    taught = [figure for figure in learning.figures if figure.records and figure.group != "spreads"]
    if not taught:
        return "Your record says too little to learn any figure of this room from it yet."
    best = max(taught, key=lambda figure: figure.before.width / max(figure.after.width, 1e-12))
    return (
        f"Your record bears the room file out: none of the {counted(len(taught), 'figure')} it speaks of lies clear "
        "of what "
        f"the room file says. Best known now: {says(best, value_text(best, best.after.middle))}; eight times in ten "
        "the "
        f"true figure lies between {_between(best)} ({counted(best.records, *_of(best.of))})."
    )


def _between(figure: Learned) -> str:
    return range_text(figure, figure.after.low, figure.after.high).replace(" to ", " and ", 1)


def _trust(learning: Learning) -> str:
    mains = [figure for figure in learning.figures if figure.group != "spreads"]
    own = [figure for figure in mains if not figure.is_little]
    near = [figure for figure in mains if figure.is_little]
    text = f"{counted(len(own), 'figure is', 'figures are')} now told by your own record."
    if near:
        names = list(dict.fromkeys(f"{figure.what} ({figure.label})" for figure in near if figure.group != "people"))
        months = [figure.what for figure in near if figure.group == "people"]
        if months:
            names.insert(0, f"the chance of coming in {listed(months)}")
        shown = names[:4]
        more = len(names) - len(shown)
        rest = f" and {counted(more, 'other')}" if more > 0 else ""
        text += (
            f" {counted(len(near), 'figure stays', 'figures stay')} near the room file's, because few records speak of "
            f"{'it' if len(near) == 1 else 'them'}: {', '.join(shown)}{rest}."
        )
    return text


def _rows(learning: Learning) -> str:
    records = learning.records
    aside = len(records.set_aside)
    used = records.rows_read - aside
    text = (
        f"{counted(records.rows_read, 'row')}, from {short_date(learning.first)} to {short_date(learning.last)}: "
        f"{number(used)} used"
        f", {number(aside)} set aside, each with its reason"
    )
    text = text.replace(", 0 set aside, each with its reason", ", none set aside")
    out = sum(not odd.used for odd in learning.odd)
    if learning.odd:
        text += f"; {counted(len(learning.odd), 'row stands', 'rows stand')} out"
        if out:
            text += f", {number(out)} of them so far that {'it is' if out == 1 else 'they are'} kept out of the figure"
    if records.not_read:
        text += f". Not read, as no table of a record: {', '.join(records.not_read[:5])}"
    return f"{text}."


def _tested(learning: Learning) -> str:
    held = learning.held_back
    assert held is not None
    sentences = [score_sentence(series) for series in held.series]
    weeks = len(held.series[0].weeks)
    return f"With the last {counted(weeks, 'week')} held back and forecast from what came before: {' '.join(sentences)}"


def score_sentence(series: Scored) -> str:
    """How well one series was forecast."""
    weeks = len(series.weeks)
    text = (
        f"{_capital(series.label)} fell into the range meant for 8 in 10 in {series.inside} of "
        f"{counted(weeks, 'week')}, and into the range of the four weeks before in {series.naive_inside}"
    )
    if series.naive_loss <= 0:
        return f"{text}."
    gain = 1 - series.loss / series.naive_loss
    if abs(gain) < 0.05:
        return f"{text}; the forecast errs as much as saying 'the same as the last four weeks'."
    worse = "less" if gain > 0 else "more"
    return f"{text}; the forecast errs {percent(abs(gain))} {worse} than saying 'the same as the last four weeks'."


def _drifted(drift: tuple[Drift, ...]) -> str:
    shown = [drift_sentence(each) for each in drift[:3]]
    more = len(drift) - len(shown)
    rest = f" {counted(more, 'more')} below." if more > 0 else ""
    return (
        f"{' '.join(shown)}{rest} A figure of the whole record lies between the two; to learn from the later part "
        "alone, say "
        f"--from {max(each.since for each in drift).isoformat()}."
    )


def drift_sentence(each: Drift) -> str:
    """ "Basil: cells that come up: 92.0% before 3 Aug 2031, 81.0% since (lines 2 to 31, against lines 32 to 60)." """
    if each.unit == "fraction":
        early, late = percent(each.early, 1), percent(each.late, 1)
    else:
        early, late = _enough(each.early), f"{_enough(each.late)} {each.unit}"
    return f"{_capital(each.what)}: {early} before {short_date(each.since)}, {late} since ({each.lines})."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _of(of: str) -> tuple[str, str]:
    """Singular and plural of what a record is."""
    return of.removesuffix("s"), of
