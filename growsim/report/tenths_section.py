"""The part of a report that shows what a tenth more of each thing would bring."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import figures, figures_compare, tenths
from growsim.report.comparison_tables import tenths as table_of
from growsim.report.page import Block, Picture, Section, Text
from growsim.report.words import mass, rehearsals

if TYPE_CHECKING:
    from growsim.study.holds_back import HoldsBack

HEADING = "What holds the room back: a tenth more of each thing"


def tenths_section(ranked: Mapping[str, HoldsBack], days: int, folder: Path) -> Section:
    """Sentence, figure and table for each room; `ranked` is by when: "today", "with one more rack"."""
    blocks: list[Block] = []
    for place, (when, found) in enumerate(ranked.items()):
        name = "tenths" if place == 0 else f"tenths-{place}"
        blocks.append(Text(tenths.sentence(found, days, when=when)))
        caption = (
            f"What a tenth more of each thing would bring, {when}, from {rehearsals(found.replications, days)} of "
            f"shared luck. Bars: the average; lines: its range. For comparison: a tenth of the greens handed out is "
            f"{mass(found.kg_per_week / 10)} a week."
        )
        svg = figures.save(figures_compare.tenths(found, f"A tenth more of each thing, {when}"), folder, name)
        blocks.append(Picture(name, caption, figures.for_page(svg, name, caption), (table_of(found),)))
    return Section("tenths", HEADING, tuple(blocks))
