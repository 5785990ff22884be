"""The page of what was learned: which figure and table stands where, and what is said beside it."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions
from growsim.report.frame import Answer, picture
from growsim.report.learn import figures as figures_learn
from growsim.report.learn import tables
from growsim.report.learn.lead import GROUPS, first_effects
from growsim.report.learn.words import score_sentence
from growsim.report.page import Block, Bullets, Caution, Grid, Page, Picture, Section, Text
from growsim.report.words import counted, number, short_date, upper_first
from growsim.vocabulary.dangers import HARVEST

if TYPE_CHECKING:
    from growsim.study.learn.question import Learning

_HOW = {
    "seeds": "Counted from cells in which something germinated, cleared of how many seeds a cell had and of the room's "
    "warmth.",
    "days": "From the days on which sowings were harvested, and on which they were not harvested yet, on the room's "
    "own growth curve. It is the speed of growing: late work and full shelves come on top.",
    "mass": "From grams a plant at the harvest, led back on the growth curve to the room file's days, before trimming.",
    "losses": "From plants lost with the reason transplanting, over all moves together; shared out over the moves as "
    "the room file has it.",
    "people": "From shifts held. Months without records move with the others, but less surely.",
    "minutes": "For each unit, at a practiced pace. What varies from job to job stays in the room; what is not known "
    "of the "
    "mean is drawn once a rehearsed year.",
    "machines": "Failures in the hours run, those that have not failed counting with the hours they ran. Machines "
    "that the "
    "room file gives the same life are learned about together.",
    "mending": "From notice to repair: hours of repair where the room file has a spare on the shelf, else the days "
    "until a "
    "part is there.",
    "spreads": "How much one sowing differs from the next; drawn for every sowing. What the trays leave open (which "
    "lights they stood under, a second move that nobody wrote down) is not taken for sowings that differ.",
}


def compose(learning: Learning, answer: Answer, figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    drawn = _pictures(learning, figure_folder)
    first = first_effects(learning)[:1]
    shows = drawn.pop(first[0].figures[0].group, None) if first else None
    sections = [_effects(learning), _figures(learning, tuple(drawn.values()))]
    sections = [section for section in sections if section.blocks]
    if learning.forecast_check is not None:
        sections.append(_forecast_check(learning, figure_folder))
    sections += [_read(learning), _how_sure(learning)]
    return answer.page(
        (
            f"{counted(learning.records.rows_read, 'row')} of the room's own record, {short_date(learning.first)} to "
            f"{short_date(learning.last)}"
        ),
        sections,
        shows=shows,
        facts=[("record, SHA-256", learning.records.sha256)],
    )


def _effects(learning: Learning) -> Section:
    """What matters first: each figure by what it means a week."""
    table = tables.effects_table(learning)
    said = Text(
        "How much each learned figure matters: greens or hours a week more or less than the room file makes one "
        "expect. About: `growsim compare` with learned.toml rehearses all of them together."
    )
    return Section("effects", "What matters most", (said, Grid(table)) if table.rows else ())


def _pictures(learning: Learning, folder: Path) -> dict[str, Picture]:
    """Group -> its figures before and after, for every group that records speak of."""
    drawn = {}
    for group in GROUPS:
        here = [figure for figure in learning.figures if figure.group == group]
        if any(figure.records for figure in here):
            drawn[group] = picture(
                partial(figures_learn.before_and_after, here, group),
                folder,
                f"learned-{group}",
                f"{GROUPS[group]}. {_HOW[group]}",
                tables.figures_table(learning, group),
            )
    return drawn


def _figures(learning: Learning, drawn: tuple[Picture, ...]) -> Section:
    blocks: list[Block] = [
        Text(
            "Thin line and ring: what the room file says, with the doubt that is given to it. Thick line: with your "
            "record. Each line holds eight in ten. A diamond lies clear of the room file."
        ),
        *drawn,
    ]
    silent = [
        GROUPS[group].lower() for group in GROUPS if not any(f.records for f in learning.figures if f.group == group)
    ]
    if silent:
        blocks.append(Text(f"Nothing is written down, or not enough, to learn: {', '.join(silent)}."))
    if learning.not_learned:
        blocks.append(Bullets(tuple(f"Not learned, {what}: {why}." for what, why in learning.not_learned)))
    room = learning.before
    blocks.append(Caution(cautions.beside((*cautions.of_machines(room), *HARVEST), room.room.region)))
    return Section("figures", "Figure by figure", tuple(blocks))


def _forecast_check(learning: Learning, folder: Path) -> Section:
    held = learning.forecast_check
    assert held is not None
    blocks: list[Block] = [
        Text(
            f"Everything after {short_date(held.known_until)} was hidden, also from rows begun before. The room was "
            f"learned from the rest; {counted(held.lots, 'sowing')} stood on its shelves. It was rehearsed from there "
            f"{number(held.replications)} times with the room file's sowing plan."
        )
    ]
    for series in held.series:
        sentence = score_sentence(series)
        blocks.append(
            picture(
                partial(figures_learn.forecast_check, series), folder, f"forecast-check-{series.key.replace('_', '-')}",
                upper_first(sentence), tables.weeks_table(series),
            )
        )  # fmt: skip
    return Section("forecast-check", "The last weeks, forecast unseen", tuple(blocks))


def _read(learning: Learning) -> Section:
    blocks: list[Block] = [Grid(tables.read_table(learning))]
    for table in (tables.aside_table(learning), tables.odd_table(learning), tables.drift_table(learning)):
        if table.rows:
            blocks.append(Grid(table))
    if learning.records.not_read:
        blocks.append(Text(f"Not read, as no table of a record: {', '.join(learning.records.not_read)}."))
    return Section("read", "What was read, row by row", tuple(blocks))


def _how_sure(learning: Learning) -> Section:
    said = [
        "A range says how well a figure is known, not how much it varies from day to day. More records narrow it.",
        "What the room file says is the starting point. A range is taken half as wide again and counts for at most "
        "two records. A bare number is given a usual doubt; a named distribution is taken at its word.",
        "Every rehearsed year of a room with learned.toml draws its own figures from these ranges, once for the "
        "whole year.",
        *learning.notes,
    ]
    methods = list(dict.fromkeys(figure.method for figure in learning.figures if figure.records))
    return Section(
        "how-sure",
        "How sure this is",
        (Bullets(tuple(said)), Text("How it was worked out:"), Bullets(tuple(methods))),
    )
