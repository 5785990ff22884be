"""The report of `growsim review`: its page, its summary, its tables and figure, written in one go."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report.figures import BAND, INK, VERMILION, drawing, in_masses, styled
from growsim.report.frame import Answer, picture
from growsim.report.page import Bullets, Grid, Page, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.review import words
from growsim.report.review.words import NOTHING_LEARNED, Whole
from growsim.report.words import counted, day_and_date, listed, long_day, number
from growsim.run.writing import write_text
from growsim.scenario.change import change_text
from growsim.study.review.drift import OFFERED_BY_CHANCE
from growsim.study.review.question import LEAD_IN_WEEKS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from growsim.study.review.offered import Offer
    from growsim.study.review.question import Review

HALF = 0.34  # half the width of a bar, in weeks


def write_review(
    review: Review, out: Path, *, provenance: Provenance, replace: bool = False, learned: Whole = NOTHING_LEARNED
) -> dict[str, Any]:
    """Write report.html, summary.json, answer.csv and the figure into `out`, all or nothing. Gives the summary.

    learned: what `learn` says of the same record, so that both say the same. Raises OutputError where `out` exists
    (unless `replace`) or cannot be written.
    """
    answer = Answer(
        provenance,
        review.scenario,
        review.seed,
        review.replications,
        7 * review.lately,
        0,
        front=words.front(review, learned),
    )
    figures = [
        {**asdict(each), "label": words.label(each), "drifted": None if each.drifted is None else {
            **asdict(each.drifted), "since": each.drifted.since.isoformat(),
            "days": [day.isoformat() for day in each.drifted.days],
        }}
        for each in review.figures
    ]  # fmt: skip
    offer = None if review.offer is None else {
        "keys": list(review.offer.keys), "first_day": review.offer.first_day.isoformat(),
        "kg": dict(zip(("mean", "low", "high"), review.offer.kg, strict=True)), "kg_without": review.offer.kg_without,
        "at_risk": [{"partner": each.partner, "crop": each.crop, "date": each.date.isoformat(),
                     "chance": each.chance.share} for each in review.offer.at_risk],
    }  # fmt: skip
    own = {
        "offer": offer,
        "change_file": words.CHANGE_FILE if offer else None,
        "week_from": review.monday.isoformat(),
        "weeks_watched": review.weeks,
        "figures": figures,
    }
    summary = answer.summary({}, **own)

    def files(folder: Path) -> None:
        if review.offer is not None:
            write_text(folder / words.CHANGE_FILE, offered_text(review, review.offer))

    return answer.write(out, summary, lambda folder: _page(review, answer, folder), files, replace=replace)


def offered_text(review: Review, offer: Offer) -> str:
    """The CHANGE file."""
    return change_text(
        offer.tables,
        {"name": f"as the record has it, week of {review.monday.isoformat()}", "note": words.offered(offer)},
        (
            f"What of {review.scenario.room.name} has drifted, as the record has it: {', '.join(offer.keys)}.",
            f"A CHANGE file: `growsim compare ROOM {words.CHANGE_FILE}`, `growsim keep ROOM {words.CHANGE_FILE}`.",
        ),
    )


def _page(review: Review, answer: Answer, folder: Path) -> Page:
    shows = None
    if review.greens:
        caption = (
            "Bar: what eight in ten such weeks bring of the room as described, from what then stood. Dot: what is on "
            "record, in another color where it lies outside, as two in ten do by chance."
        )
        shows = picture(lambda: _weeks(review), folder, "weeks", caption)
    return answer.page(
        f"The week of {day_and_date(review.monday)} and the {counted(review.weeks, 'week')} on record up to it",
        (_drifts(review), _others(review), _how(review)),
        shows=shows,
        facts=(("weeks watched for drifts", number(review.weeks)), ("figures watched", number(review.watched))),
    )


def _drifts(review: Review) -> Section:
    said = [words.drift_of(each, review.scenario) for each in review.drifted]
    text = "No figure has drifted from the room file."
    said += [f"Last sown {listed([long_day(day) for day in each.drifted.days[-4:]])}."
             for each in review.drifted if each.drifted is not None and each.drifted.days]  # fmt: skip
    if said:
        keys = ", ".join(each.key for each in review.drifted)
        said.append(f"Of the room file these would explain it: {keys}.")
        said += _offer(review)
    said += [sentence for each in review.figures if (sentence := words.cannot_tell(each))]
    return Section("drifts", "What has drifted", (Bullets(tuple(said)) if review.drifted else Bullets((text, *said)),))


def _offer(review: Review) -> list[str]:
    """What is offered and what it brings; or why nothing is."""
    offer = review.offer
    if offer is None:
        return ["Chance may bring as much, so no change of the room file is offered yet."]
    where = "what stood on the shelves" if offer.from_shelves else "a room in which the plan has been running"
    return [
        f"{words.CHANGE_FILE} sets {listed(offer.keys)} as the record has them since then, with their ranges.",
        f"Tried from {long_day(offer.first_day)} on in the same {counted(offer.futures, 'rehearsal')}, from {where}: "
        f"{words.offered(offer)}",
        *words.at_risk(offer),
    ]


def _others(review: Review) -> Section:
    table = words.table(review, in_full=True).plain()
    nothing = Text("There is nothing else on record.")
    return Section("others", "Losses, minutes and machines", (Grid(table),) if table.rows else (nothing,))


def _how(review: Review) -> Section:
    return Section("how", "How this is found", (Bullets((
        "Greens and orders of a week are rehearsed from what stood on its Monday by the record and the counts, "
        f"{counted(review.replications, 'time')} each. They are shown, and not watched for drifts.",
        f"Losses are rehearsed in one go from {LEAD_IN_WEEKS} weeks before, since what goes wrong unseen comes about "
        "in time, such as trays not washed. A shorter record shows none. In a table of your own they count on the day "
        "of harvest.",
        "Seedlings, people, minutes and failures are held against made-up years of the room as described, for the very "
        "cells, sign-ups, jobs and weeks on record. Each week's place among them is added up, above and below "
        "(cumulative sums: Page 1954; Hawkins & Olwell 1998).",
        "How high a sum must be is found in 2,000 made-up years in which nothing changed. A change of the room file is "
        f"offered for sums that chance brings in one year of {1 / OFFERED_BY_CHANCE:.0f}.",
        "Machines are watched only where a table of faults is kept.",
    )),))  # fmt: skip


def _weeks(review: Review) -> Figure:
    """A bar for each week from low to high, and a dot for what is on record."""
    with styled():
        figure, axes = drawing(2.6)
        for place, (_, held) in enumerate(review.greens):
            axes.bar(place, held.high - held.low, bottom=held.low, width=2 * HALF, color=BAND, edgecolor=INK,
                     linewidth=0.6)  # fmt: skip
            inside = held.low <= held.seen <= held.high
            axes.plot([place], [held.seen], "o", color=INK if inside else VERMILION, markersize=7)
        axes.set_xticks(range(len(review.greens)), [words.week_name(monday) for monday, _ in review.greens])
        axes.set_ylim(bottom=0)
        axes.grid(axis="y")
        axes.set_ylabel(f"{words.mass_axis()} harvested")
        in_masses(axes, "y")
    return figure
