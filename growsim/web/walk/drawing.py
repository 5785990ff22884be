"""The drawing beside the steps, of what each asks about: the floor, the racks on it, what stands there, the week.

Drawn from the tables in full, so that a room with faults is drawn too, as far as it goes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from growsim.scenario import usual
from growsim.scenario.asked import value_of
from growsim.scenario.names import ANY_CROP
from growsim.scenario.quantities import sides_of
from growsim.units import amount, amount_text, mass_text, unit
from growsim.vocabulary.days import SHORT_WEEKDAYS, WEEKDAY_NAMES, WEEKDAYS
from growsim.web.rooms.plan import Plan, plan_of
from growsim.web.walk.reading import listed
from growsim.web.walk.steps import Step

_ROOM, _EDGE = 200.0, 6.0
FIRST_HOUR, LAST_HOUR = 6.0, 22.0
_DAY, _HOUR, _TOP = 42.0, 6.0, 16.0
_WALLS = {"stud": 5.0, "brick": 9.0, "basement": 11.0, "steel": 3.0}  # by a word of their name, the first that is in it


@dataclass(frozen=True)
class Rect:
    """A rectangle of the drawing; kind is its class."""

    kind: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Week:
    """The week: shifts and hand-overs as rectangles, and the same in sentences."""

    boxes: tuple[Rect, ...]
    days: tuple[tuple[str, float], ...]
    sentences: tuple[str, ...]
    height: float = _TOP + (LAST_HOUR - FIRST_HOUR) * _HOUR + 2
    width: float = 7 * _DAY


@dataclass(frozen=True)
class Drawing:
    """What a step draws. floor: with the racks on it, () for none; walls: how thick; plan: the shelves."""

    floor: tuple[Rect, ...]
    floor_words: str
    walls: float
    plan: Plan | None
    week: Week | None


def floor_of(full: Mapping[str, Any], written: Mapping[str, Any]) -> tuple[tuple[Rect, ...], str]:
    """The floor with the racks on it, and the same in words."""
    return _floor(full, written, with_racks=True)


_DRAWN: dict[str, str] = {"place": "floor", "racks": "floor plan", "crops": "plan", "shifts": "week",
                          "promises": "week partners", "closed": "week partners"}  # fmt: skip


def drawing_of(full: Mapping[str, Any], written: Mapping[str, Any], step: Step) -> Drawing:
    """The drawing of what a step asks about, and of what goes with it."""
    parts = _DRAWN.get(step.name, "").split()
    with_crops = {**full, "crops": []} if "floor" in parts else full
    floor, words = _floor(full, written, with_racks="plan" in parts) if "floor" in parts else ((), "")
    return Drawing(
        floor,
        words,
        next((wide for word, wide in _WALLS.items() if word in str(value_of(written, ("room", "walls")))), _EDGE),
        plan_of(with_crops) if "plan" in parts else None,
        _week(full, with_partners="partners" in parts) if "week" in parts else None,
    )


def _number(value: Any) -> float:
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    return float(value) if good else 0.0


def _floor(full: Mapping[str, Any], written: Mapping[str, Any], *, with_racks: bool) -> tuple[tuple[Rect, ...], str]:
    """The floor by its sides, or a square of its area, its walls, and the racks along it, to scale."""
    at = ("room", "floor_area_m2")
    told, area = sides_of(value_of(written, at)), min(max(_number(value_of(full, at)), 0.0), 1e5)
    long, deep = told if told is not None and min(told) > 0 else (math.sqrt(area), math.sqrt(area))
    scale = (_ROOM - 2 * _EDGE) / long if long else 0.0
    right, foot = _ROOM - _EDGE, _EDGE + (deep * scale or _ROOM - 2 * _EDGE)
    boxes = [Rect("floor", _EDGE, _EDGE, right - _EDGE, foot - _EDGE)]
    shape = f"{_told(long, 'm')} by {_told(deep, 'm')}" if told else f"{_told(area, 'm²')}, drawn as a square"
    words = f"The floor, {shape}" if long else "The floor"
    racks = listed(full, ("racks",))
    if not with_racks or not long:
        return tuple(boxes), f"{words}."
    x = y = _EDGE + 4
    deepest = taken = 0.0
    for rack in racks[:200]:
        length, depth = _footprint(rack)
        taken += length * depth
        width, height = length * scale, depth * scale
        if x + width > right and x > _EDGE + 4:
            x, y, deepest = _EDGE + 4, y + deepest + max(0.7 * scale, 4), 0.0
        if width <= 0 or y > foot:
            continue
        boxes.append(Rect("stand", x, y, min(width, right - x), min(height, foot - y)))
        x, deepest = x + width + 3, max(deepest, height)
    share = f", which cover {100 * taken / (long * deep):.0f} % of it" if taken else ""
    number = f"{len(racks)} rack{'' if len(racks) == 1 else 's'}"
    return tuple(boxes), f"{words}, and {number}{share}."


def _footprint(rack: Mapping[str, Any]) -> tuple[float, float]:
    """Length and depth of a rack (m): its longest shelf, trays side by side by their short sides, two deep if many."""
    long = deep = 0.0
    for group in listed(rack, ("shelves",)):
        slots, length, width = (_number(group.get(key)) for key in ("slots", "slot_length_cm", "slot_width_cm"))
        long, deep = max(long, slots * min(length, width) / 100.0), max(deep, max(length, width) / 100.0)
    return min(long, 100.0), min(deep, 100.0)


def _week(full: Mapping[str, Any], *, with_partners: bool) -> Week:
    boxes = [Rect("day", place * _DAY, _TOP, _DAY - 4, (LAST_HOUR - FIRST_HOUR) * _HOUR) for place in range(7)]
    sentences: list[tuple[int, float, str]] = []
    for shift in listed(full, ("crew", "shifts")):
        if shift.get("weekday") not in WEEKDAYS:
            continue
        day, start, hours = (
            WEEKDAYS.index(shift["weekday"]),
            _number(shift.get("start_hour")),
            _number(shift.get("hours")),
        )
        boxes.append(_at("shift", day, start, hours))
        people = int(_number(shift.get("people")))
        who = f"{people} volunteer{'' if people == 1 else 's'}"
        sentences.append((day, start, f"{WEEKDAY_NAMES[day]} {_clock(start)} to {_clock(start + hours)}: {who}."))
    for partner in listed(full, ("partners",)) if with_partners else []:
        if partner.get("weekday") not in WEEKDAYS:
            continue
        day, hour = WEEKDAYS.index(partner["weekday"]), _number(partner.get("hour"))
        boxes.append(_at("hand-over", day, hour, 1.2))
        wanted = [
            f"{mass_text(_number(order.get('kg')))} of {_crop(order.get('crop'))}"
            for order in listed(partner, ("orders",))
        ]
        collects = f"{partner.get('name')} collects {' and '.join(wanted)}"
        sentences.append((day, hour, f"{WEEKDAY_NAMES[day]} {_clock(hour)}: {collects}."))
    days = tuple((name, place * _DAY + (_DAY - 4) / 2) for place, name in enumerate(SHORT_WEEKDAYS))
    return Week(tuple(boxes), days, tuple(text for _, _, text in sorted(sentences)))


def _told(value: float, of: str) -> str:
    return f"{amount_text(amount(value, of))} {unit(of)}"


def _crop(name: Any) -> str:
    return "any crop" if name == ANY_CROP else str(name)


def _at(kind: str, day: int, start: float, hours: float) -> Rect:
    begin, end = (min(max(hour, FIRST_HOUR), LAST_HOUR) for hour in (start, start + max(hours, 0.0)))
    return Rect(kind, day * _DAY + 1, _TOP + (begin - FIRST_HOUR) * _HOUR, _DAY - 6, max((end - begin) * _HOUR, 2.0))


def _clock(hour: float) -> str:
    minutes = round(hour * 60) % (24 * 60)
    return f"{minutes // 60}:{minutes % 60:02d}"


@dataclass(frozen=True)
class Spacing:
    """How a crop stands in its last tray: a small picture, and the same in words."""

    crop: str
    dots: tuple[tuple[float, float], ...]
    radius: float
    words: str


_TRAY_LONG, _TRAY_SHORT = 106.0, 54.0


def spacing_of(crop: str) -> Spacing:
    """The picture of one of the usual crops."""
    found = usual.profile("crops", crop).tables
    stages = found["stages"]
    tray = usual.profile("trays", stages[-1]["tray"]).tables
    places = tray["places"] if tray["places"] > 1 else 800  # sown all over
    rows = max(1, round(math.sqrt(places * _TRAY_SHORT / _TRAY_LONG)))
    columns = math.ceil(places / rows)
    across, down = _TRAY_LONG / columns, _TRAY_SHORT / rows
    dots = tuple((2 + (n % columns + 0.5) * across, 2 + (n // columns + 0.5) * down) for n in range(places))
    days = round(math.fsum(_number(each["days"]) for each in stages))
    mass = _number(found["typical_mass_g"].get("likely")) if isinstance(found["typical_mass_g"], dict) else 0.0
    stand = f"{tray['places']} in a tray" if tray["places"] > 1 else "sown by the tray"
    weight = f", {_told(mass, 'g')} each" if mass else ""
    return Spacing(crop, dots, 0.42 * min(across, down), f"{stand}, about {days} days{weight}")
