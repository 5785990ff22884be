"""The sentences and the table of a review."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.words import counted, day_and_date, listed, long_day, mass, mass_range, number, percent
from growsim.study.review.drift import FALSE_ALARMS
from growsim.vocabulary.machines import BY_KEY
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    import datetime as dt

    from growsim.study.review.question import Held, Review, Reviewed

MOST_DAYS = 4
MOST_TOLD = 2  # drifts on the page; all stand in the table
SHARES = ("seedlings", "people", "orders")
_LABELS = {
    "greens": "greens harvested",
    "orders": "orders filled",
    "losses": "plants lost",
    "people": "people who came",
}


def front(review: Review) -> Front:
    """The page of the answer."""
    return Front(headline(review), (), table(review), how_sure(review), why=why(review))


def headline(review: Review) -> str:
    """The week's greens beside what was expected; then whether anything drifts."""
    week = f"In the week of {day_and_date(review.monday)}"
    greens = next((each.week for each in review.figures if each.kind == "greens"), None)
    drifted = review.drifted
    if drifted:
        end = f"{counted(len(drifted), 'figure is', 'figures are')} not as the room file says"
    else:
        end = "nothing written down says that the room is other than its file"
    if greens is None:
        return f"{week}, {end}."
    held = "as expected" if greens.low <= greens.seen <= greens.high else (
        "less than expected" if greens.seen < greens.low else "more than expected"
    )  # fmt: skip
    return f"{week}, {mass(greens.seen)} were harvested, {held} ({mass_range(greens.low, greens.high)}); {end}."


def why(review: Review) -> str:
    """What is not as described, the surest first."""
    return " ".join(drift_of(each) for each in review.drifted[:MOST_TOLD])


def drift_of(figure: Reviewed) -> str:
    """ "Basil that germinates: 61% since 5 May, described as 80 to 90% (sown 5, 12 and 19 May)." """
    drifted = figure.drifted
    assert drifted is not None
    assert figure.stated is not None
    days = ""
    if drifted.days:
        shown = [long_day(day) for day in drifted.days[-MOST_DAYS:]]
        days = f"; {'last ' if len(drifted.days) > MOST_DAYS else ''}sown {listed(shown)}"
    seen = _seen(figure, drifted.seen)
    described = _stated(figure)
    name = label(figure)
    return f"{name[:1].upper()}{name[1:]}: {seen} since {long_day(drifted.since)}, described as {described}{days}."


def label(figure: Reviewed) -> str:
    """What a figure is called."""
    if figure.kind == "seedlings":
        return f"{figure.what} that germinates"
    if figure.kind == "minutes":
        return f"minutes for each {TASKS[figure.what].each}"
    if figure.kind == "failures":
        return f"{BY_KEY[figure.what].label}, failures"
    return _LABELS[figure.kind]


def _seen(figure: Reviewed, held: Held) -> str:
    if figure.kind in SHARES:
        return percent(held.seen / held.of) if held.of else "none asked for"
    if figure.kind == "greens":
        return mass(held.seen)
    if figure.kind == "minutes":
        return f"{held.seen:.2g}"
    if figure.kind == "failures":
        return f"{counted(held.seen, 'time')} in {counted(held.of, 'week')}"
    return number(held.seen)


def _stated(figure: Reviewed) -> str:
    assert figure.stated is not None
    low, high = figure.stated
    if figure.kind in SHARES:
        return percent(low) if round(low, 2) == round(high, 2) else f"{number(100 * low)} to {percent(high)}"
    if figure.kind == "failures":
        return f"{low:.2g} a year" if low == high else f"{low:.2g} to {high:.2g} a year"
    return f"{low:.2g} to {high:.2g}"


def is_on_page(figure: Reviewed) -> bool:
    """Whether a figure stands on the page of the answer: all but losses, minutes and machines as expected."""
    failed = figure.kind == "failures" and figure.lately is not None and figure.lately.seen > 0
    return figure.drifted is not None or failed or figure.kind not in ("losses", "minutes", "failures")


def _row(figure: Reviewed) -> Row:
    return Row(_head(figure), (*_cells(figure, figure.week), *_cells(figure, figure.lately)))


def table(review: Review, *, in_full: bool = False) -> AnswerTable:
    """Figures of the week and of the weeks up to it, each beside its range. in_full: those that are not on the page."""
    lately = f"last {counted(review.lately, 'week')}"
    columns = tuple(
        Column(head, of)
        for head, of in (
            ("this week", "the record"), ("expected", "the room as described"), (lately, "the record"),
            ("expected then", "the room as described, week by week from what then stood"),
        )
    )  # fmt: skip
    first = sorted(review.figures, key=lambda each: each.drifted is None)
    rows = tuple(_row(each) for each in first if is_on_page(each) is not in_full)
    keys = [each.key for each in review.drifted]
    note = f"Not as described: {listed(keys)} in the room file would explain it." if keys else ""
    return AnswerTable("The week, held against the room file", columns, rows, note, "on record")


def _head(figure: Reviewed) -> str:
    return f"{label(figure)}{' (not as described)' if figure.drifted is not None else ''}"


def _cells(figure: Reviewed, held: Held | None) -> tuple[Cell, Cell]:
    if held is None:
        return Cell("not on record"), Cell("")
    scale, unit = 1.0, {"greens": "kg", "minutes": "min"}.get(figure.kind, figure.unit)
    if figure.kind in SHARES:
        if not held.of:
            return Cell("none asked for"), Cell("")
        scale, unit = 1.0 / held.of, "fraction"
    low, high = held.low * scale, held.high * scale
    return (
        Cell(_seen(figure, held), held.seen * scale, unit=unit),
        Cell(_range(figure, low, high), (low + high) / 2.0, low, high, unit),
    )


def _range(figure: Reviewed, low: float, high: float) -> str:
    if figure.kind in SHARES:
        return f"{number(100 * low)} to {percent(high)}"
    if figure.kind == "greens":
        return mass_range(low, high)
    if figure.kind == "minutes":
        return f"{low:.2g} to {high:.2g}"
    return f"{number(low)} to {number(high)}"


def how_sure(review: Review) -> str:
    """What chance alone does."""
    said = (
        f"Ranges hold eight in ten such weeks. Of all {review.watched} figures watched, chance alone names one "
        f"in about {number(1 / FALSE_ALARMS)} years"
    )
    drifted = review.drifted
    if not drifted or drifted[0].drifted is None:
        return f"{said}."
    return (
        f"{said}; what is named first, it brings less often than once in {number(int(drifted[0].drifted.years))} years."
    )


def found_in_words(figures: Sequence[Reviewed]) -> list[str]:
    """All that is not as described, for the appendix."""
    return [drift_of(each) for each in figures]


def mass_axis() -> str:
    """The unit along a mass axis."""
    return units.unit("kg")


def week_name(monday: dt.date) -> str:
    """Of a week, below its bar."""
    return f"{monday.day} {monday:%b}"
