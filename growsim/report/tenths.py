"""What a tenth more of each thing brings: the sentence, its entry in summary.json, and the part of a report that shows
it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.report import figures
from growsim.report.frame import picture
from growsim.report.page import Block, Section, Text
from growsim.report.tables import Table
from growsim.report.words import as_difference, is_a_year, listed, mass, mass_plus, percent, plus, rehearsals, sizes
from growsim.study.pay_back import KG
from growsim.study.tenths import TenthGain, TenthsMore
from growsim.study.verdicts import NOISE

if TYPE_CHECKING:
    from matplotlib.figure import Figure

HEADING = "What holds the room back: a tenth more of each thing"


def sentence(found: TenthsMore, days: int, *, when: str = "today") -> str:
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
    return f"{words}, range {mass_plus(low, 2)} to {mass_plus(high, 2)} {units.unit('kg')}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def tenths_entry(found: TenthsMore, days: int, *, when: str = "today") -> dict[str, Any]:
    """The ranking as summary.json states it; kilograms a week."""
    return {
        "sentence": sentence(found, days, when=when),
        "replications": found.replications,
        "gains": [{**asdict(gain), "is_more": gain.is_more} for gain in found.gains],
    }


def tenths_section(ranked: Mapping[str, TenthsMore], days: int, folder: Path) -> Section:
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
        drawn = _picture(found, f"A tenth more of each thing, {when}")
        blocks.append(picture(drawn, folder, name, caption, _table(found)))
    return Section("tenths", HEADING, tuple(blocks))


def _kg_week(value: float) -> str:
    return as_difference(KG, value, "")


def _table(found: TenthsMore) -> Table:
    """What a tenth more of each thing brings, ranked."""
    rows = tuple(
        (
            gain.what + (f" ({gain.added})" if gain.added else ""),
            percent(gain.share_added, 1).replace(".0%", "%"),
            _kg_week(gain.gain.mean),
            f"{_kg_week(gain.gain.low)} to {_kg_week(gain.gain.high)}"
            if gain.gain.low is not None and gain.gain.high is not None
            else "–",
            _kg_week(gain.to_partners.mean),
        )
        for gain in found.gains
    )
    return Table(
        f"A tenth more of each thing ({units.unit('kg')} a week)",
        ("a tenth more", "really added", "handed out", "range (all at once, 95%)", "of it to partners"),
        rows,
        "Slots and cells come whole; where that is not quite a tenth, the gain is brought to a tenth in proportion. A "
        "tenth more hours means the same people for a tenth longer; more slots come with the light over them.",
    )


def _picture(found: TenthsMore, title: str) -> Figure:
    """What a tenth more of each thing brings, ranked: bars with the range of the average."""
    with figures.styled():
        figure, axes = figures.drawing(1.75 + 0.34 * max(1, len(found.gains)))
        for height, each in enumerate(found.gains):
            gain = each.gain
            color, hatch = (figures.BLUE, "") if each.is_more else (figures.PAPER, "")
            if gain.high is not None and gain.high < 0:
                color, hatch = figures.VERMILION, "//"
            axes.barh(height, gain.mean, height=0.62, color=color, hatch=hatch, edgecolor=figures.INK, linewidth=0.8)
            if gain.low is not None and gain.high is not None:
                axes.plot([gain.low, gain.high], [height, height], color=figures.INK, linewidth=1.3)
            end = gain.mean if gain.high is None else max(gain.mean, gain.high)
            figures.beside(axes, max(0.0, end), height, plus(gain.mean, 2 if abs(gain.mean) < 0.95 else 1))
        axes.axvline(0, color=figures.INK, linewidth=1.2)
        axes.set_yticks(range(len(found.gains)), labels=[each.what for each in found.gains])
        axes.set_ylim(len(found.gains) - 0.4, -0.6)
        axes.margins(x=0.12)
        axes.grid(axis="x")
        axes.set_xlabel(
            figures.in_masses(axes, "x", "handed out a week; filled bars: more (or, hatched, less) for certain")
        )
        axes.set_title(title, pad=10)
    return figure
