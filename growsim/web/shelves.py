"""The shelves of a room, seen from the front: one picture for each rack, a row for each shelf, a box for each slot.

What stands in a box is said by its letters and by the word below them, not by its color alone. Boxes are laid out by
numbers alone and all text is escaped. A shelf too long for a phone is drawn in several lines.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count

from markupsafe import Markup, escape

SLOT_WIDTH, SLOT_HEIGHT, GAP = 54, 34, 3
MOST_IN_LINE = 6  # so many fit a phone 390 px wide
NAME_HEIGHT, SHELF_GAP, EDGE = 18, 10, 6
COLORS = 7  # then they begin again; the letters tell them apart
Told = Callable[[int, int], str]


@dataclass(frozen=True)
class Shelf:
    """A shelf: the rack it is part of, what it is called, and how many slots it has."""

    rack: str
    label: str
    slots: int


@dataclass(frozen=True)
class Standing:
    """What a slot holds: the class of its color, letters, the word below them; a corner marked where work waits."""

    color: str
    letters: str
    word: str
    is_marked: bool = False


@dataclass(frozen=True)
class RackDrawn:
    """A rack as a picture. used, slots: how full it is."""

    name: str
    svg: Markup
    used: int
    slots: int


def codes_of(names: Sequence[str]) -> dict[str, str]:
    """Two letters for each name, no two alike: butterhead Bu, basil Ba."""
    codes: dict[str, str] = {}
    for name in names:
        letters = [letter for letter in name if letter.isalnum()] or ["x"]
        pairs = [letters[0].upper() + other.lower() for other in [*letters[1:], *"123456789"]]
        numbers = (str(number) for number in count(1))
        codes[name] = next(code for code in chain(pairs, numbers) if code not in codes.values())
    return codes


def color_of(names: Sequence[str], name: str) -> str:
    """The class that colors one of the names."""
    return f"c{names.index(name) % COLORS}" if name in names else "c7"


def racks_of(shelves: Sequence[Shelf], standing: Mapping[tuple[int, int], Standing], told: Told) -> list[RackDrawn]:
    """Every rack, in the order of its first shelf. standing: by shelf and slot, both counted from 0. told: says of a
    rack, from its slots in use and its slots in all, what the picture shows."""
    return [
        _rack(name, [(i, shelf) for i, shelf in enumerate(shelves) if shelf.rack == name], standing, told)
        for name in dict.fromkeys(shelf.rack for shelf in shelves)
    ]


def _rack(
    name: str, shelves: Sequence[tuple[int, Shelf]], standing: Mapping[tuple[int, int], Standing], told: Told
) -> RackDrawn:
    most = max([1, *(_in_line(shelf.slots) for _, shelf in shelves)])
    width = 2 * EDGE + most * (SLOT_WIDTH + GAP) - GAP
    parts: list[str] = []
    top = 0
    for index, shelf in shelves:
        parts.append(f'<text class="s-name" x="{EDGE}" y="{top + 12}">{escape(shelf.label)}</text>')
        top += NAME_HEIGHT
        step = _in_line(shelf.slots)
        for begin in range(0, shelf.slots, step):
            for slot in range(begin, min(begin + step, shelf.slots)):
                x = EDGE + (slot - begin) * (SLOT_WIDTH + GAP)
                parts.append(_slot(x, top, standing.get((index, slot))))
            top += SLOT_HEIGHT + GAP
        parts.append(f'<path class="s-board" d="M1 {top}h{width - 2}"/>')
        top += SHELF_GAP
    slots = sum(shelf.slots for _, shelf in shelves)
    used = sum((index, slot) in standing for index, shelf in shelves for slot in range(shelf.slots))
    label = escape(f"Rack {name}: {told(used, slots)}")
    head = f'<svg viewBox="0 0 {width} {top}" width="{width}" height="{top}" role="img" aria-label="{label}">'
    return RackDrawn(name, Markup("".join((head, *parts, "</svg>"))), used, slots)


def _in_line(slots: int) -> int:
    """How many slots of a shelf are drawn in a line, all lines alike."""
    return max(1, -(-slots // -(-slots // MOST_IN_LINE))) if slots else 1


def _slot(x: int, y: int, one: Standing | None) -> str:
    """A box; everything in it that a person wrote is escaped."""
    place = f'x="{x}" y="{y}" width="{SLOT_WIDTH}" height="{SLOT_HEIGHT}" rx="3"'
    if one is None:
        return f'<rect class="s-free" {place}/>'
    middle = x + SLOT_WIDTH // 2
    drawn = f'<rect class="s-tray {one.color}" {place}/>'
    if one.letters:
        drawn += f'<text class="s-label" x="{middle}" y="{y + 14}">{escape(one.letters)}</text>'
    word = y + (28 if one.letters else 21)
    drawn += f'<text class="s-label s-word" x="{middle}" y="{word}">{escape(one.word)}</text>'
    if one.is_marked:
        drawn += f'<path class="s-flag" d="M{x + SLOT_WIDTH - 10} {y + 1}h9v9z"/>'
    return drawn
