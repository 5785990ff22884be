"""What is said against an old count of the shelves, wherever one is asked with."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from growsim.report.words import counted, listed, long_day
from growsim.study.standing import Standing
from growsim.study.today import GivenUp

MOST_LOTS = 6


def the_count(
    days_without_sowing: int, given_up: Sequence[GivenUp], date: dt.date, *, has_plan: bool, in_the_table: bool = False
) -> str:
    """What speaks against the count being of `date`, and what in it is too old by now; "" where nothing is.

    has_plan: the room file says what is sown. in_the_table: a table below has all lots.
    """
    said = []
    if days_without_sowing:
        newest = date - dt.timedelta(days=days_without_sowing)
        said.append(
            f"The newest sowing in it is of {day_month(newest)}, {days_without_sowing} days before {day_month(date)}"
            f"{', and the plan has sowings in between' if has_plan else ''}. If the shelves were "
            "not counted on that morning, count them again, or give the morning of the count (--date)."
        )
    if given_up:
        named = [f"{counted(each.plants, 'plant')} of {each.lot}{_crop(each)}" for each in given_up]
        more = len(named) - MOST_LOTS
        others = [counted(more, "other lot") + (" in the table" if in_the_table else "")] if more > 0 else []
        said.append(
            f"Past their last day by {day_month(date)}, and as good as lost: {listed([*named[:MOST_LOTS], *others])}. "
            "If they stand well all the same, the room file gives their crop too few days."
        )
    return " ".join(said)


def by_the_record(standing: Standing) -> list[str]:
    """What the shelves were taken to hold where nobody counted them, and what is uncertain of it."""
    plants = sum(each.plants for each in standing.batches)
    since = f", from the count of {day_month(standing.counted)} on" if standing.counted is not None else ""
    said = [f"By the record{since}, {counted(plants, 'plant')} stand there on {day_month(standing.date)}."]
    unsure = [f"{each.plants} of {each.label} ({each.low} to {each.high}: {each.unsure})"
              for each in standing.batches if each.unsure]  # fmt: skip
    if unsure:
        said.append(f"Not certain: {_named(unsure)}.")
    if standing.gone:
        gone = [f"{each.plants} of {each.label}" for each in standing.gone]
        said.append(f"Nobody wrote down what became of {_named(gone)}; too old to stand, they are left out.")
    if standing.no_room:
        beyond = [f"{each.plants} of {each.label}" for each in standing.no_room]
        said.append(f"The shelves have no slots for {_named(beyond)}; count them.")
    return said


def _named(each: Sequence[str]) -> str:
    more = len(each) - MOST_LOTS
    return listed([*each[:MOST_LOTS], *([f"{more} more"] if more > 0 else [])])


def day_month(date: dt.date) -> str:
    """ "3 March"."""
    return long_day(date)


def _crop(each: GivenUp) -> str:
    """The crop, where the lot's label does not say it."""
    return "" if each.crop.lower() in each.lot.lower() else f" ({each.crop})"
