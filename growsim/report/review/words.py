"""The sentences and the table of a review."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.words import counted, listed, long_day, mass, mass_range, number, percent, upper_first
from growsim.scenario import on_paper
from growsim.study.review.drift import FALSE_ALARMS
from growsim.study.review.offered import AHEAD_WEEKS
from growsim.vocabulary.days import WEEKDAY_NAMES
from growsim.vocabulary.machines import BY_KEY
from growsim.vocabulary.questions import BY_NAME as BY_NAME_OF_QUESTION
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    import datetime as dt

    from growsim.scenario.scenario import Scenario
    from growsim.study.promised import Delivery
    from growsim.study.review.offered import Offer
    from growsim.study.review.question import Held, Review, Reviewed

CHANGE_FILE = BY_NAME_OF_QUESTION["review"].change_file
LEAST_EXPLAINED = 0.25  # of the greens that are missing, before what drifted is named as why; our choice
# Tried on the tiny room: with 75 of 100 seeds, 1.4 times what was expected; none more where the air is as outside.
FEWER_BUT_MORE = "Fewer plants can bring more than expected: each gets more of the room's CO2 and is ready sooner."
WHY_NOT = "the record does not go back to all that stood there"
MOST_NAMED = 3  # of the figures that learn has otherwise
CHECK = "Check whether harvests went unrecorded."
LOOK = "Look this week whether plants died, sowings were missed or harvests went unrecorded."
SHARES = ("seedlings", "people", "orders")
_LABELS = {
    "greens": "greens harvested",
    "orders": "orders filled",
    "losses": "plants lost",
    "people": "people who came",
}


@dataclass(frozen=True)
class Whole:
    """What `learn` says of the same record. headline: of all of it. told: what is clear, the weightiest first: keys of
    the room file, a sentence, and the ends of what it means, kilograms a week."""

    headline: str
    told: Sequence[tuple[Sequence[str], str, float, float]] = ()

    def explains(self, is_less: bool, kg_a_week: float = 0.0) -> str:
        """What makes greens less, or more, than the room file has them, by so much at least; "" where nothing does."""
        for _, said, low, high in self.told:
            if (high < 0 and -low >= kg_a_week) if is_less else (low > 0 and high >= kg_a_week):
                return said
        return ""

    def says_of(self, key: str) -> str:
        """What it says of one figure of the room file; "" where nothing clear."""
        return next((said for keys, said, _, _ in self.told if key in keys), "")


NOTHING_LEARNED = Whole("")


def front(review: Review, learned: Whole = NOTHING_LEARNED) -> Front:
    """The page of the answer. learned: what `learn` says of the same record."""
    said = why(review, learned)
    return Front.within((headline(review),), advice(review, learned), table(review), how_sure(review), said)


def headline(review: Review) -> str:
    """The greens of the week, or of the weeks up to it, beside what was expected; then whether anything drifts."""
    drifted = review.drifted
    many = "No figure has" if not drifted else "A figure has" if len(drifted) == 1 else f"{len(drifted)} figures have"
    end = f"{many} drifted from the room file."
    greens, week = _greens(review), f"The week of {WEEKDAY_NAMES[review.monday.weekday()]} {long_day(review.monday)}"
    if greens is None or greens.week is None:
        return f"{week} cannot be compared: {WHY_NOT}. {end}"
    held, late = greens.week, greens.lately
    crops = [crop.name for crop in review.scenario.crops if crop.name not in review.unknown] if review.unknown else []
    of = f" of {listed(crops)}" if crops else ""
    said = f"{week} gave {mass(held.seen)}{of}, {_than(held)} expected ({mass_range(held.low, held.high)})"
    if late is not None and not _is_inside(late):
        said += f", the last {counted(len(review.greens), 'week')} {mass(late.seen)}, {_than(late)} expected"
    return f"{said}. {end}"


def left_out(review: Review) -> str:
    """Why crops are left out of the greens of the week; "" where none is, or all are."""
    if not review.unknown or not review.greens or review.greens[-1][0] != review.monday:
        return ""
    return f"Left out: {listed(review.unknown)}, since {WHY_NOT}."


def _greens(review: Review) -> Reviewed | None:
    return next((each for each in review.figures if each.kind == "greens"), None)


def _than(held: Held) -> str:
    return "as" if _is_inside(held) else "less than" if held.seen < held.low else "more than"


def _is_inside(held: Held) -> bool:
    return held.low <= held.seen <= held.high


def why(review: Review, learned: Whole) -> str:
    """The surest drift, where it explains the greens, in learn's words too; what the whole record says, where they are
    not as expected, if it points the same way."""
    greens = _greens(review)
    late = greens.lately if greens is not None else None
    if not_explained(review):
        also = f"{found} " if (found := learned.explains(is_less=True)) else ""
        return f"What drifted does not explain it. {also}{CHECK}"
    if review.drifted:
        first = review.drifted[0]
        said = f"{drift_of(first, review.scenario)} {learned.says_of(first.key)}".strip()
        fewer = any(each.kind == "seedlings" and each.drifted and not each.drifted.is_above for each in review.drifted)
        return f"{said} {FEWER_BUT_MORE}" if fewer and late is not None and late.seen > late.high else said
    held, weeks = off(review)
    if held is None:
        if learned.told:
            return f"None of the {review.watched} figures watched has moved in these weeks."
        return f"All {review.watched} figures watched are where the room file has them."
    is_less, gap = held.seen < held.low, abs(held.seen - (held.low + held.high) / 2.0) / weeks
    found = learned.explains(is_less, LEAST_EXPLAINED * gap) or "Nothing on record tells why."
    lost = next((each.lately if weeks > 1 else each.week for each in review.figures if each.kind == "losses"), None)
    if not is_less or lost is None or lost.seen <= lost.high:
        return found
    return f"{found} {number(lost.seen)} plants were lost, {number(lost.low)} to {number(lost.high)} were expected."


def off(review: Review) -> tuple[Held | None, int]:
    """The greens that are not as expected, of the weeks up to this one or else of this week, and how many weeks."""
    greens = _greens(review)
    for held, weeks in ((greens.lately, review.lately), (greens.week, 1)) if greens is not None else ():
        if held is not None and not _is_inside(held):
            return held, weeks
    return None, 0


def is_short(review: Review) -> bool:
    """Whether greens are missing beyond chance: of the weeks up to this one by twice what the range allows, which
    happens once in some two hundred reviews, or of them and of this week too."""
    greens = _greens(review)
    late, week = (greens.lately, greens.week) if greens is not None else (None, None)
    if late is None or late.seen >= late.low:
        return False
    return late.seen < 2.0 * late.low - (late.low + late.high) / 2.0 or (week is not None and week.seen < week.low)


def not_explained(review: Review) -> bool:
    """Whether fewer greens came than expected, and what drifted brings less than `LEAST_EXPLAINED` of it, as tried."""
    greens = _greens(review)
    late = greens.lately if greens is not None else None
    if late is None or review.offer is None or late.seen >= late.low:
        return False
    missing = ((late.low + late.high) / 2.0 - late.seen) * AHEAD_WEEKS / review.lately
    return -review.offer.kg[0] < LEAST_EXPLAINED * missing


def advice(review: Review, learned: Whole) -> list[str]:
    """What the room file would be for what has drifted, tried, or what the whole record says; what makes up for it."""
    said = [made for each in review.drifted[:1] if (made := make_up(each))]
    short = is_short(review) and (not said or not_explained(review))
    if short:
        said = [LOOK]
    if review.offer is not None:
        forecast = f"{offered(review.offer)} It changes what is forecast, not what grows."
        return [f"{forecast} Take it in: `growsim keep ROOM {CHANGE_FILE}`.", *said]
    if not said:
        said = ["Nothing new to do this week." if learned.told else "Nothing to do this week."]
    if learned.headline and not short:  # what it says of the greens explains other weeks
        which = " ".join(sentence for _, sentence, _, _ in learned.told[:MOST_NAMED])
        take = f" {which} `growsim learn` writes it as a change of your room." if learned.told else ""
        said.append(f"{learned.headline}{take}")
    return said if review.drifted else [" ".join(said)]


def offered(offer: Offer) -> str:
    """ "With the record's figures eight weeks bring 2.1 kg less (1.4 to 2.8 kg); orders of basil are less sure than
    thought." """
    mean, low, high = offer.kg
    if low > 0 or high < 0:
        least, most = sorted((abs(low), abs(high)))
        kg = f"bring {mass(abs(mean))} {'more' if mean > 0 else 'less'} ({mass_range(least, most)})"
    else:
        kg = f"bring as much, give or take {mass(max(abs(low), abs(high)))}"
    crops = list(dict.fromkeys(each.crop for each in offer.at_risk))
    risk = "no order more is then at risk" if not crops else f"orders of {listed(crops)} are less sure than thought"
    return f"With the record's figures the next eight weeks {kg}; {risk}."


def at_risk(offer: Offer) -> list[str]:
    """Orders that are at risk with what is offered and were not without, a partner and crop a sentence."""
    found: dict[tuple[str, str], list[Delivery]] = {}
    for each in offer.at_risk:
        found.setdefault((each.partner, each.crop), []).append(each)
    return [
        f"{partner}, {crop}: at risk on {listed([long_day(each.date) for each in due])}."
        for (partner, crop), due in found.items()
    ]


def cannot_tell(figure: Reviewed) -> str:
    """What so short a record cannot tell of a machine; "" where it can."""
    if figure.kind != "failures" or figure.tells <= 1 or figure.drifted is not None:
        return ""
    return (
        f"{upper_first(BY_KEY[figure.what].label)}: that it fails twice as often shows, eight times in ten, only after "
        f"{number(math.ceil(figure.tells))} years of record. `growsim learn` counts them all."
    )


def drift_of(figure: Reviewed, scenario: Scenario) -> str:
    """ "Basil cells with a seedling: 84% since 5 May, not 91 to 98%, as 80% of seeds would make." """
    drifted = figure.drifted
    assert drifted is not None
    seeds = ""
    if figure.kind == "seedlings":
        share = on_paper.crops_by_name(scenario)[figure.what].germination_fraction.expected()
        seeds = f", as {percent(share)} of seeds would make"
    seen, since = _seen(figure, drifted.seen), long_day(drifted.since)
    return f"{upper_first(label(figure))}: {seen} since {since}, not {_expected(figure, drifted.seen)}{seeds}."


def make_up(figure: Reviewed) -> str:
    """By how much more, or less, of what a drift is made up for; "" where there is nothing to make up for."""
    drifted = figure.drifted
    assert drifted is not None
    held = drifted.seen
    expected = (held.low + held.high) / 2.0
    if figure.kind == "failures":
        return f"{upper_first(BY_KEY[figure.what].label)}: `growsim outage` says which backup is worth buying."
    share = held.seen / expected - 1.0 if figure.kind == "minutes" else expected / max(held.seen, 1.0) - 1.0
    by, less = percent(abs(share)), "less" if figure.kind == "minutes" else "fewer"
    much = f"{by} {'more' if share > 0 else less}"
    if figure.kind == "minutes":
        return f"Plan {much} time for {TASKS[figure.what].doing}."
    if figure.kind == "people":
        return "" if share < 0 else f"Sign up {much} people, to have as many come as planned."
    return f"Sow {much} cells of {figure.what}, to have as many seedlings as planned."


def label(figure: Reviewed) -> str:
    """What a figure is called."""
    if figure.kind == "seedlings":
        return f"{figure.what} cells with a seedling"
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


def is_on_page(figure: Reviewed) -> bool:
    """Whether a figure stands on the page of the answer: all but losses, minutes and machines as expected."""
    if figure.drifted is not None or figure.lately is None:
        return figure.drifted is not None
    return figure.lately.seen > 0 if figure.kind == "failures" else figure.kind not in ("losses", "minutes")


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
    return AnswerTable("The week, held against the room file", columns, rows, first="on record")


def _head(figure: Reviewed) -> str:
    since = "" if figure.drifted is None else f" (drifted since {long_day(figure.drifted.since)})"
    return f"{label(figure)}{since}"


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
        Cell(_expected(figure, held), (low + high) / 2.0, low, high, unit),
    )


def _expected(figure: Reviewed, held: Held) -> str:
    scale = 1.0 / held.of if figure.kind in SHARES and held.of else 1.0
    low, high = held.low * scale, held.high * scale
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
        f"Ranges hold eight in ten such weeks. Chance alone names a figure about once in {1 / FALSE_ALARMS:.0f} years"
    )
    years = [each.drifted.years for each in review.drifted if each.drifted is not None]
    here = f"; the first one here, less often than once in {number(float(f'{years[0]:.1g}'))}" if years else ""
    return f"{said}{here}. {left_out(review)}".strip()


def mass_axis() -> str:
    """The unit along a mass axis."""
    return units.unit("kg")


def week_name(monday: dt.date) -> str:
    """Of a week, below its bar."""
    return f"{monday.day} {monday:%b}"
