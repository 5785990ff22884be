"""The part of a report that shows what a tenth more of each thing would bring."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report import figures
from growsim.report.compare import figures as figures_compare
from growsim.report.compare.tables import tenths as table_of
from growsim.report.page import Block, Picture, Section, Text
from growsim.report.words import is_a_year, listed, mass, plus, rehearsals, sizes
from growsim.study.pay_back import KG
from growsim.study.tenths import HoldsBack, TenthGain
from growsim.study.verdicts import NOISE
from growsim.units import pounds

if TYPE_CHECKING:
    from growsim.study.tenths import HoldsBack

# --- What a tenth more of each thing brings: the sentence, and its entry in summary.json.


def sentence(found: HoldsBack, days: int, *, when: str = "today") -> str:
    """What holds the room back, by what a tenth more would bring. when: "today" or "after the change"."""
    years = rehearsals(found.replications, days)
    first = found.first
    harm = [gain for gain in found.gains if gain.gain.high is not None and gain.gain.high < -NOISE]
    then = [gain for gain in found.gains if gain.is_more and gain not in first]
    if not first:
        parts = [f"{_upper(when)}, in {years}, a tenth more of no one thing brings more greens for certain"]
        if found.gains and found.gains[0].gain.mean > NOISE:
            best = found.gains[0]
            parts.append(f"The likeliest is {best.what}: {_gain(best)}")
    else:
        best = first[0]
        words = f"{_upper(when)} the room is held back most by {best.what}: a tenth more would bring {_gain(best)}"
        if len(first) > 1:
            rivals = listed([gain.what for gain in first[1:]], "or")
            words += f", which cannot be told in {years} from what a tenth more {rivals} brings"
        parts = [words]
    if then:
        parts.append(f"Then come {listed([f'{gain.what} ({mass(gain.gain.mean)})' for gain in then])}")
    if harm:
        parts.append(f"A tenth more {listed([gain.what for gain in harm], 'or')} would bring less")
    others = len(found.gains) - len(first) - len(then) - len(harm)
    if first and others:
        noun = "years" if is_a_year(days) else "rehearsals"
        parts.append(f"A tenth more of anything else makes no difference that shows in {found.replications} {noun}")
    return ". ".join(parts) + "."


def _gain(gain: TenthGain) -> str:
    words, low, high = f"{mass(gain.gain.mean)} a week more", gain.gain.low, gain.gain.high
    if low is None or high is None:
        return words
    if low >= 0:
        return f"{words}, range {sizes(KG, low, high, '')}"
    return f"{words}, range {plus(low, 2)} to {plus(high, 2)} kg, {plus(pounds(low), 2)} to {plus(pounds(high), 2)} lb"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def tenths_entry(found: HoldsBack, days: int, *, when: str = "today") -> dict[str, Any]:
    """The ranking as summary.json states it; kilograms a week."""
    return {
        "sentence": sentence(found, days, when=when),
        "replications": found.replications,
        "gains": [{**asdict(gain), "is_more": gain.is_more} for gain in found.gains],
    }


HEADING = "What holds the room back: a tenth more of each thing"


def tenths_section(ranked: Mapping[str, HoldsBack], days: int, folder: Path) -> Section:
    """Sentence, figure and table for each room; `ranked` is by when: "today", "with one more rack"."""
    blocks: list[Block] = []
    for place, (when, found) in enumerate(ranked.items()):
        name = "tenths" if place == 0 else f"tenths-{place}"
        blocks.append(Text(sentence(found, days, when=when)))
        caption = (
            f"What a tenth more of each thing would bring, {when}, from {rehearsals(found.replications, days)} of "
            f"shared luck. Bars: the average; lines: its range. For comparison: a tenth of the greens handed out is "
            f"{mass(found.kg_per_week / 10)} a week."
        )
        svg = figures.save(figures_compare.tenths(found, f"A tenth more of each thing, {when}"), folder, name)
        blocks.append(Picture(name, caption, figures.for_page(svg, name, caption), (table_of(found),)))
    return Section("tenths", HEADING, tuple(blocks))
