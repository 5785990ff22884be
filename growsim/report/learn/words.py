"""What was learned, in sentences: the plain one first, with its range, then how far it can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.report.front import Front
from growsim.report.learn.lead import headline, table
from growsim.report.learn.values import capital, enough
from growsim.report.words import counted, number, percent, short_date

if TYPE_CHECKING:
    from growsim.study.learn.learned import Drift, Scored
    from growsim.study.learn.question import Learning


def front(learning: Learning) -> Front:
    """The page of the answer."""
    return Front(headline(learning), tuple(advice(learning)), table(learning), how_sure(learning))


def advice(learning: Learning) -> list[str]:
    """To take in what is clear of the room file; what changed on the way."""
    said = []
    if any(figure.is_clear for figure in learning.figures):
        said.append(
            "Take it in: `growsim keep ROOM learned.toml` writes your room with it; `growsim compare ROOM "
            "learned.toml` shows first what it means."
        )
    if learning.drift:
        since = max(each.since for each in learning.drift).isoformat()
        said.append(f"{drift_sentence(learning.drift[0])} To learn from the later part alone, say --from {since}.")
    return said


def how_sure(learning: Learning) -> str:
    """How many figures the record tells, and what was read."""
    mains = [figure for figure in learning.figures if figure.group != "spreads"]
    own = sum(not figure.is_little for figure in mains)
    return (
        f"Your record tells {counted(own, 'figure')}; {number(len(mains) - own)} stay near the room file's, for lack "
        f"of records. {rows_read(learning)}"
    )


def rows_read(learning: Learning) -> str:
    """How many rows, of which days, and what became of them."""
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


def score_sentence(series: Scored) -> str:
    """How well one series was forecast."""
    text = (
        f"{capital(series.label)}: {series.inside} of {counted(len(series.weeks), 'week')} fell into the range meant "
        f"for "
        f"8 in 10, {series.naive_inside} into that of the four weeks before."
    )
    if series.naive_loss <= 0:
        return text
    gain = 1 - series.loss / series.naive_loss
    errs = "as much as" if abs(gain) < 0.05 else f"{percent(abs(gain))} {'less' if gain > 0 else 'more'} than"
    return f"{text} The forecast errs {errs} saying 'the same as the last four weeks'."


def drift_sentence(each: Drift) -> str:
    """ "Basil: cells that germinate: 92.0% before 3 Aug 2031, 81.0% since (lines 2 to 31, against lines 32 to 60)." """
    if each.unit == "fraction":
        early, late = percent(each.early, 1), percent(each.late, 1)
    else:
        early, late = enough(each.early), f"{enough(each.late)} {each.unit}"
    return f"{capital(each.what)}: {early} before {short_date(each.since)}, {late} since ({each.lines})."
