"""The drawn plan of a room: racks, their shelves, the slots on them and the trays that stand in the slots.

Drawn from the tables as written, so that a room with faults is drawn too, as far as it goes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from growsim.units import amount, unit

MOST_ROWS, MOST_SLOTS = 12, 40
_WIDTH, _GAP, _LEAST_HEIGHT, _MOST_HEIGHT = 300.0, 3.0, 10.0, 46.0
_SHADES = 6


@dataclass(frozen=True)
class TrayFit:
    """A stage that may stand on a shelf, and the tray it stands in. shade: number of its color."""

    stage: str
    tray: str
    places: int
    length_cm: float
    width_cm: float
    fits: bool
    shade: int


@dataclass(frozen=True)
class Box:
    """A rectangle of the drawing."""

    kind: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Line:
    """A text of the drawing; in words too, for those who do not see it."""

    text: str
    y: float


@dataclass(frozen=True)
class RackPlan:
    """One rack, or so many that are alike: the drawing and the same in sentences."""

    name: str
    under: str
    height: float
    boxes: tuple[Box, ...]
    lines: tuple[Line, ...]
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
    trays = {_text(tray, "name"): tray for tray in _tables(raw, "trays")}
    stages = _stages(raw, trays)
    racks = list(_tables(raw, "racks"))
    groups = [group for rack in racks for group in _tables(rack, "shelves")]
    widest = max((min(_count(g, "slots"), MOST_SLOTS) * _cm(g, "slot_length_cm") for g in groups), default=0.0)
    scale = (_WIDTH - 40 * _GAP / 4) / widest if widest > 0 else 1.0
    drawn = [_rack(rack, stages, scale) for i, rack in enumerate(racks) if only in (None, i)]
    return Plan(
        racks=tuple(_drawn_once(list(alike)) for _, alike in groupby(drawn, key=lambda each: (each.boxes, each.lines))),
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
    found: dict[str, TrayFit] = {}
    for crop in _tables(raw, "crops"):
        for stage in _tables(crop, "stages"):
            name, tray = _text(stage, "name"), trays.get(_text(stage, "tray"), {})
            if name and name not in found:
                size = _cm(tray, "length_cm"), _cm(tray, "width_cm")
                shade = len(found) % _SHADES
                found[name] = TrayFit(name, _text(stage, "tray"), _count(tray, "places"), *size, bool(tray), shade)
    return found


def _rack(rack: Mapping[str, Any], stages: Mapping[str, TrayFit], scale: float) -> RackPlan:
    boxes: list[Box] = []
    lines: list[Line] = []
    sentences: list[str] = []
    y = 0.0
    for group in _tables(rack, "shelves"):
        count, slots = _count(group, "count"), _count(group, "slots")
        length, width = _cm(group, "slot_length_cm"), _cm(group, "slot_width_cm")
        allowed = [stages[name] for name in _texts(group, "stages") if name in stages]
        standing = next((each for each in allowed if _fits(each, length, width)), None)
        name = _text(group, "name") or "shelves"
        words = f"{name}: {count} × {slots} slots" if count != 1 else f"{name}: {slots} slots"
        lines.append(Line(words, y + 12))
        lines.append(Line(", ".join(_texts(group, "stages")) or "no stage may stand here", y + 25))
        y += 31
        height = min(max(width * scale, _LEAST_HEIGHT), _MOST_HEIGHT)
        drawn = min(count, MOST_ROWS)
        for _ in range(drawn):
            boxes += _row(y, height, min(slots, MOST_SLOTS), length * scale, standing, scale)
            y += height + 7
        if drawn < count or slots > MOST_SLOTS:
            lines.append(Line("and more like these", y + 9))
            y += 16
        y += 6
        sentences.append(_sentence(name, count, slots, length, width, _texts(group, "stages"), allowed))
    if not sentences:
        lines.append(Line("no shelves yet", 14))
        sentences.append("It has no shelves yet.")
        y = 24
    under = f"reservoir: {_text(rack, 'reservoir') or 'none'}; lights: {_text(rack, 'lights') or 'none'}"
    return RackPlan(
        _text(rack, "name") or "a rack without a name", under, y, tuple(boxes), tuple(lines), tuple(sentences)
    )


def _row(y: float, height: float, slots: int, length: float, standing: TrayFit | None, scale: float) -> Iterator[Box]:
    """One shelf: its board, its slots, and a tray in each where one fits."""
    step = max(min(length, _WIDTH / max(slots, 1)), 2.0)
    yield Box("board", 0, y + height, min(step * slots, _WIDTH), 2.5)
    for slot in range(slots):
        x, inner = slot * step, max(step - _GAP, 1.0)
        yield Box("slot", x, y, inner, height - 1)
        if standing is not None:
            long, short = sorted((standing.length_cm, standing.width_cm), reverse=True)
            wide, tall = min(long * scale - _GAP - 2, inner - 2), min(short * scale - 3, height - 3)
            yield Box(f"tray shade-{standing.shade}", x + 1, y + 1, max(wide, 1), max(tall, 1))


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
