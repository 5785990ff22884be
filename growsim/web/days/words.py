"""A day of the room, on its shelves and in words: who came, what was done, was down, was sown, harvested and lost.

On the shelves color and letters say the crop, the word how old it is or what it waits for.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from growsim.report.cautions import beside
from growsim.report.words import counted, day_and_date, mass, number, short_date, temperature, upper_first
from growsim.run.replay.day import STATES as MEANINGS
from growsim.vocabulary.losses import fate_of
from growsim.vocabulary.machines import BY_KEY, NO_FLOOD
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


@dataclass(frozen=True)
class DayInWords:
    """What a page says of one day. trays: rows of rack, shelf, crop, stage, sown, trays, state."""

    date: str
    at: str
    people: tuple[str, ...]
    work: tuple[str, ...]
    waiting: tuple[str, ...]
    down: tuple[str, ...]
    cautions: tuple[str, ...]
    greens: tuple[str, ...]
    trays: tuple[tuple[str, ...], ...]


def day_in_words(room: Mapping[str, Any], day: Mapping[str, Any], region: str = "elsewhere") -> DayInWords:
    """One day, as read from the file of days. region: where the room stands."""
    date = dt.date.fromisoformat(day["date"])
    at = _clock(round(60 * float(room["hour"])))
    return DayInWords(
        day_and_date(date),
        at,
        tuple(_people(day)),
        tuple(_work(one) for one in day.get("work", ()) if one["minutes"] or one["jobs"]),
        tuple(_waiting(one) for one in day.get("waiting", ())),
        tuple(_down(day)),
        _cautions(day, region),
        tuple(_greens(day)),
        tuple(_trays(room["shelves"], day.get("trays", ()))),
    )


def _people(day: Mapping[str, Any]) -> list[str]:
    shifts = day.get("shifts", ())
    if not shifts:
        return ["Nobody: the room is closed this day." if day.get("closed") else "Nobody: no shift this day."]
    return [_shift(one) for one in shifts]


def _shift(one: Mapping[str, Any]) -> str:
    outside = one["came"] + one["lead"] - one["in_room"]
    signed_up = one["signed_up"]
    came = f"{one['came']} of {counted(signed_up, 'volunteer')} came" if signed_up else "no volunteer is signed up"
    return (
        f"{one['shift']}: {came}, {'with a lead' if one['lead'] else 'without a lead'}; worked "
        f"{number(one['worked_minutes'] / 60, 1)} of "
        f"{number(one['present_minutes'] / 60, 1)} person-hours"
        + (f"; {counted(outside, 'person', 'people')} did not fit into the room." if outside > 0 else ".")
    )


def _work(one: Mapping[str, Any]) -> str:
    who = f"{counted(one['people'], 'person', 'people')}, {one['minutes']:,} minutes" if one["people"] else "no time"
    done = f"; {counted(one['jobs'], 'job')} finished" + (f", {one['late']} of them late" if one["late"] else "")
    return f"{one['task']}: {who}{done if one['jobs'] else '; not finished yet'}."


def _waiting(one: Mapping[str, Any]) -> str:
    return f"{one['task']}: {counted(one['jobs'], 'job')}" + (f", {one['late']} of them late" if one["late"] else "")


def _cautions(day: Mapping[str, Any], region: str) -> tuple[str, ...]:
    """The worst danger of who goes in to repair what was down."""
    return beside((BY_KEY[one["machine"]].dangers[0] for one in day.get("down", ())), region)


def _down(day: Mapping[str, Any]) -> list[str]:
    said = []
    for one in day.get("down", ()):
        row = BY_KEY[one["machine"]]
        name = row.at(one["where"])
        begin, end = one["from_minute"], one["until_minute"]
        when = "all day" if (begin, end) == (0, 1440) else f"from {_clock(begin)} to {_clock(end)}"
        noticed = {"alarm": "noticed by the alarm", "walk-through": "noticed by somebody looking in"}.get(
            one["noticed"], ""
        )
        unnoticed = "" if row.comes is not None else "nobody has noticed by midnight"
        said.append(f"{upper_first(name)} down {when}" + (f"; {noticed or unnoticed}." if noticed or unnoticed
                                                                  else "."))  # fmt: skip
    said += [
        f"{counted(times, 'flood')} of {reservoir} missed: {NO_FLOOD.get(why, why)}."
        for reservoir, why, times in day.get("floods_missed", ())
    ]
    if "warmest_c" in day:
        said.append(f"The air was away from its set-point, at most {temperature(day['warmest_c'])}.")
    return said


def _greens(day: Mapping[str, Any]) -> list[str]:
    said = []
    for one in day.get("sown", ()):
        what = f"{one['plants']:,} seeds sown" if one["what"] == "sown" else f"{one['plants']:,} cells {one['what']}"
        said.append(f"{one['crop']}: {what}.")
    said += [
        f"{one['crop']}: {counted(one['plants'], 'plant')} harvested, {mass(one['grams'] / 1000)}."
        for one in day.get("harvested", ())
    ]
    said += [f"{one['crop']}: {one['plants']:,} {fate_of(one['what']).label}." for one in day.get("lost", ())]
    if day.get("handed_out_grams"):
        said.append(f"{mass(day['handed_out_grams'] / 1000)} handed out.")
    if day.get("wasted_grams"):
        said.append(f"{mass(day['wasted_grams'] / 1000)} grew too old in the cooler.")
    for one in day.get("orders", ()):
        short = one["grams_ordered"] - one["grams_given"]
        if short > 0:
            said.append(f"{one['partner']} got {mass(short / 1000)} less of {one['crop']} than ordered.")
    return said


def _trays(shelves: Sequence[Mapping[str, Any]], trays: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for one in sorted(trays, key=lambda each: (each["shelf"], each["slots"])):
        shelf, state = shelves[one["shelf"]], str(one["state"])
        if state == "growing":
            state = f"growing, {counted(one.get('days', 0), 'day')} old"
        crop, lot = str(one.get("crop") or "–"), _lot(str(one.get("lot", "")))
        rows.append((shelf["rack"], shelf["label"], crop, one["stage"], lot, str(len(one["slots"])), state))
    return rows


def _lot(lot: str) -> str:
    """When it was sown, from the lot's name; its own label where it was found on the shelves."""
    date, slash, _ = lot.partition("/")
    try:
        return short_date(dt.date.fromisoformat(date))
    except ValueError:
        return lot.partition("/")[2] if slash else lot or "–"


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"
