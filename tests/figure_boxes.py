"""What is wrong with a figure, read back from the boxes of its texts: overlaps, rules through texts, texts cut off or
too small.

Figures are checked as they are saved: `checked` wraps the house's own saving.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from typing import Any

from matplotlib.figure import Figure
from matplotlib.text import Text

from growsim.report.figures import styled

PHONE_PX, SIDES_PX, LEAST_PX = 390, 2 * 12.8, 11  # a small phone's window, the page's margins, common practice
POINTS = 72
FILES = (".svg", ".png", "-narrow.svg")  # of a figure, each after its name


def faults_of_figure(figure: Figure) -> list[str]:
    """One sentence each: texts that overlap, a rule through a text, one that runs off the sheet or is too small."""
    with styled():  # marks of an axis are made anew as it is drawn
        figure.draw_without_rendering()  # what was saved last may have had another size
    sheet, hidden = figure.bbox, _not_drawn(figure)
    texts = [
        each for each in figure.findobj(Text) if each.get_visible() and each.get_text().strip() and each not in hidden
    ]
    boxes = [(each, each.get_window_extent()) for each in texts]
    found = [
        f"{one.get_text()!r} overlaps {other.get_text()!r}"
        for (one, here), (other, there) in combinations(boxes, 2)
        if _area(here, there) > 2.0
    ]
    rules = [line.get_window_extent() for axes in figure.axes if not axes.axison for line in axes.lines]
    found += [
        f"a rule runs through {each.get_text()!r}"
        for each, box in boxes
        if any(box.y0 + 1 < rule.y0 < box.y1 - 1 and rule.x0 < box.x1 and box.x0 < rule.x1 for rule in rules)
    ]
    found += [
        f"{each.get_text()!r} runs off the sheet"
        for each, box in boxes
        if box.x0 < -1 or box.y0 < -1 or box.x1 > sheet.x1 + 1 or box.y1 > sheet.y1 + 1
    ]
    if figure.get_figwidth() < 5:
        scale = (PHONE_PX - SIDES_PX) / (POINTS * figure.get_figwidth())
        found += [
            f"{each.get_text()!r} is {each.get_fontsize() * scale:.1f} px high on a phone"
            for each in texts
            if each.get_fontsize() * scale < LEAST_PX
        ]
    return found


def _not_drawn(figure: Figure) -> set[Any]:
    """Texts that a figure keeps and does not draw: of marks beyond the ends of an axis, of axes switched off."""
    hidden: set[Any] = set()
    for axes in figure.axes:
        if not axes.get_visible():
            hidden |= set(axes.findobj(Text))
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            near = 1e-9 * (high - low)
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                if not (axes.axison and low - near <= tick.get_loc() <= high + near):
                    hidden |= {tick.label1, tick.label2}
    return hidden


def _area(one: Any, other: Any) -> float:
    """Overlap in square pixels, but for a pixel of air that letters leave in their boxes."""
    wide = min(one.x1, other.x1) - max(one.x0, other.x0) - 1
    high = min(one.y1, other.y1) - max(one.y0, other.y0) - 1
    return max(0.0, wide) * max(0.0, high)


def checked(save: Callable[[Figure, Path, str], str]) -> Callable[[Figure, Path, str], str]:
    """Saving that fails on a faulty figure."""

    def save_and_look(figure: Figure, folder: Path, name: str) -> str:
        svg = save(figure, folder, name)
        found = faults_of_figure(figure)
        assert found == [], f"{name}: {'; '.join(found[:6])}"
        return svg

    return save_and_look
