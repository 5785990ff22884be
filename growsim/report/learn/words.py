"""What was learned, in sentences: the plain one first, with its range, then how far it can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim.report.front import Front
from growsim.report.learn.lead import enough, headline, table, why
from growsim.report.words import counted, number, percent, short_date, upper_first

if TYPE_CHECKING:
    from growsim.study.learn.learned import Drift, Scored
    from growsim.study.learn.question import Learning


def front(learning: Learning) -> Front:
    """The page of the answer."""
    return Front.within((headline(learning),), advice(learning), table(learning), how_sure(learning), why(learning))


def advice(learning: Learning) -> list[str]:
    """To take in what is clear of the room file, or to leave it; what changed on the way."""
    if any(figure.is_clear for figure in learning.figures):
        said = [
            "Take it in: `growsim keep ROOM learned.toml`, with the file beside this report, writes it as a new room."
        ]
    else:
        little = sum(figure.is_little for figure in learning.figures if figure.group != "spreads")
        said = [f"Keep the room file as it is. {counted(little, 'figure')} of it still lack records: go on writing."]
    if learning.drift:
        since = max(each.since for each in learning.drift)
        said.append(f"{drift_sentence(learning.drift[0])} If that is to last, learn from {short_date(since)} on alone.")
    return said


def how_sure(learning: Learning) -> str:
    """How many figures the record tells, and what was read."""
    mains = [figure for figure in learning.figures if figure.group != "spreads"]
    own = sum(not figure.is_little for figure in mains)
    records = learning.records
    aside = len(records.set_aside)
    return (
        f"Each range holds eight in ten. Your record tells {number(own)} of {counted(len(mains), 'figure')}; the "
        f"others stay near the room file's, for lack of records. {counted(records.rows_read, 'row')}, from "
        f"{short_date(learning.first)} to {short_date(learning.last)}: {number(records.rows_read - aside)} used, "
        f"{f'{number(aside)} skipped, each with its reason' if aside else 'none skipped'}."
    )


def score_sentence(series: Scored) -> str:
    """How well one series was forecast."""
    text = (
        f"{upper_first(series.label)}: {series.inside} of {counted(len(series.weeks), 'week')} fell into the range "
        f"meant for 8 in 10, {series.naive_inside} into that of the four weeks before."
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
    return f"{upper_first(each.what)}: {early} before {short_date(each.since)}, {late} since ({each.lines})."
