"""The drawn plan of a room: racks, their shelves and slots, and the trays that may stand in the slots.

Drawn from the tables as written, so that a room with faults is drawn too, as far as it goes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from markupsafe import Markup

from growsim.units import amount, unit
from growsim.web.shelves import Shelf, Standing, codes_of, color_of, racks_of

MOST_SHELVES, MOST_SLOTS = 12, 36  # of a kind, drawn; the words tell all


@dataclass(frozen=True)
class TrayFit:
    """A stage that may stand on a shelf, and the tray it stands in. letters, color: of its boxes."""

    stage: str
    tray: str
    places: int
    length_cm: float
    width_cm: float
    fits: bool
    letters: str
    color: str


@dataclass(frozen=True)
class RackPlan:
    """One rack, or so many that are alike: the drawing and the same in sentences."""

    name: str
    under: str
    svg: Markup
    sentences: tuple[str, ...]
    times: int = 1


@dataclass(frozen=True)
class Plan:
    """The whole room. count: of racks."""

    racks: tuple[RackPlan, ...]
    key: tuple[TrayFit, ...]
    count: int
    slots: int


def plan_of(raw: Mapping[str, Any], only: int | None = None) -> Plan:
    """The plan of a room's tables, or of one of its racks."""
    stages = _stages(raw, {_text(tray, "name"): tray for tray in _tables(raw, "trays")})
    racks = list(_tables(raw, "racks"))
    groups = [group for rack in racks for group in _tables(rack, "shelves")]
    drawn = [_rack(rack, stages) for i, rack in enumerate(racks) if only in (None, i)]
    return Plan(
        racks=tuple(_drawn_once(list(alike)) for _, alike in groupby(drawn, key=lambda each: each.sentences)),
        count=len(drawn),
        key=tuple(stages.values()),
        slots=sum(_count(group, "count") * _count(group, "slots") for group in groups),
    )


def _drawn_once(alike: list[RackPlan]) -> RackPlan:
    """Racks that are drawn alike as one."""
    first, last = alike[0], alike[-1]
    if first is last:
        return first
    name = f"{first.name} to {last.name}"
    return replace(first, name=name, under=f"{first.under}; the others alike", times=len(alike))


def _stages(raw: Mapping[str, Any], trays: Mapping[str, Mapping[str, Any]]) -> dict[str, TrayFit]:
    """Every stage once, with its tray; a stage that stands in several kinds is drawn in the first."""
    written: dict[str, Mapping[str, Any]] = {}
    for crop in _tables(raw, "crops"):
        for stage in _tables(crop, "stages"):
            written.setdefault(_text(stage, "name"), stage)
    names = [name for name in written if name]
    codes = codes_of(names)
    found = {}
    for name in names:
        kind = _text(written[name], "tray")
        tray = trays.get(kind, {})
        size = _cm(tray, "length_cm"), _cm(tray, "width_cm")
        found[name] = TrayFit(name, kind, _count(tray, "places"), *size, bool(tray), codes[name], color_of(names, name))
    return found


def _rack(rack: Mapping[str, Any], stages: Mapping[str, TrayFit]) -> RackPlan:
    name = _text(rack, "name") or "a rack without a name"
    shelves: list[Shelf] = []
    standing: dict[tuple[int, int], Standing] = {}
    sentences: list[str] = []
    is_whole = True
    for group in _tables(rack, "shelves"):
        count, slots = _count(group, "count"), _count(group, "slots")
        length, width = _cm(group, "slot_length_cm"), _cm(group, "slot_width_cm")
        allowed = [stages[each] for each in _texts(group, "stages") if each in stages]
        fitting = [each for each in allowed if _fits(each, length, width)]
        drawn_on = min(count, MOST_SHELVES)
        called = _text(group, "name") or "shelves"
        is_whole = is_whole and count <= MOST_SHELVES and slots <= MOST_SLOTS
        for number in range(1, drawn_on + 1):
            if fitting:  # each stage in turn, from the top
                fit = fitting[(number - 1) * len(fitting) // drawn_on]
                for slot in range(min(slots, MOST_SLOTS)):
                    standing[len(shelves), slot] = Standing(fit.color, fit.letters, str(fit.places or ""))
            shelves.append(Shelf(name, f"{called} {number}" if count > 1 else called, min(slots, MOST_SLOTS)))
        sentences.append(_sentence(called, count, slots, length, width, _texts(group, "stages"), allowed))
    water, lights = _text(rack, "reservoir"), _text(rack, "lights")
    own = bool(water) and water == lights == name
    under = "its own reservoir and lights" if own else f"reservoir: {water or 'none'}; lights: {lights or 'none'}"
    if not shelves:
        return RackPlan(name, under, Markup(), ("It has no shelves yet.",))
    (drawn,) = racks_of(shelves, standing, lambda *_: " ".join(sentences))
    return RackPlan(name, under + ("" if is_whole else "; more shelves like these"), drawn.svg, tuple(sentences))


def _fits(tray: TrayFit, length: float, width: float) -> bool:
    long, short = sorted((tray.length_cm, tray.width_cm), reverse=True)
    slot_long, slot_short = sorted((length, width), reverse=True)
    return tray.fits and long <= slot_long + 1e-9 and short <= slot_short + 1e-9


def _sentence(
    name: str, count: int, slots: int, length: float, width: float, stages: list[str], allowed: list[TrayFit]
) -> str:
    many = f"{count} shelf" if count == 1 else f"{count} shelves"
    words = f"{name}: {many} of {slots} slots, {_side(length)} × {_side(width)} {unit('cm')} each"
    words += f"; for {', '.join(stages)}" if stages else "; no stage may stand here yet"
    tight = [each.tray for each in allowed if not _fits(each, length, width)]
    if tight:
        words += f"; too small for: {', '.join(dict.fromkeys(tight))}"
    return words + "."


def _side(centimeters: float) -> str:
    return f"{amount(centimeters, 'cm'):.4g}"


def _tables(holder: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    listed = holder.get(key)
    return [each for each in listed if isinstance(each, dict)] if isinstance(listed, list) else []


def _text(table: Mapping[str, Any], key: str) -> str:
    value = table.get(key)
    return value.strip() if isinstance(value, str) else ""


def _texts(table: Mapping[str, Any], key: str) -> list[str]:
    value = table.get(key)
    return [each for each in value if isinstance(each, str)] if isinstance(value, list) else []


def _count(table: Mapping[str, Any], key: str) -> int:
    value = table.get(key)
    return max(0, min(value, 5000)) if isinstance(value, int) and not isinstance(value, bool) else 0


def _cm(table: Mapping[str, Any], key: str) -> float:
    value = table.get(key)
    number = isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    return float(max(0.0, min(value, 10000.0))) if number and value is not None else 0.0
