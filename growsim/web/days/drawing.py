"""A day of the room, drawn: one picture for each rack, a row for each shelf, a box for each slot.

Color says the crop, and so do two letters in each box; a word below says how old the plants are or what they wait
for. Boxes are laid out by numbers alone and all text is escaped.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count
from typing import Any

from markupsafe import Markup, escape

from growsim.run.replay.day import STATES as MEANINGS

SLOT_WIDTH, SLOT_HEIGHT, GAP = 44, 34, 3
NAME_HEIGHT, SHELF_GAP, EDGE = 18, 8, 6
COLORS = 7  # then they begin again; the letters tell crops apart

# What a box says below its letters, and what that means. A task that is waited for is said by its name.
STATES = {
    state: ("12 d" if state == "growing" else state.removeprefix("to "), meaning) for state, meaning in MEANINGS.items()
}
_WITHOUT_PLANTS = ("to sow", "to wash")
_NO_CROP = {"kept": "c-kept", "to wash": "c-wash"}


@dataclass(frozen=True)
class RackDrawn:
    """A rack as a picture. used, slots: how full it is."""

    name: str
    svg: Markup
    used: int
    slots: int


def codes_of(crops: Sequence[str]) -> dict[str, str]:
    """Two letters for each crop, no two alike: butterhead Bu, basil Ba."""
    codes: dict[str, str] = {}
    for crop in crops:
        letters = [letter for letter in crop if letter.isalnum()] or ["x"]
        pairs = [letters[0].upper() + other.lower() for other in [*letters[1:], *"123456789"]]
        numbers = (str(number) for number in count(1))
        codes[crop] = next(code for code in chain(pairs, numbers) if code not in codes.values())
    return codes


def color_of(crops: Sequence[str], crop: str) -> str:
    """The class that colors a crop."""
    return f"c{crops.index(crop) % COLORS}" if crop in crops else "c7"


def says(trays: Mapping[str, Any]) -> str:
    """The word below the letters."""
    return f"{trays.get('days', 0)} d" if trays["state"] == "growing" else STATES[trays["state"]][0]


def racks_of(shelves: Sequence[Mapping[str, Any]], trays: Sequence[Mapping[str, Any]], crops: Sequence[str]) -> list[
    RackDrawn
]:  # fmt: skip
    """Every rack, in the order of the room file."""
    codes = codes_of(crops)
    return [
        _rack(name, [(i, shelf) for i, shelf in enumerate(shelves) if shelf["rack"] == name], trays, crops, codes)
        for name in dict.fromkeys(str(shelf["rack"]) for shelf in shelves)
    ]


def _rack(
    name: str,
    shelves: Sequence[tuple[int, Mapping[str, Any]]],
    trays: Sequence[Mapping[str, Any]],
    crops: Sequence[str],
    codes: Mapping[str, str],
) -> RackDrawn:
    most = max(int(shelf["slots"]) for _, shelf in shelves)
    width = 2 * EDGE + most * (SLOT_WIDTH + GAP) - GAP
    parts: list[str] = []
    top, used = 0, 0
    for index, shelf in shelves:
        held = {slot: one for one in trays if one["shelf"] == index for slot in one["slots"]}
        used += len(held)
        parts.append(f'<text class="s-name" x="{EDGE}" y="{top + 12}">{escape(shelf["label"])}</text>')
        for slot in range(int(shelf["slots"])):
            x, y = EDGE + slot * (SLOT_WIDTH + GAP), top + NAME_HEIGHT
            parts.append(_slot(x, y, held.get(slot), crops, codes))
        top += NAME_HEIGHT + SLOT_HEIGHT + SHELF_GAP
    slots = sum(int(shelf["slots"]) for _, shelf in shelves)
    label = escape(f"Rack {name}: {used} of {slots} slots in use; the list below says what stands where.")
    head = f'<svg viewBox="0 0 {width} {top}" width="{width}" height="{top}" role="img" aria-label="{label}">'
    return RackDrawn(name, Markup("".join((head, *parts, "</svg>"))), used, slots)


def _slot(x: int, y: int, one: Mapping[str, Any] | None, crops: Sequence[str], codes: Mapping[str, str]) -> str:
    """A box; everything in it that a person wrote is escaped."""
    place = f'x="{x}" y="{y}" width="{SLOT_WIDTH}" height="{SLOT_HEIGHT}" rx="3"'
    if one is None:
        return f'<rect class="s-free" {place}/>'
    middle = x + SLOT_WIDTH // 2
    state, crop = one["state"], str(one.get("crop", ""))
    color = _NO_CROP.get(state) or color_of(crops, crop)
    drawn = f'<rect class="s-tray {color}" {place}/>'
    if crop and state not in _NO_CROP:
        drawn += f'<text class="s-label" x="{middle}" y="{y + 14}">{escape(codes.get(crop, "?"))}</text>'
        drawn += f'<text class="s-label" x="{middle}" y="{y + 28}">{escape(says(one))}</text>'
    else:
        drawn += f'<text class="s-label" x="{middle}" y="{y + 21}">{escape(says(one))}</text>'
    if state.startswith("to ") and state not in _WITHOUT_PLANTS:
        drawn += f'<path class="s-flag" d="M{x + SLOT_WIDTH - 10} {y + 1}h9v9z"/>'
    return drawn
