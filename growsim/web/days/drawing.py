"""A day of the room on its shelves: color and letters say the crop, the word how old it is or what it waits for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from growsim.run.replay.day import STATES as MEANINGS
from growsim.web.shelves import RackDrawn, Shelf, Standing, codes_of, color_of, racks_of

# What a box says below its letters, and what that means. A task that is waited for is said by its name.
STATES = {
    state: ("12 d" if state == "growing" else state.removeprefix("to "), meaning) for state, meaning in MEANINGS.items()
}
_WITHOUT_PLANTS = ("to sow", "to wash")
_NO_CROP = {"kept": "c-kept", "to wash": "c-wash"}


def says(trays: Mapping[str, Any]) -> str:
    """The word below the letters."""
    return f"{trays.get('days', 0)} d" if trays["state"] == "growing" else STATES[trays["state"]][0]


def day_on_shelves(
    shelves: Sequence[Mapping[str, Any]], trays: Sequence[Mapping[str, Any]], crops: Sequence[str]
) -> list[RackDrawn]:
    """Every rack, in the order of the room file."""
    codes = codes_of(crops)
    standing = {(one["shelf"], slot): _standing(one, crops, codes) for one in trays for slot in one["slots"]}
    there = [Shelf(str(shelf["rack"]), str(shelf["label"]), int(shelf["slots"])) for shelf in shelves]
    return racks_of(there, standing, lambda used, slots: f"{used} of {slots} slots in use; the list below says which.")


def _standing(one: Mapping[str, Any], crops: Sequence[str], codes: Mapping[str, str]) -> Standing:
    state, crop = one["state"], str(one.get("crop", ""))
    letters = codes.get(crop, "?") if crop and state not in _NO_CROP else ""
    waits = state.startswith("to ") and state not in _WITHOUT_PLANTS
    return Standing(_NO_CROP.get(state) or color_of(crops, crop), letters, says(one), waits)
