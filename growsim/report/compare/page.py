"""The page of a comparison: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, holds_back, summaries
from growsim.report.compare import figures as drawn_as
from growsim.report.compare import tables, words
from growsim.report.compare import why as reasons
from growsim.report.frame import Answer, model_section, picture
from growsim.report.page import Behind, Block, Bullets, Caution, Grid, Page, Section, Text
from growsim.report.provenance import sources_given
from growsim.report.words import listed, rehearsals, short_date

if TYPE_CHECKING:
    from growsim.study.compare.answer import Changed, Comparison

MOST_NAMED = 3  # changes in the line below the title
CAPTION = (
    "Each mark is the average difference from today's room, the line its range. A line across zero may be chance, "
    "unless it stays within the shaded strip, which is too little to matter."
)


def compose(comparison: Comparison, answer: Answer, figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario, plan = comparison.scenario, comparison.plan
    last = summaries.last_day(scenario, plan.days)
    titles = listed([changed.title for changed in comparison.changes])
    few = len(comparison.changes) <= MOST_NAMED
    return answer.page(
        (
            f"Today's room and {titles if few else 'each change'} in the same "
            f"{rehearsals(len(comparison.outcomes), plan.days)}, from "
            f"{short_date(scenario.room.start_date)} to {short_date(last)}"
        ),
        tuple(
            section
            for section in (
                _side_by_side(comparison, figure_folder),
                *(_one_change(changed, comparison) for changed in comparison.changes),
                _what_holds_back(comparison),
                _how_sure(comparison),
                model_section(
                    "A crop keeps its pace of growth through a change of light, air, spacing or timetable. It is "
                    "found once, from its usual days to harvest and weight today."
                ),
            )
            if section is not None
        ),
        title="" if len(comparison.changes) > 1 else titles,
        shows=picture(
            lambda: drawn_as.headlines(comparison, words.MOST_CHANGES), figure_folder, "differences", CAPTION
        ),
        facts=[
            (f"CHANGE file {changed.alternative.change.path.name}, SHA-256", changed.alternative.change.sha256)
            for changed in comparison.changes
        ],
        sources=_sources(comparison),
    )


def _side_by_side(comparison: Comparison, folder: Path) -> Section | None:
    """The changes for which the page of the answer has no place."""
    if len(comparison.changes) <= words.MOST_CHANGES:
        return None
    every = words.every_change(comparison).plain()
    shown = picture(
        lambda: drawn_as.headlines(comparison, len(comparison.changes)), folder, "all-differences", CAPTION, every
    )
    return Section("changes", "What each change brings", (shown,))


def _one_change(changed: Changed, comparison: Comparison) -> Section:
    alternative, about = changed.alternative, changed.alternative.change.about
    blocks: list[Block] = [Text(note) for note in (about.note,) if note]
    brings = words.verdict(changed, comparison) if len(comparison.changes) > 1 else ""  # of one alone the page says it
    said = (brings, reasons.why(changed, comparison), reasons.pay_back(changed, comparison))
    blocks += [Text(each) for each in said if each]
    if alternative.found_anew:
        blocks.append(
            Text(
                f"How fast {listed(alternative.found_anew)} grows was found in the changed room, from its own typical "
                f"days and mass. All other crops keep the pace they have today."
            )
        )
    if alternative.warnings:
        blocks.append(Text("Possible in the changed room, but surely not meant:"))
        blocks.append(Bullets(tuple(f"{each.key}: {each.problem}; {each.remedy}." for each in alternative.warnings)))
    changes = tables.what_it_changes(changed, comparison)
    blocks += [Grid(changes)] if changes.rows else [Text("Every key of the file stands in today's room already.")]
    touched = cautions.beside_tables(alternative.change.tables, changed.scenario.room.region)
    if touched:
        blocks.append(Caution(touched))
    blocks.append(Behind(tables.every_figure(changed, comparison)))
    return Section(f"change-{_anchor(changed.name)}", changed.title, tuple(blocks))


def _what_holds_back(comparison: Comparison) -> Section | None:
    """After the best change, or today where none is worth making."""
    held, best = comparison.held, comparison.held_with
    if held is None:
        return None
    room, then = (comparison.scenario, "today") if best is None else (best.scenario, f"with {best.title}")
    section = holds_back.section(held, room, comparison.plan.days)
    return replace(section, heading=f"{section.heading}, {then}")


def _how_sure(comparison: Comparison) -> Section:
    blocks: list[Block] = [Bullets(words.how_decided(comparison))]
    return Section("how-sure", "How sure this is", tuple(blocks))


def _sources(comparison: Comparison) -> list[str]:
    """Of the figures of the room, of each changed room, and of what each change costs."""
    named = sources_given(comparison.scenario)
    for changed in comparison.changes:
        about = changed.alternative.change.about
        named |= sources_given(changed.scenario) | ({about.source: None} if about.source else {})
    return list(named)


def _anchor(name: str) -> str:
    return "".join(letter if letter.isascii() and letter.isalnum() else "-" for letter in name.lower())
